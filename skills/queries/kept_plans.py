"""The plans that were made of a class, read as one: each rotation by the last plan that holds for it."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass, replace

from skills.core.rotation.asks import Ask, Plan, Post, Seat
from skills.core.rotation.written import UnreadableError, read_ask, read_plan
from skills.models import ClassPlan, TrainingSession

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan as it was made. `ask` and `plan` count rotations from `row.first_rotation`, which is their rotation 0."""

    row: ClassPlan
    ask: Ask
    plan: Plan

    @property
    def first(self) -> int:
        """The rotation of the class with which it begins."""
        return self.row.first_rotation


@dataclass(frozen=True, slots=True)
class WholePlan:
    """All plans of a class, the oldest first. Rotations are those of the class, numbered from 0."""

    plans: tuple[KeptPlan, ...]

    @property
    def last(self) -> KeptPlan:
        """The plan that was made last, whose limits and words of a coach stand."""
        return self.plans[-1]

    @property
    def rotations(self) -> int:
        """How many rotations the class has."""
        return self.last.row.rotations

    def of(self, rotation: int) -> KeptPlan:
        """Return the plan that holds for a rotation: the last one made of those that had begun by then."""
        return next((kept for kept in reversed(self.plans) if kept.first <= rotation), self.plans[0])

    def seats(self, rotation: int) -> tuple[Seat, ...]:
        """Return who has a place in a rotation; `choice` counts in the ask of `of(rotation)`."""
        kept = self.of(rotation)
        return tuple(
            replace(seat, rotation=rotation) for seat in kept.plan.seats if seat.rotation + kept.first == rotation
        )

    def posts(self, rotation: int) -> tuple[Post, ...]:
        """Return where coaches stand in a rotation."""
        kept = self.of(rotation)
        return tuple(
            replace(post, rotation=rotation) for post in kept.plan.posts if post.rotation + kept.first == rotation
        )

    def hole(self, rotation: int, station: str) -> int | None:
        """Return into which hole a station's bar is set in a rotation, None where nobody uses it before its end."""
        kept = self.of(rotation)
        return kept.plan.holes.get((rotation - kept.first, station))

    def hole_before(self, rotation: int, station: str) -> int | None:
        """Return in which hole a bar stands as a rotation begins, before it is set for it; None where none is known."""
        if rotation and (hole := self.hole(rotation - 1, station)) is not None:
            return hole
        known = self.of(rotation).ask.station.get(station)
        return known.hole if known else None

    def idle(self, rotation: int) -> tuple[str, ...]:
        """Return the keys of those who are there in a rotation and have no place."""
        kept, seated = self.of(rotation), {seat.person for seat in self.seats(rotation)}
        people = kept.ask.people
        return tuple(p.key for p in people if p.present(rotation - kept.first) and p.key not in seated)


def whole_plan_of(session: TrainingSession) -> WholePlan | None:
    """Return the plans of a class, None where none was made; one query."""
    rows = ClassPlan.objects.filter(gym=session.gym_id, session=session).select_related("made_by__person")
    return _whole(rows.order_by("number"))


def _whole(rows: Iterable[ClassPlan]) -> WholePlan | None:
    plans = tuple(kept for row in rows if (kept := _kept(row)))
    return WholePlan(plans) if plans else None


def _kept(row: ClassPlan) -> KeptPlan | None:
    """Return a plan as it was made; None for one of a time when plans were written otherwise."""
    try:
        return KeptPlan(row, read_ask(row.asked), read_plan(row.planned))
    except UnreadableError:
        logger.warning("class plan: one cannot be read any more")
        return None


def last_number_of(session: TrainingSession) -> int:
    """Return the number of the last plan of a class, readable or not, 0 where none was made; one query."""
    rows = ClassPlan.objects.filter(gym=session.gym_id, session=session).order_by("-number")
    return rows.values_list("number", flat=True).first() or 0


def last_shape_of(session: TrainingSession) -> ClassPlan | None:
    """Return the last plan of the session, or of the last one of this name: it has the usual lengths; one query."""
    rows = ClassPlan.objects.filter(gym=session.gym_id, session__name=session.name)
    return rows.filter(session__starts_at__lte=session.starts_at).order_by("-session__starts_at", "-number").first()
