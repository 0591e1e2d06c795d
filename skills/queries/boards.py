"""What a coach sees at a glance: the sessions of today, and the board of one session."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import reduce
from operator import or_
from uuid import UUID

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Window
from django.db.models.functions import Coalesce, RowNumber
from django.utils import timezone

from athletes.models import Athlete, Caution, Gym, SkinNote
from skills.core.days import moment_us
from skills.core.timeline import Timeline
from skills.models import Attempt, Attendance, StepTimeline, TrainingSession
from skills.queries.books import Book
from skills.queries.cautions import cautions_active
from skills.queries.class_runs import ClassRun, Doing, planned, run_now, steps_by_plan
from skills.queries.returns import days_away
from skills.queries.standings import InHand, Waiting, steps_in_hand

_TRIES_BACK = 5  # how far back a cue is looked for


@dataclass(frozen=True, slots=True)
class TurnOf:
    """What somebody does now and in the rotation after, None without a place; whether the plan knows them at all.

    `is_ahead` is whether the class warms up still, so that now is the first rotation.
    """

    now: Doing | None
    then: Doing | None
    is_ahead: bool
    is_last: bool
    is_known: bool


@dataclass(frozen=True, slots=True)
class Tile:
    """One athlete on a board. `cautions` are those in force that forbid a load of the step in hand.

    `before` is the hold before the last one, where both were made with the same help and form; `in_force`
    all cautions in force; `skin_until` the last day on which torn skin is shown; `turn` what the plan of the class
    says, None where it has none.
    """

    in_hand: InHand
    cautions: tuple[Caution, ...]
    last: Attempt | None
    before: Attempt | None
    last_with_fault: Attempt | None
    in_force: tuple[Caution, ...]
    skin_until: date | None
    turn: TurnOf | None = None

    @property
    def forbidden(self) -> frozenset[str]:
        """The loads that are forbidden now."""
        return frozenset(load for caution in self.in_force for load in caution.loads)


def running_sessions(gym: Gym) -> QuerySet[TrainingSession]:
    """Return the sessions that have not been ended, the newest first."""
    return _counted(TrainingSession.objects.filter(gym=gym, ended_at=None))


def ended_sessions(gym: Gym, since: datetime) -> QuerySet[TrainingSession]:
    """Return the ended sessions that started since then, the newest first."""
    return _counted(TrainingSession.objects.filter(gym=gym, starts_at__gte=since).exclude(ended_at=None))


def _counted(sessions: QuerySet[TrainingSession]) -> QuerySet[TrainingSession]:
    """Add how many were `present` and how many attempts were `logged` and stand."""
    logged = Attempt.objects.filter(session=OuterRef("pk"), void=None).order_by().values("session")
    counted = sessions.select_related("coach__person").annotate(
        present=Count("attendances"),
        logged=Coalesce(Subquery(logged.annotate(number=Count("pk")).values("number")), 0),
    )
    return counted.order_by("-starts_at", "pk")


def rechecks_due(book: Book, gym: Gym, now: datetime) -> list[Waiting]:
    """Return the passed steps that have not been shown for too long, the longest due first; one query."""
    rows = (
        StepTimeline.objects.filter(gym=gym)
        .exclude(athlete__left_on__lte=now.astimezone(gym.zone).date())
        .select_related("athlete__person", "athlete__gym")
    )
    standing = (
        Waiting(row.athlete, book.steps[book.codes[row.step_id]], Timeline.from_json(row.changes).at(moment_us(now)))
        for row in rows
    )
    return sorted((item for item in standing if item.now.state == "recheck"), key=lambda item: item.now.from_us)


def athletes_under_caution(gym: Gym, now: datetime) -> list[tuple[Athlete, tuple[Caution, ...]]]:
    """Return who is under a caution now, with the cautions, by number; two queries."""
    athletes = {
        row.id: row
        for row in Athlete.objects.filter(gym=gym, cautions__isnull=False)
        .exclude(left_on__lte=now.astimezone(gym.zone).date())
        .select_related("person", "gym")
        .order_by("number")
        .distinct()
    }
    found = _by_athlete(cautions_active(athletes.keys(), now))
    return [(athlete, found[athlete.id]) for athlete in athletes.values() if athlete.id in found]


def _by_athlete(cautions: QuerySet[Caution]) -> Mapping[UUID, tuple[Caution, ...]]:
    groups: dict[UUID, tuple[Caution, ...]] = {}
    for caution in cautions:
        groups[caution.athlete_id] = (*groups.get(caution.athlete_id, ()), caution)
    return groups


def attendances_of(session: TrainingSession) -> QuerySet[Attendance]:
    """Return who is present, by number: a tile keeps its place for the whole of a class. Who was erased has none."""
    there = session.attendances.filter(athlete__person__erased_at=None)
    there = there.annotate(skin_until=_skin_until(session.gym), planned=planned(session))
    return there.select_related("athlete__person", "athlete__gym", "step").order_by("athlete__number")


def _skin_until(gym: Gym) -> Subquery:
    """The last day on which an athlete's torn skin is shown, of those from today on."""
    shown = SkinNote.objects.filter(athlete=OuterRef("athlete"), until_on__gte=timezone.localdate(timezone=gym.zone))
    return Subquery(shown.order_by("-until_on").values("until_on")[:1])


def board_of(book: Book, session: TrainingSession, now: datetime) -> list[Tile]:
    """Return the tiles of everybody present, with a number of queries that does not grow with them."""
    return _tiles(book, session, list(attendances_of(session)), now)


def tile_of(book: Book, session: TrainingSession, athlete: Athlete, now: datetime) -> Tile | None:
    """Return one athlete's tile, or None for who is not on the board."""
    tiles = _tiles(book, session, list(attendances_of(session).filter(athlete=athlete)), now)
    return tiles[0] if tiles else None


def _tiles(book: Book, session: TrainingSession, attendances: Collection[Attendance], now: datetime) -> list[Tile]:
    athletes = [attendance.athlete for attendance in attendances]
    run = run_where_planned(session, attendances, now)
    chosen = steps_by_plan(book, session, run, {row.athlete_id: row.step.code for row in attendances if row.step})
    away = days_away(session, [athlete.id for athlete in athletes])
    focus = session.focus.code if session.focus else None
    in_hand = steps_in_hand(book, athletes, now, chosen=chosen, focus=focus, days_away=away)
    tiles = tiles_in_hand(book, in_hand, now, skin_of(attendances))
    return [replace(tile, turn=turn_of(run, tile.in_hand.athlete.id)) for tile in tiles] if run else tiles


def run_where_planned(session: TrainingSession, attendances: Collection[Attendance], now: datetime) -> ClassRun | None:
    """Return how the class is run by its plan, from rows of `attendances_of`; no query where it has no plan."""
    return run_now(session, now) if any(getattr(row, "planned", False) for row in attendances) else None


def turn_of(run: ClassRun, athlete_id: UUID) -> TurnOf | None:
    """Return what the plan says of somebody now; None once the last rotation is over."""
    if run.shown is None:
        return None
    key, then = str(athlete_id), run.shown + 1
    return TurnOf(
        now=run.doings(run.shown).get(key),
        then=run.doings(then).get(key),
        is_ahead=run.clock.is_warm_up,
        is_last=then == run.lengths.rotations,
        is_known=key in run.people,
    )


def skin_of(attendances: Collection[Attendance]) -> Mapping[UUID, date]:
    """Return until when torn skin is shown, by athlete, from rows of `attendances_of`."""
    found = {row.athlete_id: getattr(row, "skin_until", None) for row in attendances}
    return {key: day for key, day in found.items() if day}


def tiles_in_hand(book: Book, in_hand: Collection[InHand], now: datetime, skin: Mapping[UUID, date]) -> list[Tile]:
    """Return the tiles of athletes with their steps in hand; two queries."""
    cautions = _by_athlete(cautions_active([item.athlete.id for item in in_hand], now))
    tries = last_tries(book, in_hand)
    return [
        _tile(book, item, cautions.get(item.athlete.id, ()), tries.get(item.athlete.id, ()), skin.get(item.athlete.id))
        for item in in_hand
    ]


def _tile(
    book: Book, item: InHand, cautions: tuple[Caution, ...], tries: tuple[Attempt, ...], skin_until: date | None
) -> Tile:
    loads = book.rules.steps[item.page.code].loads if item.page else frozenset()
    return Tile(
        in_hand=item,
        cautions=tuple(caution for caution in cautions if loads.intersection(caution.loads)),
        last=tries[0] if tries else None,
        before=_hold_before(tries),
        last_with_fault=next((attempt for attempt in tries if attempt.faults), None),
        in_force=cautions,
        skin_until=skin_until,
    )


def _hold_before(tries: tuple[Attempt, ...]) -> Attempt | None:
    if len(tries) < 2 or not all(attempt.hold_tenths for attempt in tries[:2]):  # noqa: PLR2004 (a pair)
        return None
    last, before = tries[:2]
    return before if (last.assistance, last.variant) == (before.assistance, before.variant) else None


def last_tries(book: Book, in_hand: Collection[InHand]) -> Mapping[UUID, tuple[Attempt, ...]]:
    """Return each athlete's last few tries at the step in hand that stand, the newest first; one query."""
    pairs = [Q(athlete=item.athlete.id, step=item.page.id) for item in in_hand if item.page]
    if not pairs:
        return {}
    rank = Window(
        RowNumber(), partition_by=[F("athlete"), F("step")], order_by=[F("happened_at").desc(), F("pk").desc()]
    )
    # Pair by pair, each by the index: of all these athletes at all these steps there may be thousands of tries.
    rows = Attempt.objects.filter(reduce(or_, pairs), gym=book.gym_id, void=None).annotate(rank=rank)
    groups: dict[UUID, tuple[Attempt, ...]] = {}
    for row in rows.filter(rank__lte=_TRIES_BACK).order_by("rank"):
        groups[row.athlete_id] = (*groups.get(row.athlete_id, ()), row)
    return groups


def present_ids(session: TrainingSession) -> frozenset[UUID]:
    """Return the ids of the athletes on the board."""
    return frozenset(session.attendances.values_list("athlete_id", flat=True))


def usual_ids(session: TrainingSession) -> frozenset[UUID]:
    """Return who was there the last time that a session of this name took place; empty where there was none."""
    before = TrainingSession.objects.filter(gym=session.gym_id, name=session.name, starts_at__lt=session.starts_at)
    last = before.order_by("-starts_at").values("pk")[:1]
    return frozenset(Attendance.objects.filter(session__in=last).values_list("athlete_id", flat=True))


def without_attempt(session: TrainingSession) -> list[Athlete]:
    """Return who is present and has nothing logged in this session that stands, by number."""
    logged = Attempt.objects.filter(session=session, void=None).values("athlete")
    return [row.athlete for row in attendances_of(session).exclude(athlete__in=logged)]
