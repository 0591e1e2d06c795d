"""Clean holds: judged, without a fault, help or pain, as the step describes them, long enough to be one.

Read from a bounded time back, by the index of attempts at a step, so that it costs the same however long a history is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Max, Q, QuerySet

from athletes.core.people import last_birth_on_of
from athletes.models import Athlete, Gym
from skills.core.days import local_date, moment_us
from skills.core.facts import UNASSISTED
from skills.core.holds import HOLD_FLOOR_TENTHS
from skills.core.pairs import Hold, Pair, pair_of
from skills.core.trend import WINDOW_DAYS, DayBest
from skills.models import Attempt, Step

RECENT_DAYS: Final = 56  # what somebody held longer ago says little about today
PAIR_DAYS: Final = 730
MOST_ROWS: Final = 20_000  # of two years of pairs, the newest first

_CLEAN: Final = Q(
    void=None,
    source=Attempt.Source.JUDGED,
    faults=[],
    missed=[],
    pain=False,
    assistance=UNASSISTED,
    variant="",
    closed_try=False,
    hold_tenths__gte=HOLD_FLOOR_TENTHS,
)


def day_bests(*, athlete: Athlete, step_id: UUID, now: datetime) -> list[DayBest]:
    """Return the best clean hold of each of the gym's days in the last half year, the oldest first; one query."""
    rows = _holds_of(athlete, [step_id], now, WINDOW_DAYS)
    bests: dict[object, DayBest] = {}
    for happened_at, tenths in rows.order_by("happened_at").values_list("happened_at", "hold_tenths"):
        on = local_date(moment_us(happened_at), athlete.gym.time_zone)
        known = bests.get(on)
        if known is None or (tenths or 0) > known.tenths:
            bests[on] = DayBest(on, tenths or 0)
    return [*bests.values()]


def recent_bests(*, athlete: Athlete, step_ids: Collection[UUID], now: datetime) -> Mapping[UUID, int]:
    """Return the best clean hold of the last eight weeks at each of these steps, in tenths of a second; one query."""
    rows = _holds_of(athlete, step_ids, now, RECENT_DAYS)
    return dict(rows.order_by().values_list("step_id").annotate(best=Max("hold_tenths")))


def posed_steps(gym: Gym, step_ids: Collection[UUID]) -> Mapping[UUID, Step]:
    """Return those of the steps that are held in a pose, by id; one query."""
    rows = Step.objects.filter(gym=gym, pk__in=step_ids, measure=Step.Measure.HOLD)
    return rows.exclude(thigh_degrees=None).in_bulk()


def gym_pairs(*, athlete: Athlete, known_id: UUID, next_id: UUID, now: datetime) -> list[Pair]:
    """Return what other grown people of the athlete's gym held on both steps in the last two years; one query.

    An unknown birth date is that of a minor.
    """
    gym = athlete.gym
    clean = _CLEAN & Q(gym=gym, happened_at__range=(now - timedelta(days=PAIR_DAYS), now))
    held_next = Attempt.objects.filter(clean, step=next_id).order_by().values("athlete")
    grown_on = last_birth_on_of(gym.adult_age_years, now.astimezone(gym.zone).date())
    rows = Attempt.objects.filter(
        clean, step__in=(known_id, next_id), athlete__in=held_next, athlete__person__birth_on__lte=grown_on
    ).exclude(athlete=athlete)
    holds: defaultdict[UUID, dict[UUID, list[Hold]]] = defaultdict(lambda: {known_id: [], next_id: []})
    columns = rows.order_by("-happened_at").values_list("athlete_id", "step_id", "happened_at", "hold_tenths")
    for athlete_id, step_id, happened_at, tenths in columns[:MOST_ROWS]:
        holds[athlete_id][step_id].append((moment_us(happened_at), tenths or 0))
    found = (pair_of(each[known_id], each[next_id]) for each in holds.values())
    return sorted((pair for pair in found if pair), key=lambda pair: (pair.known_tenths, pair.next_tenths))


def _holds_of(athlete: Athlete, step_ids: Collection[UUID], now: datetime, days: int) -> QuerySet[Attempt]:
    """Name the gym too: the index of attempts at a step leads with it."""
    since = now - timedelta(days=days)
    return Attempt.objects.filter(
        _CLEAN, gym=athlete.gym_id, athlete=athlete, step__in=step_ids, happened_at__range=(since, now)
    )
