"""The edges of windows and order that a coach would ask about, each by name and for every condition that has it."""

from dataclasses import replace

import pytest

from skills.core.criteria import parse
from skills.core.days import local_date
from skills.core.facts import History
from skills.core.findings import Flagged, NeedsSignOff, StepNotPassed
from skills.core.steps import CriterionInForce
from tests.core.notebook import (
    BERLIN,
    at,
    attempt,
    attempts,
    change_at,
    missing_at,
    opening,
    rules,
    sign_off,
    step,
    timeline_of,
    told,
)

HOLD = {"seconds": 20}
# Each is met by two clean holds of 20 s at 90° and by nothing less. Two of two show 42 % (90 % interval of Newcombe
# 1998, method 3).
TWICE = {
    "holds": {"count": 2, **HOLD},
    "last": {"clean": 2, "of": 2, **HOLD},
    "reliability": {"percent": 40, "confidence": 90, **HOLD},
    "angle": {"count": 2, "at_least_degrees": 90, **HOLD},
}
KINDS = [*TWICE]


def twice(kind, **more):
    return {kind: TWICE[kind] | more}


def bases(rule, *notes, zone=BERLIN, needs_sign_off=True):
    """How the step stands in turn, each with the first microsecond: ready exactly while its rule is met."""
    written = attempts(*(f"{note}, 90°" for note in notes), zone=zone)
    book = rules(step(criterion=rule, needs_sign_off=needs_sign_off), zone=zone)
    return [(change.from_us, change.base) for change in timeline_of(book, History(attempts=written)).changes]


# ---- 19.9 s against 20 s ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("second", "met"), [("20 s", True), ("19.9 s", False)])
def test_a_hold_of_19_9_s_is_none_of_20_s(kind, second, met):
    found = bases(twice(kind), "2 Mar 18:00, 20 s", f"2 Mar 18:05, {second}")
    assert found == [(0, "working"), *([(at("2 Mar 18:05"), "ready")] if met else [])]


def test_a_best_hold_of_19_9_s_is_none_of_20_s():
    assert bases({"best": HOLD}, "2 Mar 18:00, 19.9 s") == [(0, "working")]
    assert bases({"best": HOLD}, "2 Mar 18:00, 20 s") == [(0, "working"), (at("2 Mar 18:00"), "ready")]


# ---- The edge of a window, to the microsecond ----------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("first", "inside"),
    [
        ("1 Mar 23:59:59.999999", False),
        ("2 Mar 00:00:00.000000", True),
        ("2 Mar 00:00:00.000001", True),
    ],
)
def test_a_try_is_inside_a_window_of_two_days_from_the_first_microsecond_of_yesterday(kind, first, inside):
    found = bases(twice(kind, window_days=2), f"{first}, 20 s", "3 Mar 18:00, 20 s")
    assert found[1:2] == ([(at("3 Mar 18:00"), "ready")] if inside else [])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("second", "inside"),
    [
        ("3 Mar 23:59:59.999998", True),
        ("3 Mar 23:59:59.999999", True),
        ("4 Mar 00:00:00.000000", False),
    ],
)
def test_a_try_of_the_2nd_is_inside_a_window_of_two_days_until_the_last_microsecond_of_the_3rd(kind, second, inside):
    found = bases(twice(kind, window_days=2), "2 Mar 18:00, 20 s", f"{second}, 20 s")
    assert found[1:] == ([(at(second), "ready"), (at("4 Mar 00:00"), "working")] if inside else [])


# ---- The two nights of the year when the clocks change (IANA time zone database, 2026) -------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("zone", "day", "next_day", "hours"),
    [
        ("Europe/Berlin", "28 Mar", "28 Mar 23:00Z", 24),
        ("Europe/Berlin", "29 Mar", "29 Mar 22:00Z", 23),
        ("Europe/Berlin", "25 Oct", "25 Oct 23:00Z", 25),
        ("America/New_York", "8 Mar", "9 Mar 04:00Z", 23),
        ("America/New_York", "1 Nov", "2 Nov 05:00Z", 25),
    ],
)
def test_a_window_of_one_day_is_as_long_as_that_day(kind, zone, day, next_day, hours):
    start = f"{day} 00:00"
    found = bases(twice(kind, window_days=1), f"{start}, 20 s", f"{start}, 20 s", zone=zone)
    assert found == [(0, "working"), (at(start, zone), "ready"), (at(next_day), "working")]
    assert at(next_day) - at(start, zone) == hours * 3_600_000_000


@pytest.mark.parametrize("kind", KINDS)
def test_a_try_in_the_hour_that_comes_twice_is_of_that_day_both_times(kind):
    night = ["25 Oct 00:30Z, 20 s", "25 Oct 01:30Z, 20 s"]  # both 02:30 in Berlin
    assert bases(twice(kind, window_days=1), *night)[1] == (at("25 Oct 01:30Z"), "ready")
    assert bases(twice(kind, dates=2), *night) == [(0, "working")]


# ---- Two sessions on one day, and midnight ---------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_two_sessions_on_one_day_are_two_sessions_and_one_date(kind):
    day = ["2 Mar 09:00, 20 s, session A", "2 Mar 18:00, 20 s, session B"]
    assert bases(twice(kind, sessions=2), *day) == [(0, "working"), (at("2 Mar 18:00"), "ready")]
    assert bases(twice(kind, dates=2), *day) == [(0, "working")]


@pytest.mark.parametrize("kind", KINDS)
def test_one_session_over_midnight_is_one_session_and_two_dates(kind):
    night = ["2 Mar 23:59:59.999999, 20 s, session A", "3 Mar 00:00, 20 s, session A"]
    assert bases(twice(kind, sessions=2), *night) == [(0, "working")]
    assert bases(twice(kind, dates=2), *night) == [(0, "working"), (at("3 Mar 00:00"), "ready")]


def test_an_attempt_at_midnight_belongs_to_the_day_that_begins_in_the_gyms_zone():
    midnight = at("3 Mar 00:00")
    assert [str(local_date(midnight + beside, BERLIN)) for beside in (-1, 0)] == ["2026-03-02", "2026-03-03"]
    rule = twice("holds", dates=2)
    notes = ["2 Mar 18:00, 20 s", "3 Mar 00:00, 20 s"]
    assert bases(rule, *notes) == [(0, "working"), (midnight, "ready")]
    # The same two moments are both on 2 March in New York.
    book = rules(step(criterion=rule), zone="America/New_York")
    assert told(timeline_of(book, History(attempts=attempts(*notes)))) == ["first working"]


# ---- A fault that arrives a day late ---------------------------------------------------------------------------------


def late_fault():
    """Two clean holds on the 2nd, and between them a fault that somebody enters on the 3rd."""
    fault = replace(attempt("2 Mar 18:02, 20 s, fault", id="late"), recorded_us=at("3 Mar 18:00"))
    return History(attempts=(*attempts("2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s"), fault))


@pytest.mark.parametrize(
    "rule",
    [
        {"last": {"clean": 2, "of": 2, **HOLD}},
        # Two of two show 42 %, two of three 25 % (90 % interval, Newcombe 1998).
        {"reliability": {"percent": 40, "confidence": 90, **HOLD}},
    ],
)
def test_a_fault_that_arrives_a_day_late_counts_where_it_happened_and_only_once_it_is_known(rule):
    book, history = rules(step(criterion=rule, needs_sign_off=True)), late_fault()
    as_known_then = history.known_at(at("3 Mar 18:00") - 1)
    assert told(timeline_of(book, as_known_then)) == ["first working", "2 Mar 18:05 ready"]
    assert told(timeline_of(book, history.known_at(at("3 Mar 18:00")))) == ["first working"]
    assert told(timeline_of(book, history)) == ["first working"]


def test_a_fault_that_arrives_a_day_late_closes_nothing_and_flags_the_sign_off_that_was_made_without_it():
    rule = {"last": {"clean": 2, "of": 2, **HOLD}}
    book = rules(step(criterion=rule, needs_sign_off=True), step("b", rule, requires=("a",)))
    signed = sign_off("2 Mar 19:00", "finish passed alone", evidence=("n1", "n2"))
    history = replace(late_fault(), sign_offs=(signed,), openings=(opening("2 Mar 19:00", "b"),))
    before = change_at(book, history.known_at(at("3 Mar 18:00") - 1), "4 Mar 18:00")
    after = change_at(book, history, "4 Mar 18:00")
    assert (before.base, before.flags) == ("passed", ())
    assert (after.base, after.flags) == ("passed", ("not_met_in_hindsight",))
    assert change_at(book, history, "4 Mar 18:00", "b").base == "working"


# ---- A revoked sign-off that others rest on --------------------------------------------------------------------------


def test_a_revoked_sign_off_flags_what_was_opened_by_it_and_takes_back_what_only_asked_for_it():
    book = rules(
        step("a", {"best": HOLD}, needs_sign_off=True),
        step("opened", {"best": HOLD}, requires=("a",), needs_sign_off=True),
        step("asks", {"all": [{"step": "a"}, {"best": HOLD}]}, needs_sign_off=True),
    )
    history = History(
        attempts=(
            attempt("2 Mar 18:00, 20 s", id="n1", step="a"),
            attempt("3 Mar 18:00, 20 s", id="n2", step="opened"),
            attempt("3 Mar 18:05, 20 s", id="n3", step="asks"),
        ),
        openings=(opening("2 Mar 19:00", "opened"),),
        sign_offs=(
            sign_off("2 Mar 19:00", "finish passed alone", "a", ("n1",)),
            sign_off("4 Mar 18:00", "finish passed alone", "opened", ("n2",)),
            sign_off("5 Mar 18:00", "finish revoked", "a"),
        ),
    )
    assert missing_at(book, history, "5 Mar 17:59", "asks") == (NeedsSignOff(),)
    assert missing_at(book, history, "5 Mar 18:00", "asks") == (StepNotPassed("a"),)
    opened = [change_at(book, history, when, "opened") for when in ("5 Mar 17:59", "5 Mar 18:00")]
    assert [(each.base, each.flags) for each in opened] == [("passed", ()), ("passed", ("prerequisite_fell",))]
    assert missing_at(book, history, "5 Mar 18:00", "opened") == (Flagged(("prerequisite_fell",)),)


# ---- A criterion changed twice on one day ----------------------------------------------------------------------------


def changed_twice(*whens):
    lengths = (5, 20, 10)
    return tuple(
        CriterionInForce(number, at(when), parse({"best": {"seconds": length}}))
        for number, (when, length) in enumerate(zip(whens, lengths, strict=True), start=1)
    )


@pytest.mark.parametrize(
    ("note", "stands"),
    [
        # 5 s are asked until noon, 20 s until two, and 10 s from then on.
        ("2 Mar 09:00, 5 s", ["2 Mar 09:00 ready", "2 Mar 12:00 working"]),
        ("2 Mar 11:59:59.999999, 10 s", ["2 Mar 11:59 ready", "2 Mar 12:00 working", "2 Mar 14:00 ready"]),
        ("2 Mar 12:00, 10 s", ["2 Mar 14:00 ready"]),
        ("2 Mar 13:59:59.999999, 19.9 s", ["2 Mar 14:00 ready"]),
        ("2 Mar 14:00, 9.9 s", []),
        ("2 Mar 12:00, 20 s", ["2 Mar 12:00 ready"]),
    ],
)
def test_of_a_criterion_changed_twice_on_one_day_each_is_in_force_until_the_next(note, stands):
    criteria = changed_twice("1 Mar 00:00", "2 Mar 12:00", "2 Mar 14:00")
    book = rules(step(criteria=criteria, needs_sign_off=True))
    assert told(timeline_of(book, History(attempts=attempts(note)))) == ["first working", *stands]


def test_of_two_changes_in_one_microsecond_only_the_second_was_ever_in_force():
    criteria = changed_twice("1 Mar 00:00", "2 Mar 12:00", "2 Mar 12:00")
    book = rules(step(criteria=criteria, needs_sign_off=True))
    history = History(attempts=attempts("2 Mar 09:00, 5 s", "2 Mar 13:00, 10 s"))
    assert told(timeline_of(book, history)) == [
        "first working",
        "2 Mar 09:00 ready",
        "2 Mar 12:00 working",
        "2 Mar 13:00 ready",
    ]
