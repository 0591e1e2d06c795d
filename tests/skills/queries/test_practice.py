"""What somebody practised lately: volumes by the gym's weeks, the best tries, days away, days with classes."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine

from skills.core.dose_limits import Volume
from skills.models import Attempt
from skills.queries.books import book_of
from skills.queries.practice import class_days, practised_lately
from skills.services.attempts import void_attempt
from skills.services.sessions import mark_present, start_session
from tests.factories.skills import library, log, page_of

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 11, 12, 19, 0, tzinfo=BERLIN)  # a Thursday


@pytest.fixture(autouse=True)
def _thursday(gym, owner):
    with time_machine.travel(datetime(2026, 1, 5, 12, tzinfo=BERLIN), tick=False):
        library(gym, owner)
    with time_machine.travel(NOW, tick=False):
        yield


def lately(athlete, now=NOW):
    return practised_lately(book_of(athlete.gym), athlete, now)


def put(by, athlete, code, at, *, seconds=None, reps=1, **more):
    """A row as it may lie there, whatever the step asked then."""
    return Attempt.objects.create(
        gym=athlete.gym,
        athlete=athlete,
        step_id=page_of(athlete.gym, code).id,
        logged_by=by,
        happened_at=at,
        hold_tenths=None if seconds is None else round(seconds * 10),
        reps=reps,
        **{"source": "judged", **more},
    )


def test_holds_reps_and_pulls_are_added_up_by_weeks_that_begin_on_monday(coach, athlete):
    put(coach, athlete, "pullover-1", datetime(2026, 10, 18, 23, 59, tzinfo=BERLIN), seconds=5.5)
    put(coach, athlete, "pullover-1", datetime(2026, 10, 19, 0, 0, tzinfo=BERLIN), seconds=5.5, reps=3)
    put(coach, athlete, "pullover-1", datetime(2026, 11, 8, 23, 59, tzinfo=BERLIN), seconds=7.4)
    put(coach, athlete, "pullover-3", datetime(2026, 11, 9, 0, 0, tzinfo=BERLIN), reps=4)
    found = lately(athlete)
    assert found.weeks == (Volume(5), Volume(16), Volume(), Volume(7))
    assert found.this_week == Volume(hang_seconds=12, pulls=4)


@pytest.mark.parametrize(
    ("now", "sunday"),
    [
        (datetime(2026, 4, 2, 12, tzinfo=BERLIN), datetime(2026, 3, 29, 23, 30, tzinfo=BERLIN)),
        (datetime(2026, 10, 29, 12, tzinfo=BERLIN), datetime(2026, 10, 25, 23, 30, tzinfo=BERLIN)),
    ],
)
def test_late_on_the_sunday_of_a_clock_change_it_is_still_that_week(coach, athlete, now, sunday):
    put(coach, athlete, "pullover-1", sunday, seconds=10)
    put(coach, athlete, "pullover-1", sunday + timedelta(minutes=30), seconds=4)
    found = lately(athlete, now)
    assert (found.weeks[-1], found.this_week) == (Volume(10), Volume(4))


def test_what_was_taken_back_or_lies_ahead_is_in_no_volume(coach, athlete):
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-1", 9.0, at=NOW), reason="Wrong athlete")
    put(coach, athlete, "pullover-1", NOW + timedelta(minutes=1), seconds=9)
    assert lately(athlete).this_week == Volume()


@pytest.mark.parametrize(
    "spoilt",
    [
        {"faults": ["knees-give"]},
        {"missed": ["hangs-in-fingers"]},
        {"pain": True},
        {"assistance": "band"},
        {"variant": "strap"},
        {"closed_try": True},
        {"source": "own"},
    ],
)
def test_the_best_hold_is_clean_without_help_as_described_and_seen_by_somebody_else(coach, athlete, spoilt):
    put(coach, athlete, "pullover-1", NOW - timedelta(days=3), seconds=6.1)
    put(coach, athlete, "pullover-1", NOW - timedelta(days=2), seconds=14.0, **spoilt)
    found = lately(athlete)
    assert found.best_tenths == {"pullover-1": 61}
    assert sum(week.hang_seconds for week in (*found.weeks, found.this_week)) == 20


def test_the_best_is_of_the_last_eight_weeks_and_under_two_seconds_is_no_hold(coach, athlete):
    put(coach, athlete, "pullover-1", datetime(2026, 9, 13, 12, tzinfo=BERLIN), seconds=30)  # a day too early
    put(coach, athlete, "pullover-1", datetime(2026, 9, 14, 12, tzinfo=BERLIN), seconds=8)
    put(coach, athlete, "pullover-2", NOW, seconds=1.9)
    assert lately(athlete).best_tenths == {"pullover-1": 80}


@pytest.mark.parametrize(
    ("last", "back", "away"),
    [
        (datetime(2026, 10, 23, 12, tzinfo=BERLIN), None, 0),  # 20 days
        (datetime(2026, 10, 22, 12, tzinfo=BERLIN), None, 21),
        (datetime(2026, 10, 19, 12, tzinfo=BERLIN), datetime(2026, 11, 9, 8, tzinfo=BERLIN), 21),
        (datetime(2026, 10, 20, 12, tzinfo=BERLIN), datetime(2026, 11, 9, 8, tzinfo=BERLIN), 0),
        (datetime(2026, 9, 14, 12, tzinfo=BERLIN), None, 59),
    ],
)
def test_three_weeks_without_practice_are_away_for_the_whole_week_of_the_return(coach, athlete, last, back, away):
    put(coach, athlete, "pullover-1", last, seconds=5)
    if back:
        put(coach, athlete, "pullover-1", back, seconds=5)
    assert lately(athlete).days_away == away


def test_before_eight_weeks_it_is_known_that_somebody_was_away_but_not_since_when(coach, athlete):
    put(coach, athlete, "pullover-1", datetime(2021, 9, 13, 12, tzinfo=BERLIN), seconds=5)
    assert lately(athlete).days_away == 60


def test_a_class_is_practice_too_and_who_never_came_was_not_away(coach, athlete, minor):
    put(coach, athlete, "pullover-1", datetime(2026, 10, 1, 12, tzinfo=BERLIN), seconds=5)
    with time_machine.travel(datetime(2026, 11, 5, 18, tzinfo=BERLIN), tick=False):
        mark_present(by=coach, session=start_session(by=coach, name="Thursday class", focus=None), athlete=athlete)
    assert lately(athlete).days_away == 0
    assert lately(minor).days_away == 0


def test_classes_are_counted_by_days_of_the_fullest_week(coach, athlete):
    for day, hour in ((2, 18), (2, 20), (4, 18), (9, 18)):
        with time_machine.travel(datetime(2026, 11, day, hour, tzinfo=BERLIN), tick=False):
            start_session(by=coach, name="class", focus=None)
    assert class_days(athlete.gym, NOW) == 2
    assert class_days(athlete.gym, NOW + timedelta(weeks=6)) == 0
