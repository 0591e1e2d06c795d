"""Windows and rechecks: days of the gym's calendar, to the microsecond, over clock changes too."""

import pytest

from skills.core.criteria import HoldTarget
from skills.core.facts import History
from skills.core.findings import DueForRecheck, Showing
from tests.core.notebook import (
    at,
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

FIVE = {"best": {"seconds": 5}}


def two_within(days):
    return {"holds": {"count": 2, "seconds": 5, "window_days": days}}


# Sources of the instants: IANA time zone database, as published for 2026.
@pytest.mark.parametrize(
    ("zone", "days", "hold", "leaves"),
    [
        ("Europe/Berlin", 1, "2 Mar 18:00", "2 Mar 23:00Z"),
        ("Europe/Berlin", 14, "2 Mar 00:00", "15 Mar 23:00Z"),
        # Clocks go forward on 29 March at 01:00Z ...
        ("Europe/Berlin", 1, "28 Mar 23:59", "28 Mar 23:00Z"),
        ("Europe/Berlin", 1, "29 Mar 00:00", "29 Mar 22:00Z"),
        ("Europe/Berlin", 2, "28 Mar 18:00", "29 Mar 22:00Z"),
        # ... and back on 25 October at 01:00Z.
        ("Europe/Berlin", 1, "25 Oct 00:00", "25 Oct 23:00Z"),
        ("Europe/Berlin", 7, "24 Oct 18:00", "30 Oct 23:00Z"),
        ("America/New_York", 1, "8 Mar 00:00", "9 Mar 04:00Z"),
        ("America/New_York", 1, "1 Nov 00:00", "2 Nov 05:00Z"),
        # Midnight itself is swallowed: the day starts with the change.
        ("America/Havana", 1, "7 Mar 18:00", "8 Mar 05:00Z"),
        ("Africa/Cairo", 2, "22 Apr 18:00", "23 Apr 22:00Z"),
        ("Asia/Beirut", 1, "28 Mar 18:00", "28 Mar 22:00Z"),
        ("UTC", 1, "2 Mar 00:00", "3 Mar 00:00Z"),
    ],
)
def test_hold_leaves_the_window_when_its_day_plus_the_window_starts(zone, days, hold, leaves):
    book = rules(step(criterion=two_within(days), needs_sign_off=True), zone=zone)
    timeline = timeline_of(book, History(attempts=attempts(f"{hold}, 2 x 5 s", zone=zone)))
    assert [(change.from_us, change.base) for change in timeline.changes] == [
        (0, "working"),
        (at(hold, zone), "ready"),
        (at(leaves), "working"),
    ]
    assert [timeline.at(at(leaves) + beside).base for beside in (-1, 0)] == ["ready", "working"]


@pytest.mark.parametrize(
    ("second", "passes"),
    [("3 Mar 23:59:59.999999", True), ("4 Mar 00:00:00.000000", False)],
)
def test_second_hold_counts_with_the_first_up_to_the_last_microsecond_of_the_window(second, passes):
    notes = attempts("2 Mar 18:00, 5 s", f"{second}, 5 s")
    timeline = timeline_of(rules(step(criterion=two_within(2))), History(attempts=notes))
    assert timeline.changes[-1].base == ("passed" if passes else "working")


def test_two_dates_are_two_sides_of_local_midnight():
    rule = {"holds": {"count": 2, "seconds": 5, "dates": 2}}
    notes = attempts("28 Mar 23:59:59.999999, 5 s", "29 Mar 00:00:00.000000, 5 s")
    berlin = rules(step(criterion=rule))
    assert told(timeline_of(berlin, History(attempts=notes))) == ["first working", "29 Mar 00:00 passed"]
    new_york = rules(step(criterion=rule), zone="America/New_York")
    assert told(timeline_of(new_york, History(attempts=notes))) == ["first working"]


def test_hour_that_comes_twice_is_one_day_and_one_session():
    rule = {"holds": {"count": 2, "seconds": 5, "dates": 2}}
    notes = attempts("25 Oct 00:30Z, 5 s", "25 Oct 01:30Z, 5 s")  # both 02:30 in Berlin
    assert told(timeline_of(rules(step(criterion=rule)), History(attempts=notes))) == ["first working"]


@pytest.mark.parametrize(
    ("zone", "passed", "days", "due"),
    [
        ("Europe/Berlin", "2 Mar 18:00", 30, "31 Mar 22:00Z"),
        ("Europe/Berlin", "2 Mar 00:00", 1, "2 Mar 23:00Z"),
        ("Europe/Berlin", "28 Mar 18:00", 1, "28 Mar 23:00Z"),
        ("Europe/Berlin", "28 Mar 18:00", 2, "29 Mar 22:00Z"),
        ("America/New_York", "31 Oct 18:00", 2, "2 Nov 05:00Z"),
        ("Asia/Beirut", "27 Mar 18:00", 2, "28 Mar 22:00Z"),
    ],
)
def test_recheck_falls_due_when_the_day_starts(zone, passed, days, due):
    book = rules(step(criterion=FIVE, recheck_days=days), zone=zone)
    timeline = timeline_of(book, History(attempts=attempts(f"{passed}, 5 s", zone=zone)))
    assert [timeline.at(at(due) + beside).base for beside in (-1, 0)] == ["passed", "recheck"]
    assert timeline.at(at(due)).trouble
    assert [change.from_us for change in timeline.changes] == [0, at(passed, zone), at(due)]


@pytest.mark.parametrize(
    ("later", "told_as"),
    [
        ([], ["12 Mar 00:00 recheck"]),
        (["20 Mar 18:00, 5 s"], ["12 Mar 00:00 recheck", "20 Mar 18:00 passed", "30 Mar 00:00 recheck"]),
        (["11 Mar 23:59, 5 s"], ["21 Mar 00:00 recheck"]),
        (["5 Mar 18:00, 5 s", "5 Mar 19:00, 5 s, fault"], ["15 Mar 00:00 recheck"]),
        # Not shown by these:
        (["20 Mar 18:00, 4 s"], ["12 Mar 00:00 recheck"]),
        (["20 Mar 18:00, 5 s, fault"], ["12 Mar 00:00 recheck"]),
        (["20 Mar 18:00, 5 s, own"], ["12 Mar 00:00 recheck"]),
        (["20 Mar 18:00, 5 s, closed try"], ["12 Mar 00:00 recheck"]),
        (["20 Mar 18:00, 9 reps"], ["12 Mar 00:00 recheck"]),
    ],
)
def test_recheck_is_over_by_showing_the_step_again(later, told_as):
    book = rules(step(criterion=FIVE, recheck_days=10))
    timeline = timeline_of(book, History(attempts=attempts("2 Mar 18:00, 5 s", *later)))
    assert told(timeline) == ["first working", "2 Mar 18:00 passed", *told_as]


def test_one_success_of_any_leaf_shows_the_step_even_outside_windows_and_counts():
    rule = {"all": [{"holds": {"count": 3, "seconds": 5, "window_days": 1}}, {"best": {"reps": 4}}]}
    book = rules(step(criterion=rule, recheck_days=10))
    notes = ["2 Mar 17:00, 4 reps", "2 Mar 18:00, 3 x 5 s", "20 Mar 18:00, 5 s", "5 Apr 18:00, 4 reps"]
    assert told(timeline_of(book, History(attempts=attempts(*notes)))) == [
        "first working",
        "2 Mar 18:00 passed",
        "12 Mar 00:00 recheck",
        "20 Mar 18:00 passed",
        "30 Mar 00:00 recheck",
        "5 Apr 18:00 passed",
        "15 Apr 00:00 recheck",
    ]


def test_recheck_names_the_moment_since_which_it_is_due():
    book = rules(step(criterion=FIVE, recheck_days=10))
    history = History(attempts=attempts("2 Mar 18:00, 5 s", "20 Mar 18:00, 5 s"))
    assert missing_at(book, history, "13 Mar 18:00") == (
        DueForRecheck(at("12 Mar 00:00"), (Showing(HoldTarget(50), clean=True),)),
    )
    assert missing_at(book, history, "20 Mar 18:00") == ()
    assert missing_at(book, history, "30 Apr 18:00") == (
        DueForRecheck(at("30 Mar 00:00"), (Showing(HoldTarget(50), clean=True),)),
    )


def test_signed_step_is_rechecked_from_its_sign_off_or_a_later_showing():
    book = rules(step(criterion=FIVE, needs_sign_off=True, recheck_days=10))
    history = History(
        attempts=attempts("2 Mar 18:00, 5 s", "20 Mar 18:00, 5 s"),
        sign_offs=(sign_off("4 Mar 18:00", "finish passed alone"), sign_off("9 May 18:00", "finish passed alone")),
    )
    assert told(timeline_of(book, history)) == [
        "first working",
        "2 Mar 18:00 ready",
        "4 Mar 18:00 passed",
        "14 Mar 00:00 recheck",
        "20 Mar 18:00 passed",
        "30 Mar 00:00 recheck",
        "9 May 18:00 passed",
        "19 May 00:00 recheck",
    ]


def test_recheck_goes_on_counting_while_the_step_is_closed():
    book = rules(step(criterion=FIVE, asks_clearance=True, recheck_days=10))
    history = History(
        attempts=attempts("2 Mar 18:00, 5 s", "9 Mar 18:00, 5 s"),
        openings=(opening("1 Mar 18:00"), opening("20 Mar 18:00")),
        sign_offs=(sign_off("8 Mar 18:00", "entrance revoked"),),
    )
    assert told(timeline_of(book, history)) == [
        "first closed",
        "1 Mar 18:00 working",
        "2 Mar 18:00 passed",
        "8 Mar 18:00 closed",
        "20 Mar 18:00 recheck",  # the try of the 9th was at a closed step
    ]
    assert change_at(book, history, "9 Mar 18:00").state == "closed"
