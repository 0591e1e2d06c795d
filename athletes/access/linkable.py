"""Whose private links somebody may make and take back."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import Http404

from athletes.access.records import access_athlete
from athletes.access.rules import holds
from athletes.models import Athlete, Membership, PrivateLink


def access_linked(member: Membership, athlete_id: UUID) -> Athlete:
    """Return the athlete to whose page the member may keep links; PermissionDenied for staff who may not log.

    Http404 for who is out of sight.
    """
    athlete = access_athlete(member, athlete_id)
    if member.is_staff_member and not holds(member, "may_log"):
        raise PermissionDenied
    return athlete


def access_link(member: Membership, link_id: UUID) -> PrivateLink:
    """Return that link if the member may take it back; Http404 or PermissionDenied as in `access_linked`."""
    link = PrivateLink.objects.filter(gym=member.gym_id, pk=link_id).first()
    if link is None:
        raise Http404
    access_linked(member, link.athlete_id)
    return link
