"""Why, as it was known then and as it is known now."""

from datetime import timedelta

import pytest

from skills.queries.whys import why_of
from skills.why_words import why_words
from tests.skills.season import STEP, on, play, us


@pytest.fixture
def season(owner, coach, athlete):
    return play(owner, coach, athlete)


def told(athlete, moment, known):
    return why_words(why_of(athlete, STEP, us(moment), known))


def test_known_then_it_was_ready_on_three_holds_before_the_sign_off_and_passed_after(season, athlete):
    before = told(athlete, on(3, 18, 30) - timedelta(microseconds=1), "then")
    assert (before.state_words, before.since, before.clearance) == (
        "ready for sign-off",
        "since 3 Nov 2026 18:00",
        "spotted",
    )
    assert before.missing == ("a coach's sign-off",)
    after = told(athlete, on(3, 18, 30), "then")
    assert (after.state, after.since, after.clearance, after.flags) == (
        "passed", "since 3 Nov 2026 18:30", "alone", (),
    )  # fmt: skip
    own = [line for line in after.counted if not line.step]
    assert [(line.result, line.when) for line in own] == [
        ("6 s", "2 Nov 2026 18:00"),
        ("11 s", "2 Nov 2026 18:05"),
        ("6 s", "3 Nov 2026 18:00"),
    ]
    assert {line.why for line in own} == {"for the criterion; the sign-off rests on it"}


def test_attempts_that_did_not_count_say_why(season, athlete):
    lines = told(athlete, on(3, 19), "then").not_counted
    assert [line.why for line in lines] == ["too short: 4.9 s of 5 s", "fault: Tuck opens upside down"]
    assert [(line.session, line.source, line.by) for line in lines] == [
        ("outside a class", "judged", "Cleo Adeyemi"),
        ("Monday class", "judged", "Cleo Adeyemi"),
    ]


def test_known_now_the_same_evening_is_flagged_and_lowered_to_spotted(season, athlete):
    now = told(athlete, on(3, 19), "now")
    assert (now.state, now.clearance) == ("passed", "spotted")
    assert now.flags == (
        "an attempt that the sign-off rests on was taken back",
        "with what is known now, the criterion was not met at the sign-off",
    )
    taken_back = [line for line in now.not_counted if "taken back" in line.why]
    assert [line.why for line in taken_back] == [
        "taken back on 5 Nov 2026 18:00 by Cleo Adeyemi: Another athlete; the sign-off rests on it"
    ]


def test_what_was_learned_later_stands_at_the_top_of_both(season, athlete):
    for known in ("then", "now"):
        assert told(athlete, on(3, 19), known).learned == ("One attempt was taken back later.",)
    assert told(athlete, on(8), "now").learned == ()


def test_the_criterion_is_the_one_in_force_at_the_moment(season, athlete):
    first = "Criterion 1, from the beginning: three clean judged holds of 5 s or longer, on two days."
    assert told(athlete, on(3, 19), "now").criterion.endswith("three clean judged holds of 5 s or longer, on two days.")
    assert told(athlete, on(3, 19), "then").criterion == told(athlete, on(3, 19), "now").criterion
    assert told(athlete, on(6), "now").criterion.startswith("Criterion 2, in force since 6 Nov 2026 18:00: three clean")
    assert told(athlete, on(6) - timedelta(microseconds=1), "now").criterion == first


def test_decisions_up_to_the_moment_stand_with_their_criterion_and_which_is_in_force(season, athlete):
    lines = told(athlete, on(7), "now").decisions
    assert [(line.gate, line.decision, line.clearance, line.rule_number, line.stands) for line in lines] == [
        ("may try it", "passed", "spotted", 1, True),
        ("has it", "passed", "alone", 1, False),
        ("has it", "revoked", "", 2, False),
    ]
    assert [line.reason for line in lines] == ["", "", "Lost the shape"]
    assert len(told(athlete, on(7) - timedelta(microseconds=1), "now").decisions) == 2


def test_before_the_step_was_in_the_book_that_is_said(season, athlete):
    then = told(athlete, on(1, 9), "then")
    assert (then.state, then.state_words) == ("", "This step was not in the gym's book yet.")
    assert then.learned[-1] == "The step, or its criterion, was changed later."
