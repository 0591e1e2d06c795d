"""Invitations that wait, and which of them somebody may renew or take back."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from athletes.access.rules import holds
from athletes.models import Athlete, Invitation, Membership

Role = Membership.Role


def staff_invited(member: Membership) -> QuerySet[Invitation]:
    """Return the coaches' and owners' invitations that wait or ran out, the newest first; none for who is no owner."""
    if not member.is_owner:
        return Invitation.objects.none()
    return _waiting(member).filter(role__in=(Role.OWNER, Role.COACH))


def invited_for(member: Membership, athlete: Athlete) -> QuerySet[Invitation]:
    """Return the invitations to an athlete's log-in and of guardians that wait or ran out, the newest first.

    None for who may not log.
    """
    if not holds(member, "may_log"):
        return Invitation.objects.none()
    return _waiting(member).filter(athlete=athlete)


def access_invitation(member: Membership, invitation_id: UUID) -> Invitation:
    """Return that invitation, also one that was used or taken back, if the member may act on it; Http404 otherwise."""
    mine = Invitation.objects.filter(gym=member.gym_id, pk=invitation_id)
    if not member.is_owner:
        mine = mine.filter(role__in=(Role.ATHLETE, Role.GUARDIAN))
    found = mine.select_related("person", "athlete__person", "athlete__gym", "gym").first()
    if found is None or not holds(member, "may_log"):
        raise Http404
    return found


def _waiting(member: Membership) -> QuerySet[Invitation]:
    waiting = Invitation.objects.filter(gym=member.gym_id, used_at=None, revoked_at=None)
    return waiting.select_related("person", "athlete").order_by("-made_at")
