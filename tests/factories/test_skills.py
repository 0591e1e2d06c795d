import pytest

from skills.core.days import moment_us
from skills.queries.timelines import kept_timelines
from tests.factories.skills import days_before_now, decide, library, meet, pass_step, reach


def base_of(book, athlete, code):
    return kept_timelines(book, [athlete.id])[athlete.id][code].at(moment_us(days_before_now(0))).base


def test_reach_opens_the_step_and_passes_what_leads_to_it(gym, owner, coach, athlete):
    book = library(gym, owner)
    reach(coach, athlete, "pullover-6")
    assert [base_of(book, athlete, code) for code in ("pullover-1", "pullover-5a", "pullover-6")] == [
        "passed",
        "passed",
        "working",
    ]


@pytest.mark.parametrize("code", ["pullover-1", "pullover-8"])
def test_pass_step_passes_it(gym, owner, coach, athlete, code):
    book = library(gym, owner)
    pass_step(coach, athlete, code)
    assert base_of(book, athlete, code) == "passed"


def test_meet_makes_a_reached_step_ready_and_decide_passes_it(gym, owner, coach, athlete):
    book = library(gym, owner)
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    assert base_of(book, athlete, "pullover-3a") == "ready"
    decide(coach, athlete, "pullover-3a")
    assert base_of(book, athlete, "pullover-3a") == "passed"
