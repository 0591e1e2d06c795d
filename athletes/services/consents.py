"""Consents: what an athlete, or a guardian for a minor, said. What was said is never changed: the last word holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.access.rules import holds
from athletes.core.consents import who_decides
from athletes.core.refusal import Refusal
from athletes.models import Athlete, Consent, Guardianship, Membership
from athletes.queries.consents import has_consent
from athletes.services.audit import record_act
from athletes.services.links import withdraw_login
from athletes.services.private_links import revoke_links
from gymtrack.lib.ids import new_id

# What stands on a consent and ends when it does, in the transaction of the withdrawal.
_ENDED_BY: Final[Mapping[str, Callable[..., object]]] = {
    Consent.Kind.LINK: revoke_links,
    Consent.Kind.LOGIN: withdraw_login,
}


class NotTheirs(Refusal):
    """Only who decides says it, or a coach who writes down what they said."""


class UnknownKind(Refusal):
    """There is no such consent."""

    field = "kind"


class BadExtent(Refusal):
    """Whether somebody is shown by name, by initials or by number alone is said of the board, and only there."""

    field = "given"


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
    extent: str = "",
    said_at: datetime | None = None,
    consent_id: UUID | None = None,
) -> Consent:
    """Record that consent is given or withdrawn, now or, where a coach writes it down, at a moment before.

    Who decides about it at the athlete's age says it themselves, or a coach who may log writes down what they said.
    `extent` goes with a given consent to be shown on the board: "full_name", "initials" or "number". An entry whose id
    is stored already is given back as it is.
    Raises NotTheirs, UnknownKind, BadExtent, SaidInFuture.
    """
    # Under the lock of an athlete's facts: a try is refused from the very moment of a withdrawal.
    Athlete.objects.select_for_update().only("pk").get(pk=athlete.pk)
    now = timezone.now()
    _check(kind, given, extent, said_at, now)
    if not may_record(by, athlete, kind):
        raise NotTheirs("Who decides about this at the athlete's age says it: a guardian, or the athlete.")
    row_id = consent_id or new_id()
    if before := Consent.objects.filter(gym=by.gym_id, athlete=athlete, pk=row_id).first():
        return before
    row = Consent(id=row_id, gym=by.gym, athlete=athlete, kind=kind, given=given, extent=extent, entered_by=by)
    row.happened_at, row.recorded_at = (said_at if by.is_staff_member else None) or now, now
    row.said_by = who_decides(kind, athlete.standing(row.happened_at.astimezone(by.gym.zone).date()))
    row.save(force_insert=True)
    record_act(gym=by.gym, actor=by, act="consent_recorded", about=row.id, content=_content(row))
    if kind in _ENDED_BY and not has_consent(athlete, kind, now):
        _ENDED_BY[kind](athlete=athlete, by=by)
    return row


def _content(row: Consent) -> dict[str, object]:
    limit = {"extent": row.extent} if row.extent else {}
    said = {"kind": row.kind, "given": row.given, "said_by": row.said_by, "said_at": row.happened_at}
    return {"athlete": row.athlete_id, **said, **limit}


def may_record(member: Membership, athlete: Athlete, kind: str) -> bool:
    """Whether a member may say it, or write it down: staff who may log, else who decides about it at that age."""
    if member.gym_id != athlete.gym_id or member.ended_at:
        return False
    if member.is_staff_member:
        return holds(member, "may_log")
    decides = who_decides(kind, athlete.standing())
    if member.role == Membership.Role.GUARDIAN:
        links = Guardianship.objects.filter(gym=member.gym_id, guardian=member, athlete=athlete, ended_at=None)
        return decides == "guardian" and links.exists()
    return decides == "athlete" and member.athlete_id == athlete.id


def _check(kind: str, given: bool, extent: str, said_at: datetime | None, now: datetime) -> None:  # noqa: FBT001
    if kind not in Consent.Kind.values:
        raise UnknownKind("There is no such consent.")
    if (kind == Consent.Kind.BOARD and given) != (extent in Consent.Extent.values):
        raise BadExtent(
            "Say how far: by full name, by initials or by the number alone; that is asked of the board only."
        )
    if said_at is not None and said_at > now:
        raise SaidInFuture("This moment has not come yet.")
