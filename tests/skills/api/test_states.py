"""How an athlete stands, through the API: from the kept timelines, never longer than they hold."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, Gym, Membership
from skills.core.days import moment_of, moment_us
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines
from skills.services.cautions import enter_caution
from tests.factories.skills import log, meet, pass_step
from tests.helpers.api import Api, api_of, utc


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def states(api: Api, athlete: Athlete) -> dict[str, Any]:
    answer = api.get(f"athletes/{athlete.id}/states/")
    assert answer.status_code == 200
    steps = {step["step"]: step for step in answer.json()["steps"]}
    return {**answer.json(), "steps": steps}


def test_without_facts_a_step_is_as_the_rules_say(api: Api, gym: Gym, athlete: Athlete) -> None:
    told = states(api, athlete)
    assert list(told["steps"]) == list(book_of(gym).steps)
    assert (told["athlete"], told["next_change_at"]) == (str(athlete.id), None)
    assert told["steps"]["pullover-1"] == {
        "step": "pullover-1",
        "state": "working",
        "base": "working",
        "clearance": "",
        "awaits": "",
        "flags": [],
        "since": None,
        "next_change_at": None,
    }
    assert told["steps"]["pullover-3"]["state"] == "closed"


def test_a_passed_step_is_told_with_its_moment_and_a_gate_that_waits(
    api: Api, coach: Membership, athlete: Athlete
) -> None:
    *_, last = meet(coach, athlete, "pullover-1", days_ago=3)
    meet(coach, athlete, "pullover-3", days_ago=1)
    told = states(api, athlete)["steps"]
    assert (told["pullover-1"]["state"], told["pullover-1"]["since"]) == (
        "passed",
        utc(last.happened_at),
    )
    assert (told["pullover-3a"]["state"], told["pullover-3a"]["awaits"]) == ("closed", "entrance")


def test_what_time_alone_will_change_is_announced_and_then_so(
    api: Api, gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    pass_step(coach, athlete, "pullover-3a")
    told = states(api, athlete)
    ahead = [step["next_change_at"] for step in told["steps"].values() if step["next_change_at"]]
    step = told["steps"]["pullover-3a"]
    assert (step["state"], step["clearance"]) == ("passed", "present")
    assert told["next_change_at"] == min(ahead)
    kept = kept_timelines(book_of(gym), [athlete.id])[athlete.id]["pullover-3a"]
    change = kept.after(moment_us(timezone.now()))
    assert change is not None
    assert step["next_change_at"] == utc(moment_of(change.from_us))
    with time_machine.travel(moment_of(change.from_us), tick=False):
        then = states(api, athlete)["steps"]["pullover-3a"]
    # A step that leads here falls due first: until it is seen again, nothing inverted is done alone.
    assert (then["state"], then["clearance"], then["since"]) == ("passed", "spotted", step["next_change_at"])


def test_a_caution_pauses_over_the_base_and_says_until_when(api: Api, coach: Membership, athlete: Athlete) -> None:
    now = timezone.now()
    until_at = now + timedelta(days=2)
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=now, until_at=until_at, reason="wrist"
    )
    told = states(api, athlete)
    step = told["steps"]["pullover-1"]
    assert (step["state"], step["base"]) == ("paused", "working")
    assert step["next_change_at"] == told["next_change_at"] == utc(until_at)
    assert told["steps"]["handstand-1"]["state"] == "working"


def test_no_cache_keeps_it(api: Api, athlete: Athlete) -> None:
    assert api.get(f"athletes/{athlete.id}/states/").headers["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("attempts", [1, 30])
def test_states_cost_the_same_whatever_the_history(
    api: Api, coach: Membership, athlete: Athlete, django_assert_num_queries: DjangoAssertNumQueries, attempts: int
) -> None:
    for day in range(attempts):
        log(coach, athlete, "pullover-1", 4.0, days_ago=day)
    with django_assert_num_queries(3):  # the key, the athlete, the timelines
        states(api, athlete)
