"""Cautions: what an athlete may not do for now. The reason stands apart from the fact."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.core.roster import NOTES_LENGTH
from athletes.models import Athlete, Caution, CautionLift, Load, Membership
from athletes.services.audit import record_act
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id


class NoLoads(Refusal):
    """A caution must forbid something that there is."""

    field = "loads"


class EndsBeforeItBegins(Refusal):
    """A caution's end must come after its beginning."""

    field = "until_at"


class ReasonTooLong(Refusal):
    """A reason is a few lines."""

    field = "reason"


class AlreadyLifted(Refusal):
    """A caution is lifted once."""


@transaction.atomic
def enter_caution(
    *,
    by: Membership,
    athlete: Athlete,
    loads: Collection[str],
    from_at: datetime,
    until_at: datetime | None,
    reason: str,
    caution_id: UUID | None = None,
) -> Caution:
    """Enter that an athlete may not do these loads, until a moment or until the caution is lifted.

    Raises NoLoads, EndsBeforeItBegins, ReasonTooLong.
    """
    _check_caution(loads, from_at, until_at, reason)
    caution = Caution(id=caution_id or new_id(), gym=by.gym, athlete=athlete, loads=sorted(set(loads)), entered_by=by)
    caution.happened_at, caution.until_at = from_at, until_at
    caution.remark_commitment = keep_remark(gym=by.gym, subject=athlete.person, about=caution.id, text=reason)
    caution.save(force_insert=True)
    content = {"athlete": athlete.id, "loads": caution.loads, "from_at": from_at, "until_at": until_at or ""}
    record_act(gym=by.gym, actor=by, act="caution_entered", about=caution.id, content=content)
    return caution


@transaction.atomic
def lift_caution(*, by: Membership, caution: Caution) -> CautionLift:
    """Lift a caution from now on. Raises AlreadyLifted."""
    if CautionLift.objects.filter(gym=by.gym, caution=caution).exists():
        raise AlreadyLifted("This caution was lifted already.")
    lift = CautionLift.objects.create(gym=by.gym, caution=caution, lifted_by=by, happened_at=timezone.now())
    content = {"athlete": caution.athlete_id, "caution": caution.id}
    record_act(gym=by.gym, actor=by, act="caution_lifted", about=lift.id, content=content)
    return lift


def _check_caution(loads: Collection[str], from_at: datetime, until_at: datetime | None, reason: str) -> None:
    if not loads:
        raise NoLoads("Say what the athlete may not do.")
    if unknown := set(loads).difference(Load.values):
        raise NoLoads(f"There is no such load: {', '.join(sorted(unknown))}.")
    if until_at is not None and until_at <= from_at:
        raise EndsBeforeItBegins("The caution would end before it begins.")
    if len(reason.strip()) > NOTES_LENGTH:
        raise ReasonTooLong(f"The reason has {len(reason.strip())} characters; {NOTES_LENGTH} is the most.")
