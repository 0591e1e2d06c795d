"""Staff and keys of a gym, as its owner sees them."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from athletes.models import ApiToken, Membership

Role = Membership.Role


def staff_in_sight(member: Membership) -> QuerySet[Membership]:
    """Return the gym's owners and coaches who have not left, owners first; none for who is no owner."""
    if not member.is_owner:
        return Membership.objects.none()
    staff = Membership.objects.filter(gym=member.gym_id, role__in=(Role.OWNER, Role.COACH), ended_at=None)
    return staff.select_related("person", "account").order_by("-role", "started_at")


def access_staff(member: Membership, membership_id: UUID) -> Membership:
    """Return that owner or coach if the member may see them; Http404 otherwise."""
    found = staff_in_sight(member).filter(pk=membership_id).first()
    if found is None:
        raise Http404
    return found


def tokens_in_sight(member: Membership) -> QuerySet[ApiToken]:
    """Return the gym's keys, those in use first; none for who is no owner."""
    if not member.is_owner:
        return ApiToken.objects.none()
    tokens = ApiToken.objects.filter(gym=member.gym_id).select_related("membership__person")
    return tokens.order_by("-revoked_at", "-made_at")


def access_token(member: Membership, token_id: UUID) -> ApiToken:
    """Return that key if the member may see it; Http404 otherwise."""
    found = tokens_in_sight(member).filter(pk=token_id).first()
    if found is None:
        raise Http404
    return found
