"""A class that is run by its plan: which rotation it is, who does what now and next, which bars have to be re-set."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import Exists, F

from athletes.models import AuditEntry, AuditHead
from skills.core.rotation.asks import Role
from skills.core.rotation_clock import Clock, Lengths, Mark, clock_at, first_turn_at
from skills.models import ClassPlan, RotationMark, TrainingSession, WorkPlace
from skills.queries.books import Book
from skills.queries.kept_plans import WholePlan, whole_plan_of

# A coach's choice of a step is looked for among so many of the gym's last acts: more than a rotation has.
_ACTS_BACK: Final = 1000


@dataclass(frozen=True, slots=True)
class Doing:
    """What somebody does in a rotation, and where; `hole` where the station's bar is set."""

    step: str
    role: Role
    place: WorkPlace
    hole: int | None


@dataclass(frozen=True, slots=True)
class Reset:
    """A bar that is set from one hole to another as a rotation begins; `before` is None where no hole is known."""

    place: WorkPlace
    before: int | None
    hole: int


@dataclass(frozen=True)
class ClassRun:
    """The plan of a class, where in it the class is at a moment, and its stations by key, retired ones too."""

    whole: WholePlan
    lengths: Lengths
    clock: Clock
    places: Mapping[str, WorkPlace]

    @property
    def shown(self) -> int | None:
        """The rotation to be shown as now: the first one in the warm-up, None once the last one is over."""
        return None if self.clock.is_over else max(0, self.clock.rotation)

    @property
    def people(self) -> frozenset[str]:
        """The keys of everybody whom the last plan knows."""
        return frozenset(self.whole.last.ask.person)

    def doings(self, rotation: int | None) -> Mapping[str, Doing]:
        """Return what everybody with a place does in a rotation, by the person's key; of none, nothing."""
        if rotation is None or not 0 <= rotation < self.lengths.rotations:
            return {}
        ask = self.whole.of(rotation).ask
        return {
            seat.person: Doing(choice.step, choice.role, self.places[seat.station], seat.hole)
            for seat in self.whole.seats(rotation)
            for choice in [ask.choice(seat)]
            if seat.station in self.places
        }

    def resets(self, rotation: int | None) -> tuple[Reset, ...]:
        """Return which bars are set as a rotation begins."""
        return tuple(self._resets(rotation)) if rotation is not None and rotation < self.lengths.rotations else ()

    def _resets(self, rotation: int) -> Iterator[Reset]:
        for key, place in self.places.items():
            before, hole = self.whole.hole_before(rotation, key), self.whole.hole(rotation, key)
            if hole is not None and hole != before and self._is_used(rotation, key):
                yield Reset(place, before, hole)

    def _is_used(self, rotation: int, station: str) -> bool:
        """Whether somebody works there in that rotation or a later one: else nobody need set it."""
        later = range(rotation, self.lengths.rotations)
        return any(seat.station == station for each in later for seat in self.whole.seats(each))


def planned(session: TrainingSession) -> Exists:
    """Return what annotates rows with whether their class has a plan: where it has none, nothing more is read."""
    return Exists(ClassPlan.objects.filter(gym=session.gym_id, session=session.pk))


def run_of(session: TrainingSession, now: datetime) -> ClassRun | None:
    """Return a class as it is run by its plan at a moment, None where it has none; three queries, or one."""
    whole = whole_plan_of(session)
    if whole is None:
        return None
    lengths = _lengths(session, whole)
    rows = RotationMark.objects.filter(gym=session.gym_id, session=session).order_by("recorded_at", "pk")
    marks = [Mark(at, rotation) for at, rotation in rows.values_list("happened_at", "rotation")]
    places = {str(row.id): row for row in WorkPlace.objects.filter(gym=session.gym_id)}
    return ClassRun(whole, lengths, clock_at(lengths, marks, now), places)


def run_now(session: TrainingSession, now: datetime) -> ClassRun | None:
    """Return the same, and None once the class has ended: nobody is anywhere by its plan any more."""
    is_ended = session.ended_at is not None and session.ended_at <= now
    return None if is_ended else run_of(session, now)


def _lengths(session: TrainingSession, whole: WholePlan) -> Lengths:
    first = whole.plans[0].row
    return Lengths(
        first_turn_at(session.starts_at, whole.of(0).row.warm_up_minutes, first.happened_at),
        tuple(whole.of(rotation).row.rotation_minutes for rotation in range(whole.rotations)),
    )


def steps_by_plan(
    book: Book, session: TrainingSession, run: ClassRun | None, chosen: Mapping[UUID, str]
) -> Mapping[UUID, str]:
    """Return the codes of steps that are put into hands: the rotation's, but what a coach chose since it began.

    Who has no place in the rotation keeps what a coach chose before. One query where there is a plan, none else.
    """
    if run is None or run.shown is None:
        return chosen
    by_plan = {UUID(key): doing.step for key, doing in run.doings(run.shown).items() if doing.step in book.steps}
    since = run.clock.since or run.whole.last.row.recorded_at
    fresh = _chosen_since(session, since, chosen.keys()) if by_plan.keys() & chosen.keys() else frozenset()
    return {**chosen, **{key: code for key, code in by_plan.items() if key not in fresh}}


def _chosen_since(session: TrainingSession, since: datetime, among: Collection[UUID]) -> frozenset[UUID]:
    """Return for whom of these a coach chose a step since a moment, as far as the gym's last acts tell."""
    head = AuditHead.objects.filter(gym=session.gym_id).values(last=F("length") - _ACTS_BACK)
    acts = AuditEntry.objects.filter(gym=session.gym_id, position__gt=head, recorded_at__gte=since)
    rows = acts.filter(act="step_chosen", about=session.pk).values_list("content", flat=True)
    return frozenset({UUID(json.loads(content)["athlete"]) for content in rows}.intersection(among))
