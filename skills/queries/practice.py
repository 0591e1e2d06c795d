"""What an athlete practised lately: volumes by week, the best tries, when somebody was last there.

All of it is read from the last weeks alone, so that it costs the same however long the history is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from athletes.models import Athlete, Gym
from skills.core.days import day_starts_us, moment_of
from skills.core.dose_limits import AWAY_DAYS, BEST_WEEKS, RECENT_WEEKS, REP_SECONDS, Volume
from skills.core.facts import UNASSISTED
from skills.core.holds import is_hold
from skills.core.own_practice import OLDEST_DAYS
from skills.core.weeks import WEEK, monday_of, week_starts_us
from skills.models import Attempt, Attendance, TrainingSession
from skills.queries.books import Book

MOST_OWN_ROWS = 60
_COLUMNS = (
    "step_id", "happened_at", "hold_tenths", "reps", "source", "assistance", "variant", "faults", "missed",
    "pain", "closed_try",
)  # fmt: skip


class _Try(NamedTuple):
    step_id: UUID
    happened_at: datetime
    hold_tenths: int | None
    reps: int
    source: str
    assistance: str
    variant: str
    faults: list[str]
    missed: list[str]
    pain: bool
    closed_try: bool

    @property
    def shows(self) -> bool:
        """Whether it shows what its athlete can do: clean, without help, as described, and seen by somebody else."""
        return not (self.faults or self.missed or self.pain or self.closed_try or self.variant) and (
            self.assistance == UNASSISTED and self.source != Attempt.Source.OWN
        )


@dataclass(frozen=True, slots=True)
class Lately:
    """The last eight weeks and the running one, up to now.

    `weeks` are the volumes of the last four whole weeks, the oldest first, and `this_week` what there is of the
    running one; own entries are in them. `best_tenths` and `best_reps` have the best clean unhelped try by step code,
    without own entries. `codes` are the steps of the last four weeks and the running one. `days_away` counts the days
    without practice up to this week's first, or up to today, where they are three weeks or more; 0 else.
    """

    weeks: tuple[Volume, ...]
    this_week: Volume
    best_tenths: Mapping[str, int]
    best_reps: Mapping[str, int]
    codes: frozenset[str]
    days_away: int


def practised_lately(book: Book, athlete: Athlete, now: datetime) -> Lately:
    """Return what an athlete practised lately, in two queries, and one more after eight weeks without any."""
    zone = athlete.gym.zone
    monday = monday_of(now.astimezone(zone).date())
    since = _week_start(monday - BEST_WEEKS * WEEK, athlete.gym)
    rows = Attempt.objects.filter(gym=book.gym_id, athlete=athlete, void=None, happened_at__range=(since, now))
    tries = [_Try(*row) for row in rows.values_list(*_COLUMNS)]
    weeks = _volumes(book, tries, athlete.gym)
    mondays = [monday - back * WEEK for back in range(RECENT_WEEKS, 0, -1)]
    recent_from = _week_start(mondays[0], athlete.gym)
    return Lately(
        weeks=tuple(weeks[each] for each in mondays),
        this_week=weeks[monday],
        best_tenths=_best(book, tries, held=True),
        best_reps=_best(book, tries, held=False),
        codes=frozenset(book.codes[one.step_id] for one in tries if one.happened_at >= recent_from),
        days_away=_days_away(athlete, _days_there(athlete, tries, since, now), since, now),
    )


def class_days(gym: Gym, now: datetime) -> int:
    """Return on how many days of one of the last four weeks, or the running one, there were classes; one query."""
    monday = monday_of(now.astimezone(gym.zone).date())
    since = _week_start(monday - RECENT_WEEKS * WEEK, gym)
    starts = TrainingSession.objects.filter(gym=gym, starts_at__range=(since, now)).values_list("starts_at", flat=True)
    days: defaultdict[date, set[date]] = defaultdict(set)
    for start in starts:
        day = start.astimezone(gym.zone).date()
        days[monday_of(day)].add(day)
    return max((len(found) for found in days.values()), default=0)


def _week_start(monday: date, gym: Gym) -> datetime:
    return moment_of(week_starts_us(monday, gym.time_zone))


def _volumes(book: Book, tries: Iterable[_Try], gym: Gym) -> defaultdict[date, Volume]:
    """Return what each week comes to by its Monday; tenths are added up before they are cut to seconds."""
    tenths: defaultdict[date, int] = defaultdict(int)
    pulls: defaultdict[date, int] = defaultdict(int)
    for one in tries:
        monday = monday_of(one.happened_at.astimezone(gym.zone).date())
        loads = book.rules.steps[book.codes[one.step_id]].loads
        each = REP_SECONDS * 10 if one.hold_tenths is None else one.hold_tenths
        tenths[monday] += each * one.reps if "hanging" in loads else 0
        pulls[monday] += one.reps if "pulling" in loads and one.hold_tenths is None else 0
    found: defaultdict[date, Volume] = defaultdict(Volume)
    found.update({monday: Volume(tenths[monday] // 10, pulls[monday]) for monday in tenths})
    return found


def _best(book: Book, tries: Iterable[_Try], *, held: bool) -> dict[str, int]:
    best: dict[str, int] = {}
    for one in tries:
        if one.shows and is_hold(one.hold_tenths) is held and (held or one.hold_tenths is None):
            code = book.codes[one.step_id]
            result = one.hold_tenths if one.hold_tenths is not None else one.reps
            best[code] = max(best.get(code, 0), result)
    return best


def _days_there(athlete: Athlete, tries: Iterable[_Try], since: datetime, now: datetime) -> set[date]:
    """Return the days on which somebody practised or was in a class; one query."""
    classes = Attendance.objects.filter(gym=athlete.gym_id, athlete=athlete, session__starts_at__range=(since, now))
    moments = [*classes.values_list("session__starts_at", flat=True), *(one.happened_at for one in tries)]
    return {moment.astimezone(athlete.gym.zone).date() for moment in moments}


def _days_away(athlete: Athlete, days: Collection[date], since: datetime, now: datetime) -> int:
    """Return the days from the last one before this week to the first one in it, or to today, from three weeks on."""
    today = now.astimezone(athlete.gym.zone).date()
    monday = monday_of(today)
    back_on = min((day for day in days if day >= monday), default=today)
    last_on = max((day for day in days if day < monday), default=None)
    if last_on is None:
        earlier = Attempt.objects.filter(gym=athlete.gym_id, athlete=athlete, void=None, happened_at__lt=since)
        last_on = since.astimezone(athlete.gym.zone).date() - timedelta(days=1) if earlier.exists() else back_on
    away = (back_on - last_on).days
    return away if away >= AWAY_DAYS else 0


def own_entries(athlete: Athlete, today: date) -> list[Attempt]:
    """Return the own entries of the last fortnight, those taken back among them, the newest first; one query."""
    since = moment_of(day_starts_us(today - timedelta(days=OLDEST_DAYS), athlete.gym.time_zone))
    rows = Attempt.objects.filter(
        gym=athlete.gym_id, athlete=athlete, source=Attempt.Source.OWN, happened_at__gte=since
    )
    return list(rows.select_related("void", "logged_by__person").order_by("-happened_at", "-pk")[:MOST_OWN_ROWS])
