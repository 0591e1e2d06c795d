"""Which attempts are clean holds, on which of the gym's days, and what others of the gym held on two steps."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from athletes.models import Athlete
from skills.core.pairs import Pair
from skills.core.trend import DayBest
from skills.queries.clean_holds import day_bests, gym_pairs, posed_steps, recent_bests
from skills.services.attempts import void_attempt
from tests.factories.athletes import make_athlete, years_before_today
from tests.factories.holds import NOW, ago, both, hold
from tests.factories.skills import library, log, step_of


@pytest.fixture(autouse=True)
def _skills(gym):
    library(gym)


def bests(athlete: Athlete, code: str = "pullover-1") -> list[DayBest]:
    return day_bests(athlete=athlete, step_id=step_of(athlete.gym, code).id, now=NOW)


def test_of_each_of_the_gyms_days_the_best_counts_the_oldest_day_first(coach, athlete):
    late, after_midnight = datetime(2026, 3, 1, 22, 59, tzinfo=UTC), datetime(2026, 3, 1, 23, 1, tzinfo=UTC)
    for at, tenths in ((after_midnight, 61), (late, 55), (late - timedelta(hours=2), 48)):
        hold(coach, athlete, "pullover-1", tenths, at=at)
    assert bests(athlete) == [DayBest(date(2026, 3, 1), 55), DayBest(date(2026, 3, 2), 61)]


@pytest.mark.parametrize(
    "more",
    [
        {"faults": ["swings-in"]},
        {"missed": ["knees-high"]},
        {"pain": True},
        {"assistance": "band"},
        {"variant": "knees-at-hips"},
        {"closed_try": True},
        {"source": "own"},
        {"source": "timed_only"},
        {"source": "counted"},
        {"tenths": 19},
        {"tenths": None},
        {"at": ago(183)},
        {"at": ago(-1)},
        {"code": "pullover-2"},
    ],
    ids=str,
)
def test_what_is_no_clean_judged_hold_of_the_time_and_step_is_left_out(coach, athlete, more):
    row = {"code": "pullover-1", "tenths": 90, "at": ago(3), **more}
    hold(coach, athlete, row.pop("code"), row.pop("tenths"), **row)
    hold(coach, athlete, "pullover-1", 50, at=ago(2))
    assert [each.tenths for each in bests(athlete)] == [50]


def test_a_void_takes_a_hold_away(owner, athlete):
    attempt = log(owner, athlete, "pullover-1", 9.0)
    now = timezone.now()
    assert day_bests(athlete=athlete, step_id=attempt.step_id, now=now)
    void_attempt(by=owner, attempt=attempt, reason="wrong athlete")
    assert day_bests(athlete=athlete, step_id=attempt.step_id, now=now) == []


def test_another_persons_holds_are_theirs(coach, athlete, gym):
    hold(coach, make_athlete(gym, "Ben Ortiz"), "pullover-1", 90, at=ago(1))
    assert bests(athlete) == []


def test_recent_bests_are_of_eight_weeks_by_step(coach, athlete, gym):
    for code, tenths, days in (("l-hold-2", 150, 55), ("l-hold-2", 300, 57), ("l-hold-4", 60, 1), ("l-hold-4", 52, 2)):
        hold(coach, athlete, code, tenths, at=ago(days))
    ids = {code: step_of(gym, code).id for code in ("l-hold-2", "l-hold-4", "l-hold-5")}
    found = recent_bests(athlete=athlete, step_ids=ids.values(), now=NOW)
    assert found == {ids["l-hold-2"]: 150, ids["l-hold-4"]: 60}


def test_posed_steps_are_holds_with_a_pose(gym):
    ids = {code: step_of(gym, code).id for code in ("l-hold-2", "l-hold-3", "pullover-3")}
    assert {*posed_steps(gym, ids.values())} == {ids["l-hold-2"]}  # 3 holds no one pose, and pullover-3 is of reps


# ---- Pairs -------------------------------------------------------------------------------------------------------


def pairs_for(athlete: Athlete) -> list[Pair]:
    known, next_ = (step_of(athlete.gym, code).id for code in ("l-hold-2", "l-hold-4"))
    return gym_pairs(athlete=athlete, known_id=known, next_id=next_, now=NOW)


def test_pairs_are_of_other_grown_people_of_the_gym(coach, other_coach, athlete, gym, other_gym):
    library(other_gym)
    both(coach, athlete, 500, 400)
    both(coach, make_athlete(gym, "Ben Ortiz"), 310, 90)
    both(coach, make_athlete(gym, "Cem Yurt"), 250, 60)
    both(coach, make_athlete(gym, "Dot Small", birth_on=years_before_today(15)))
    both(coach, make_athlete(gym, "Eve Undated", birth_on=None))
    both(other_coach, make_athlete(other_gym, "Fay Elsewhere"))
    assert pairs_for(athlete) == [Pair(250, 60), Pair(310, 90)]


def test_who_holds_one_of_the_two_alone_or_held_them_years_ago_makes_no_pair(coach, athlete, gym):
    hold(coach, make_athlete(gym, "Ben Ortiz"), "l-hold-2", 300, at=ago(5))
    hold(coach, make_athlete(gym, "Cem Yurt"), "l-hold-4", 60, at=ago(5))
    both(coach, make_athlete(gym, "Dot Past"), days=731)
    assert pairs_for(athlete) == []


def test_each_asks_one_query_however_many_there_are(coach, athlete, gym, django_assert_num_queries):
    for place in range(6):
        both(coach, make_athlete(gym, f"Ben {place}"), days=30 + place)
        hold(coach, athlete, "l-hold-2", 100, at=ago(place))
    known, next_ = (step_of(gym, code).id for code in ("l-hold-2", "l-hold-4"))
    with django_assert_num_queries(3):
        assert len(gym_pairs(athlete=athlete, known_id=known, next_id=next_, now=NOW)) == 6
        assert len(day_bests(athlete=athlete, step_id=known, now=NOW)) == 6
        assert recent_bests(athlete=athlete, step_ids=[known, next_], now=NOW) == {known: 100}


@pytest.mark.sqlite_only
def test_holds_of_a_person_are_found_by_the_index_of_attempts_at_a_step(athlete, django_assert_num_queries):
    step_id = step_of(athlete.gym, "pullover-1").id
    with django_assert_num_queries(1) as asked:
        day_bests(athlete=athlete, step_id=step_id, now=NOW)
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {asked.captured_queries[0]['sql']}")
        plan = " ".join(str(row[-1]) for row in cursor.fetchall())
    assert "attempt_of_step (gym_id=? AND athlete_id=? AND step_id=? AND happened_at>? AND happened_at<?)" in plan
