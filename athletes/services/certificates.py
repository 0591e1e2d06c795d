"""Entering the certificates of the staff. An entry is never changed: a newer one takes its place."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import Certificate, Membership
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id


class UnknownKind(Refusal):
    """There is no such kind of certificate."""

    field = "kind"


class EndsBeforeItBegins(Refusal):
    """A certificate's last day does not come before its first."""

    field = "valid_until"


class NotOnStaff(Refusal):
    """Certificates are those of coaches and owners who belong to the gym."""


@transaction.atomic
def enter_certificate(
    *,
    by: Membership,
    membership: Membership,
    kind: str,
    valid_from: date,
    valid_until: date | None,
    certificate_id: UUID | None = None,
) -> Certificate:
    """Enter a certificate, good from a day through its last one, or without end.

    An entry whose id is stored already is given back as it is. Raises UnknownKind, EndsBeforeItBegins, NotOnStaff.
    """
    _check(by, membership, kind, valid_from, valid_until)
    row_id = certificate_id or new_id()
    if before := Certificate.objects.filter(gym=by.gym_id, membership=membership, pk=row_id).first():
        return before
    row = Certificate(id=row_id, gym=by.gym, membership=membership, kind=kind, entered_by=by)
    row.valid_from, row.valid_until = valid_from, valid_until
    row.happened_at = row.recorded_at = timezone.now()
    row.save(force_insert=True)
    days = {"valid_from": valid_from.isoformat(), "valid_until": valid_until.isoformat() if valid_until else ""}
    content = {"membership": membership.id, "kind": kind, **days}
    record_act(gym=by.gym, actor=by, act="certificate_entered", about=row.id, content=content)
    return row


def _check(by: Membership, membership: Membership, kind: str, valid_from: date, valid_until: date | None) -> None:
    if membership.gym_id != by.gym_id or membership.ended_at or not membership.is_staff_member:
        raise NotOnStaff("This person does not belong to the staff, or not any more.")
    if kind not in Certificate.Kind.values:
        raise UnknownKind("There is no such kind of certificate.")
    if valid_until is not None and valid_until < valid_from:
        raise EndsBeforeItBegins("The last day comes before the first.")
