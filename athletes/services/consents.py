"""Consents: what an athlete, or a guardian for a minor, said. What was said is never changed: the last word holds."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.access.rules import holds
from athletes.core.consents import who_decides
from athletes.core.refusal import Refusal
from athletes.models import Athlete, Consent, Guardianship, Membership
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id


class NotTheirs(Refusal):
    """Only who decides says it, or a coach who writes down what they said."""


class UnknownKind(Refusal):
    """There is no such consent."""

    field = "kind"


class SaidInFuture(Refusal):
    """Nobody has said yet what they will say."""

    field = "said_at"


@transaction.atomic
def record_consent(
    *,
    by: Membership,
    athlete: Athlete,
    kind: str,
    given: bool,
    said_at: datetime | None = None,
    consent_id: UUID | None = None,
) -> Consent:
    """Record that consent is given or withdrawn, now or, where a coach writes it down, at a moment before.

    A guardian decides for a minor, an adult for themselves: they say it themselves, or a coach who may log writes down
    what they said. An entry whose id is stored already is given back as it is.
    Raises NotTheirs, UnknownKind, SaidInFuture.
    """
    if not may_record(by, athlete):
        raise NotTheirs("Consent for a minor is a guardian's to give, and an adult's own.")
    now = timezone.now()
    _check(kind, said_at, now)
    row_id = consent_id or new_id()
    if before := Consent.objects.filter(gym=by.gym_id, athlete=athlete, pk=row_id).first():
        return before
    row = Consent(id=row_id, gym=by.gym, athlete=athlete, kind=kind, given=given, entered_by=by, recorded_at=now)
    row.said_by = who_decides(kind, athlete.standing())
    row.happened_at = (said_at if by.is_staff_member else None) or now
    row.save(force_insert=True)
    content = {"athlete": athlete.id, "kind": kind, "given": given, "said_by": row.said_by, "said_at": row.happened_at}
    record_act(gym=by.gym, actor=by, act="consent_recorded", about=row.id, content=content)
    return row


def may_record(member: Membership, athlete: Athlete) -> bool:
    """Whether a member may say it, or write it down: staff who may log, an adult athlete, the guardian of a minor."""
    if member.gym_id != athlete.gym_id or member.ended_at:
        return False
    if member.is_staff_member:
        return holds(member, "may_log")
    if member.role == Membership.Role.GUARDIAN:
        links = Guardianship.objects.filter(gym=member.gym_id, guardian=member, athlete=athlete, ended_at=None)
        return athlete.is_minor() and links.exists()
    return member.athlete_id == athlete.id and not athlete.is_minor()


def _check(kind: str, said_at: datetime | None, now: datetime) -> None:
    if kind not in Consent.Kind.values:
        raise UnknownKind("There is no such consent.")
    if said_at is not None and said_at > now:
        raise SaidInFuture("This moment has not come yet.")
