"""Taking an act: once whatever the number of calls, and with a sentence for every refusal."""

from __future__ import annotations

import logging
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.access.tablets import FloorRefusal, holder_of
from athletes.core.refusal import Refusal
from athletes.models import HandOver, Tablet
from skills.core.days import moment_of, moment_us
from skills.core.device_times import EnvelopeClocks, happened_at
from skills.core.entries import Mistake, mistakes_in_moment
from skills.models import FloorAct
from skills.services.attempts import (
    AlreadyVoidError,
    AttemptRefusedError,
    IdTakenError,
    NoRightError,
    NotThereError,
)
from skills.services.class_runs import MarkIdTakenError, NoSuchRotationError, NotPlannedError
from skills.services.floor.acts import Act, ActRefusedError, Call, Refused, Stored
from skills.services.floor.kinds import KINDS
from skills.services.sessions import BarNameMissingError, SessionEndedError, StepClosedError

logger = logging.getLogger(__name__)

TAKEN = Refused("taken", "This id was used before for something else; nothing was changed.")
TROUBLE = Refused("trouble", "The server could not store this now; it is tried again.")


def take_act(*, tablet: Tablet, act: Act, envelope: EnvelopeClocks, received_at: datetime) -> Stored | Refused:
    """Carry out an act in a transaction of its own, or say why not; the same act again gives the same answer.

    Raises nothing: one act that goes wrong must not hold up those that were sent with it.
    """
    try:
        return _known(tablet, act) or _new(tablet, act, envelope, received_at)
    except Exception:
        logger.exception("Act %s of kind %s by tablet %s could not be stored.", act.id, act.kind, tablet.id)
        return TROUBLE


def _known(tablet: Tablet, act: Act) -> Stored | Refused | None:
    """Return the answer to an act whose id is used, else None."""
    row = FloorAct.objects.filter(pk=act.id).first()
    if row is None:
        return None
    if (row.gym_id, row.digest) != (tablet.gym_id, act.digest):
        return TAKEN
    return Stored(row, held=_is_held(tablet, act.coach_id))


def _is_held(tablet: Tablet, coach_id: UUID) -> bool:
    try:
        holder_of(tablet, coach_id, timezone.now())
    except FloorRefusal:
        return False
    return True


def _new(tablet: Tablet, act: Act, envelope: EnvelopeClocks, received_at: datetime) -> Stored | Refused:
    try:
        return Stored(_store(tablet, act, envelope, received_at), held=True)
    except IntegrityError as error:
        # It was stored in this very instant, or its id is that of something that no tablet sent.
        if known := _known(tablet, act):
            return known
        if _is_of_two(error):
            return TAKEN
        raise
    except FloorRefusal as refusal:
        return Refused(refusal.code, str(refusal))
    except Exception as error:
        if refused := _refused(error):
            return refused
        raise


def _is_of_two(error: IntegrityError) -> bool:
    """Whether two rows would have been one; anything else that the database refuses is no fault of the id."""
    return (
        "unique" in str(error).lower()
    )  # both engines say so: "UNIQUE constraint failed", "violates unique constraint"


def _store(tablet: Tablet, act: Act, envelope: EnvelopeClocks, received_at: datetime) -> FloorAct:
    now = timezone.now()
    coach, hand_over = holder_of(tablet, act.coach_id, now)
    us, offset_ms = happened_at(act.clocks, envelope, moment_us(received_at))
    if mistakes := mistakes_in_moment(us, moment_us(now)):
        raise ActRefusedError("mistakes", *mistakes)
    with transaction.atomic():
        # The row first: of two equal calls at one instant the second one waits here, and finds it taken.
        row = _write(act, hand_over, happened_at=moment_of(us), offset_ms=offset_ms)
        KINDS[act.kind](Call(coach, act.id, act.body, row.happened_at, now))
    return row


def _write(act: Act, hand_over: HandOver, *, happened_at: datetime, offset_ms: int) -> FloorAct:
    row = FloorAct(
        id=act.id,
        gym_id=hand_over.gym_id,
        hand_over=hand_over,
        kind=act.kind,
        digest=act.digest,
        device_at=act.device_at,
        offset_ms=offset_ms,
        happened_at=happened_at,
    )
    row.save(force_insert=True)
    return row


# The nearest kind first: some of these errors are kinds of others.
_CODES: Final[tuple[tuple[type[AttemptRefusedError], str], ...]] = (
    (NotThereError, "gone"),
    (NoRightError, "right"),
    (AttemptRefusedError, "mistakes"),
)
_FIELDS: Final[tuple[tuple[type[Exception], str], ...]] = (
    (AlreadyVoidError, "attempt"),
    (SessionEndedError, "session"),
    (StepClosedError, "step"),
    (BarNameMissingError, "bar"),
    (NotPlannedError, "session"),
    (NoSuchRotationError, "rotation"),
    (MarkIdTakenError, "rotation"),
)


def _refused(error: Exception) -> Refused | None:
    """Return what a service's refusal says to a tablet; None for what is no refusal."""
    if isinstance(error, IdTakenError):
        return TAKEN
    if isinstance(error, ActRefusedError):
        return Refused(error.code, str(error), error.mistakes)
    if isinstance(error, AttemptRefusedError):
        code = next(code for kind, code in _CODES if isinstance(error, kind))
        return Refused(code, str(error), error.mistakes)
    if isinstance(error, Refusal):
        return Refused("mistakes", str(error), (Mistake(error.field or "body", str(error)),))
    field = next((field for kind, field in _FIELDS if isinstance(error, kind)), None)
    return Refused("mistakes", str(error), (Mistake(field, str(error)),)) if field else None
