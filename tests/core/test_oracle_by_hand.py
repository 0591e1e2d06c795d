"""The second opinion against answers worked out by hand, and the dealers against what they should reach."""

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest

from skills.core.criteria import AnyOf, Counting, HoldsOf, HoldTarget, LastOf, StepPassed
from skills.core.days import day_starts_us, local_date
from skills.core.facts import History, Lift, Void
from skills.core.steps import Rules
from tests.core.oracle import Seen, candidate_moments, evidence_at, oracle_timeline, state_at
from tests.core.oracle_counting import Book, first_moment_on_or_after
from tests.core.plain import attempt, caution, opening, rules, sign_off, step
from tests.strategies import CLOCK_CHANGES, DAY_US, grid, moment_of, random_case

HANG = rules(step("hang"))
SIGNED = rules(step("hang", needs_sign_off=True))
GATED = rules(step("hang"), step("turn", requires=("hang",), asks_clearance=True, inverted=True, loads=frozenset()))


def states(gym: Rules, history: History, code: str, *moments: int) -> list[str]:
    return [state_at(gym, history, code, us).state for us in moments]


@pytest.mark.parametrize(
    ("tenths", "state"), [((200, 200, 200), "passed"), ((200, 199, 200), "working"), ((200, 200), "working")]
)
def test_three_holds_of_twenty_seconds_are_three_whole_ones(tenths: tuple[int, ...], state: str):
    gym = rules(step("hang", HoldsOf(3, 200, Counting())))
    tries = tuple(attempt(us, hold_tenths=held) for us, held in enumerate(tenths))

    assert states(gym, History(attempts=tries), "hang", 9) == [state]


# The men's code asks a static hold for 2 s.
@pytest.mark.parametrize(("tenths", "state"), [(19, "working"), (20, "passed")])
def test_hold_under_two_seconds_is_none_whatever_the_target_says(tenths: int, state: str):
    gym = rules(step("hang", HoldsOf(1, 10, Counting())))

    assert states(gym, History(attempts=(attempt(1, hold_tenths=tenths),)), "hang", 1) == [state]


@pytest.mark.parametrize(
    "changes",
    [
        {"source": "counted"},
        {"assistance": "band"},
        {"faults": frozenset({"swing"})},
        {"missed": frozenset({"elbows"})},
        {"pain": True},
        {"hold_tenths": None, "reps": 99},
        {"closed_try": True},
        {"step": "other"},
    ],
    ids=str,
)
def test_attempt_that_is_wrong_in_one_way_is_no_evidence(changes: dict[str, Any]):
    history = History(attempts=(attempt(1, **changes),))

    assert states(HANG, history, "hang", 1) == ["working"]
    assert evidence_at(Book(HANG, history), "hang", 1) == ()


def test_voided_attempt_never_happened_even_before_the_void():
    history = History(attempts=(attempt(1),), voids=(Void("attempt at 1", 5, 5),))

    assert states(HANG, history, "hang", 1, 4, 5) == ["working"] * 3


def test_step_met_below_leaves_a_gated_step_closed_until_a_coach_opens_it():
    history = History(attempts=(attempt(2),), openings=(opening(4, "turn"),))

    assert [state_at(GATED, history, "turn", us).awaits for us in (1, 2, 3, 4)] == [
        "",
        "entrance",
        "entrance",
        "",
    ]
    assert states(GATED, history, "turn", 3, 4) == ["closed", "working"]


def test_revocation_closes_openings_up_to_its_own_microsecond():
    revoked = sign_off(6, "turn", gate="entrance", decision="revoked", clearance="")
    history = History(openings=(opening(4, "turn"), opening(6, "turn"), opening(8, "turn")), sign_offs=(revoked,))

    assert states(GATED, history, "turn", 5, 6, 7, 8) == ["working", "closed", "closed", "working"]


def test_caution_pauses_from_its_start_until_just_before_its_end():
    assert states(HANG, History(cautions=(caution(3, 5),)), "hang", 2, 3, 4, 5) == [
        "working",
        "paused",
        "paused",
        "working",
    ]


def test_caution_ends_in_the_microsecond_of_its_lifting():
    history = History(cautions=(caution(3),), lifts=(Lift("no hanging", 5, 5),))

    assert states(HANG, history, "hang", 4, 5) == ["paused", "working"]


def test_attempt_under_a_caution_does_not_count_even_afterwards():
    history = History(attempts=(attempt(4),), cautions=(caution(3, 5),))

    assert states(HANG, history, "hang", 9) == ["working"]


def test_ready_after_not_yet_needs_something_newer():
    not_yet = sign_off(3, "hang", decision="not_yet", clearance="")
    history = History(attempts=(attempt(2), attempt(5)), sign_offs=(not_yet,))

    assert states(SIGNED, history, "hang", 1, 2, 3, 4, 5) == [
        "working",
        "ready",
        "working",
        "working",
        "ready",
    ]


def test_of_decisions_in_one_microsecond_the_revocation_comes_last():
    both = (sign_off(3, "hang", id="a", decision="revoked"), sign_off(3, "hang", id="b"))

    assert states(SIGNED, History(sign_offs=both), "hang", 3) == ["working"]


def test_last_of_tells_apart_tries_at_one_moment_by_name():
    gym = rules(step("hang", LastOf(1, 1, HoldTarget(50), Counting()), needs_sign_off=True))
    tries = (attempt(1, id="a"), attempt(1, id="b", pain=True))

    assert states(gym, History(attempts=tries), "hang", 1) == ["working"]
    assert states(gym, History(attempts=(*tries, attempt(1, id="c"))), "hang", 1) == ["ready"]


def test_recheck_falls_due_at_local_midnight_and_ends_with_the_next_good_attempt():
    gym = rules(step("hang", recheck_days=2), zone="Europe/Berlin")
    shown, due = (moment_of(wall, gym.zone) for wall in ("2025-03-29T20:00", "2025-03-31T00:00"))
    again = due + DAY_US
    history = History(attempts=(attempt(shown), attempt(again)))

    assert states(gym, history, "hang", due - 1, due, again - 1, again) == [
        "passed",
        "recheck",
        "recheck",
        "passed",
    ]


def test_trouble_below_brings_the_spotter_back_above():
    low, high = step("hang", recheck_days=1, needs_sign_off=True), GATED.steps["turn"]
    history = History(
        attempts=(attempt(1),),
        openings=(opening(2, "turn"),),
        sign_offs=(sign_off(1, "hang", clearance=""), sign_off(2, "turn", gate="entrance")),
    )

    assert state_at(rules(low, high), history, "turn", 2) == Seen("working", "working", "alone", "", (), trouble=False)
    assert state_at(rules(low, high), history, "turn", DAY_US) == Seen(
        "working", "working", "spotted", "", (), trouble=True
    )


def test_clearance_of_a_revoked_finish_falls_back_to_that_of_the_entrance():
    history = History(
        openings=(opening(1, "turn"),),
        sign_offs=(
            sign_off(1, "turn", gate="entrance", clearance="present"),
            sign_off(2, "turn"),
            sign_off(3, "turn", decision="revoked", clearance=""),
        ),
    )
    gym = rules(step("hang"), step("turn", asks_clearance=True))

    assert [state_at(gym, history, "turn", us).clearance for us in (1, 2, 3)] == [
        "present",
        "alone",
        "present",
    ]


def test_flags_name_voided_evidence_hindsight_and_a_fallen_prerequisite():
    gym = rules(step("hang"), step("turn", requires=("hang",), needs_sign_off=True))
    history = History(
        attempts=(attempt(2, id="gone", step="turn"),),
        voids=(Void("gone", 9, 9),),
        openings=(opening(1, "turn"),),
        sign_offs=(sign_off(3, "turn", evidence=("gone",)),),
    )

    assert [state_at(gym, history, "turn", us).flags for us in (0, 1, 3)] == [
        (),
        ("prerequisite_fell",),
        ("evidence_voided", "not_met_in_hindsight", "prerequisite_fell"),
    ]


def test_evidence_of_a_choice_is_that_of_its_met_side_or_all_there_is():
    choice = AnyOf((HoldsOf(1, 100, Counting()), HoldsOf(2, 50, Counting()), StepPassed("other")))
    book = Book(
        rules(step("hang", choice), step("other")),
        History(attempts=(attempt(1), attempt(2, hold_tenths=100), attempt(3))),
    )

    assert [evidence_at(book, "hang", us) for us in (1, 2)] == [
        ("attempt at 1",),
        ("attempt at 1", "attempt at 2"),
    ]


# Source: IANA time zone database.
@pytest.mark.parametrize(("zone", "middle"), CLOCK_CHANGES)
def test_local_day_starts_with_its_first_microsecond(zone: str, middle: date):
    for offset in range(-400, 400):
        day = middle + timedelta(days=offset)
        start = first_moment_on_or_after(day, zone)

        assert day_starts_us(day, zone) == start
        assert local_date(start - 1, zone) < day <= local_date(start, zone)


@pytest.mark.parametrize(("zone", "middle"), CLOCK_CHANGES)
def test_grid_holds_both_sides_of_midnight_and_the_clock_change(zone: str, middle: date):
    moments = grid(zone, middle, 8)

    assert {us + 1 for us in moments} & set(moments)
    assert len({local_date(us, zone) for us in moments}) >= 8


def test_dealt_cases_reach_every_state_gate_clearance_and_flag():
    met = Counter[str]()
    for seed in range(60):
        case = random_case(seed)
        moments = candidate_moments(case.rules, case.history)
        for code in case.rules.steps:
            met.update(words_of({seen for _, seen in oracle_timeline(case.rules, case.history, code, moments)}))

    assert {word for word, times in met.items() if times >= 3} == {
        *("closed", "working", "ready", "passed", "recheck", "paused"),
        *("awaits ", "awaits entrance", "awaits finish"),
        *("clearance ", "clearance spotted", "clearance present", "clearance alone"),
        *("evidence_voided", "not_met_in_hindsight", "prerequisite_fell"),
        *("trouble True", "trouble False"),
    }


def words_of(seen: set[Seen]) -> set[str]:
    return {
        word
        for one in seen
        for word in (
            one.state,
            f"awaits {one.awaits}",
            f"clearance {one.clearance}",
            f"trouble {one.trouble}",
            *one.flags,
        )
    }
