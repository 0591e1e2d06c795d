"""Running a class by its plan: a coach's tap begins a rotation now."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Membership
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id
from skills.models import RotationMark, TrainingSession
from skills.queries.class_runs import run_of
from skills.services.sessions import SessionEndedError, lock_session


class NotPlannedError(ValueError):
    """The class has no plan."""

    def __init__(self) -> None:
        super().__init__("This class has no plan: plan it first.")


class NoSuchRotationError(ValueError):
    """The plan has no such rotation."""

    def __init__(self, rotations: int) -> None:
        super().__init__(f"The plan has {rotations} rotation{'' if rotations == 1 else 's'}: choose one of these.")


class MarkIdTakenError(ValueError):
    """The id belongs to a mark of another rotation or class."""

    def __init__(self) -> None:
        super().__init__("Another rotation was begun with this touch: look at the clock, and touch again.")


def mark_rotation(
    *,
    by: Membership,
    session: TrainingSession,
    rotation: int,
    happened_at: datetime | None = None,
    mark_id: UUID | None = None,
) -> RotationMark:
    """Begin a rotation (numbered from 0; their number ends the last one), now unless a moment is given.

    The same id twice is one mark. Raises NotPlannedError, NoSuchRotationError, SessionEndedError, MarkIdTakenError.
    """
    with transaction.atomic():
        ended_at = lock_session(session.id).ended_at
        if mark_id and (before := RotationMark.objects.filter(pk=mark_id).first()):
            return _same(before, session, rotation)
        at = happened_at or timezone.now()
        if ended_at and (happened_at is None or at > ended_at):
            raise SessionEndedError
        mark = RotationMark.objects.create(
            id=mark_id or new_id(),
            gym_id=session.gym_id,
            session=session,
            rotation=rotation,
            skipped=_is_cut_short(session, rotation, at),
            happened_at=at,
            marked_by=by,
        )
        content = {"rotation": rotation, "skipped": mark.skipped}
        record_act(gym=by.gym, actor=by, act="rotation_marked", about=session.id, content=content)
    return mark


def _same(before: RotationMark, session: TrainingSession, rotation: int) -> RotationMark:
    if (before.session_id, before.rotation) != (session.id, rotation):
        raise MarkIdTakenError
    return before


def _is_cut_short(session: TrainingSession, rotation: int, at: datetime) -> bool:
    """Return whether the mark ends a rotation before its time. Raises NotPlannedError, NoSuchRotationError."""
    run = run_of(session, at)
    if run is None:
        raise NotPlannedError
    if not 0 <= rotation <= run.lengths.rotations:
        raise NoSuchRotationError(run.lengths.rotations)
    running = run.clock.running
    return running is not None and rotation > running
