"""The only ways to fetch a person's record: each one asks who is looking."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from athletes.models import Athlete, Membership


def athletes_in_sight(member: Membership) -> QuerySet[Athlete]:
    """Return the athletes whose records the member may see.

    Staff see all of the gym's, an athlete sees themselves, a guardian their wards.
    """
    mine = Athlete.objects.filter(gym=member.gym_id).select_related("person", "gym")
    if member.is_staff_member:
        return mine
    if member.role == Membership.Role.GUARDIAN:
        return mine.filter(guardianships__guardian=member, guardianships__ended_at=None)
    return mine.filter(pk=member.athlete_id) if member.athlete_id else mine.none()


def access_athlete(member: Membership, athlete_id: UUID) -> Athlete:
    """Return that athlete if the member may see the record; Http404 otherwise, so that nothing is learned."""
    athlete = athletes_in_sight(member).filter(pk=athlete_id).first()
    if athlete is None:
        raise Http404
    return athlete


def practising_athletes(member: Membership, now: datetime) -> QuerySet[Athlete]:
    """Return the athletes in sight who have not left, in the order of their numbers."""
    today = now.astimezone(member.gym.zone).date()
    return athletes_in_sight(member).exclude(left_on__lte=today).order_by("number")
