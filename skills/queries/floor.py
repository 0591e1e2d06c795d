"""What a tablet on the gym floor reads: tiles with all that a device must know without a network, and the day."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery

from athletes.models import Athlete, AuditHead, Gym
from skills.core.days import moment_us
from skills.core.readiness import StepStanding
from skills.core.timeline import Awaits, Change
from skills.models import Attempt, Attendance, BarCheck, ClassPlan, Fault, Step, TrainingSession
from skills.queries.boards import Tile, attendances_of, run_where_planned, skin_of, tiles_in_hand
from skills.queries.books import Book, StepPage
from skills.queries.class_runs import ClassRun, steps_by_plan
from skills.queries.evidence import remarks_by_commitment
from skills.queries.looks import Look, looks_at
from skills.queries.returns import days_away
from skills.queries.standings import Back, InHand, hand_out
from skills.queries.stops import stops_of
from skills.queries.timelines import Timelines, kept_timelines

LOG_LENGTH: Final = 200
_STAMP_SECONDS: Final = 300


def stamp_of(gym: Gym, now: datetime) -> str:
    """Return what changes whenever an answer to the gym's tablets may have; one query.

    Every act lengthens the audit chain. What time alone changes (a window passes, a day begins) is told within five
    minutes, of which every zone's days are made; but a try that a device dated a moment ahead counts from that moment.
    """
    ahead = Attempt.objects.filter(gym=OuterRef("gym"), happened_at__gt=now).order_by().values("gym")
    heads = AuditHead.objects.filter(gym=gym).annotate(ahead=Subquery(ahead.annotate(many=Count("*")).values("many")))
    length, many = heads.values_list("length", "ahead").get()
    bucket = int(now.timestamp()) // _STAMP_SECONDS
    told = f"{gym.id} {length} {gym.rules_stamp} {bucket} {many or 0}"
    return hashlib.sha256(told.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class OpenStep:
    """A step that is open to an athlete; `standing` says what is missing and is None where it is passed.

    `assistance` and `variant` are those of the last judged try there, None where there was none.
    """

    page: StepPage
    now: Change
    standing: StepStanding | None
    assistance: str | None
    variant: str | None


@dataclass(frozen=True, slots=True)
class FloorTile:
    """An athlete's tile as on the class page, with what a device needs to log at any open step.

    `chosen` is whether a coach chose the step in hand; `waiting` the gates that wait for a coach; `note` the remark on
    the last try; `no_consent` to what nobody has agreed, `stopped` the steps, open or not, that ask for it.
    """

    tile: Tile
    chosen: bool
    opened: tuple[OpenStep, ...]
    waiting: tuple[tuple[StepPage, Awaits], ...]
    note: str
    no_consent: tuple[str, ...]
    stopped: tuple[StepPage, ...]


def floor_tiles(
    book: Book,
    session: TrainingSession,
    now: datetime,
    athlete_ids: Collection[UUID] | None = None,
    run: ClassRun | None = None,
) -> list[FloorTile]:
    """Return the tiles of everybody present, or of those of them, with a number of queries that does not grow.

    `run` is how the class is run by its plan, where that was read before.
    """
    there = attendances_of(session)
    rows = list(there if athlete_ids is None else there.filter(athlete__in=athlete_ids))
    return _Floor(book, session, now, rows, run or run_where_planned(session, rows, now)).tiles()


class _Floor:
    """What the tiles of one session are made of, read once for all of them."""

    def __init__(
        self,
        book: Book,
        session: TrainingSession,
        now: datetime,
        rows: Collection[Attendance],
        run: ClassRun | None,
    ) -> None:
        self.book, self.session, self.now, self.us = book, session, now, moment_us(now)
        self.athletes = [row.athlete for row in rows]
        self.ids = [athlete.id for athlete in self.athletes]
        chosen = {row.athlete_id: row.step.code for row in rows if row.step}
        self.chosen = steps_by_plan(book, session, run, chosen)
        self.kept, self.skin = kept_timelines(book, self.ids), skin_of(rows)
        self.stops = stops_of(book, self.athletes, self.kept, now)

    def tiles(self) -> list[FloorTile]:
        """Return the tiles in the order of the rows."""
        hands = self._hands()
        looks = self._looks(hands)
        tiles = tiles_in_hand(self.book, [*self._in_hand(hands, looks)], self.now, self.skin)
        notes = _notes(self.session.gym, tiles)
        return [
            FloorTile(
                tile=tile,
                chosen=key in self.chosen,
                opened=tuple(self._opened(self.kept[key], looks[key])),
                waiting=tuple(self._waiting(self.kept[key])),
                note=notes.get(tile.last.remark_commitment, "") if tile.last else "",
                no_consent=self._no_consent(key, tile.in_hand.page),
                stopped=tuple(page for code, page in self.book.steps.items() if code in self.stops[key].codes),
            )
            for key, tile in zip(self.ids, tiles, strict=True)
        ]

    def _hands(self) -> Mapping[UUID, tuple[str | None, Back | None]]:
        away = days_away(self.session, self.ids)
        focus = self.session.focus.code if self.session.focus else None
        return {
            key: hand_out(
                self.book,
                self.kept[key],
                self.now,
                chosen=self.chosen.get(key),
                focus=focus,
                days_away=away.get(key),
                stopped=self.stops[key].codes,
            )
            for key in self.ids
        }

    def _looks(self, hands: Mapping[UUID, tuple[str | None, Back | None]]) -> Mapping[UUID, Look]:
        """Look at each step that is open and not passed, and at the one in hand."""
        asked = {key: {*self._unfinished(self.kept[key]), *filter(None, [hands[key][0]])} for key in self.ids}
        return looks_at(self.book, asked, self.kept, self.now)

    def _unfinished(self, kept: Timelines) -> Iterator[str]:
        return (code for code in self.book.steps if kept[code].at(self.us).base not in {"closed", "passed"})

    def _in_hand(
        self, hands: Mapping[UUID, tuple[str | None, Back | None]], looks: Mapping[UUID, Look]
    ) -> Iterator[InHand]:
        for athlete in self.athletes:
            code, back = hands[athlete.id]
            page, standing = (self.book.steps[code], looks[athlete.id].steps[code]) if code else (None, None)
            yield InHand(athlete, page, standing, back, self.stops[athlete.id])

    def _opened(self, kept: Timelines, look: Look) -> Iterator[OpenStep]:
        for code, page in self.book.steps.items():
            change = kept[code].at(self.us)
            if change.base != "closed":
                assistance, variant = look.help.get(page.id, (None, None))
                standing = look.steps.get(code) if change.base != "passed" else None
                yield OpenStep(page, change, standing, assistance, variant)

    def _waiting(self, kept: Timelines) -> Iterator[tuple[StepPage, Awaits]]:
        for code, page in self.book.steps.items():
            if awaits := kept[code].at(self.us).awaits:
                yield page, awaits

    def _no_consent(self, athlete_id: UUID, page: StepPage | None) -> tuple[str, ...]:
        if page is None:
            return ()
        return self.stops[athlete_id].words_at(inverted=self.book.rules.steps[page.code].inverted)


def _notes(gym: Gym, tiles: Iterable[Tile]) -> Mapping[str, str]:
    about = [tile.last.id for tile in tiles if tile.last and tile.last.remark_commitment]
    return remarks_by_commitment(gym, about) if about else {}


def log_of(session: TrainingSession, attempt_ids: Collection[UUID] | None = None) -> list[Attempt]:
    """Return the last attempts of a session, or those of them, the newest first, taken back ones too; one query."""
    rows = Attempt.objects.filter(gym=session.gym_id, session=session).select_related("logged_by__person", "void")
    wanted = rows if attempt_ids is None else rows.filter(pk__in=attempt_ids)
    # Ordered here: asked to order, a database may walk through all of a gym's attempts by their time instead.
    return sorted(wanted, key=lambda row: (row.happened_at, row.pk), reverse=True)[:LOG_LENGTH]


# ---- The day --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FloorSession:
    """A session with the ids of who is present and of who was there the last time, and whether it has a plan."""

    session: TrainingSession
    present: tuple[UUID, ...]
    usual: tuple[UUID, ...]
    is_planned: bool = False


def sessions_of_today(gym: Gym, now: datetime) -> list[FloorSession]:
    """Return the sessions that run and those that started today, the newest first; two queries."""
    rows = TrainingSession.objects.filter(gym=gym).filter(Q(ended_at=None) | Q(starts_at__gte=_midnight(gym, now)))
    return _with_people(rows.order_by("-starts_at", "pk"))


def floor_session(session: TrainingSession) -> FloorSession:
    """Return one session with its people; two queries."""
    return _with_people(TrainingSession.objects.filter(gym=session.gym_id, pk=session.pk))[0]


def _with_people(rows: QuerySet[TrainingSession]) -> list[FloorSession]:
    before = TrainingSession.objects.filter(
        gym=OuterRef("gym"), name=OuterRef("name"), starts_at__lt=OuterRef("starts_at")
    )
    last = Subquery(before.order_by("-starts_at").values("pk")[:1])
    plans = ClassPlan.objects.filter(gym=OuterRef("gym"), session=OuterRef("pk"))
    found = list(rows.select_related("coach__person").annotate(before=last, planned=Exists(plans)))
    wanted = {key for row in found for key in (row.pk, row.before) if key}
    people: dict[UUID | None, tuple[UUID, ...]] = {}
    there = Attendance.objects.filter(session__in=wanted, athlete__person__erased_at=None).order_by("athlete__number")
    for session_id, athlete_id in there.values_list("session", "athlete"):
        people[session_id] = (*people.get(session_id, ()), athlete_id)
    return [FloorSession(row, people.get(row.pk, ()), people.get(row.before, ()), row.planned) for row in found]


def practising_of(gym: Gym, now: datetime) -> list[Athlete]:
    """Return who has not left the gym, by number; one query."""
    mine = Athlete.objects.filter(gym=gym, person__erased_at=None)
    rows = mine.exclude(left_on__lte=now.astimezone(gym.zone).date())
    return list(rows.select_related("person", "gym").order_by("number"))


def steps_of(gym: Gym) -> list[Step]:
    """Return the gym's steps in its order; one query."""
    return list(Step.objects.filter(gym=gym))


def dangerous_faults_of(gym: Gym) -> frozenset[tuple[UUID, str]]:
    """Return the dangerous faults of all steps, as pairs of a step's id and a code; one query."""
    return frozenset(Fault.objects.filter(gym=gym, dangerous=True).values_list("step_id", "code"))


def bar_checks_of_today(gym: Gym, now: datetime) -> list[BarCheck]:
    """Return the low bars that were looked over today, the newest first; one query."""
    rows = BarCheck.objects.filter(gym=gym, happened_at__gte=_midnight(gym, now))
    return list(rows.select_related("checked_by__person").order_by("-happened_at"))


def _midnight(gym: Gym, now: datetime) -> datetime:
    return now.astimezone(gym.zone).replace(hour=0, minute=0, second=0, microsecond=0)
