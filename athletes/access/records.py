"""The only ways to fetch a person's record: each one asks who is looking."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.utils import timezone

from athletes.core.people import last_birth_on_of
from athletes.models import Athlete, Guardianship, Gym, Membership


def athletes_in_sight(member: Membership) -> QuerySet[Athlete]:
    """Return the athletes whose records the member may see.

    Staff see all of the gym's, an athlete sees themselves, a guardian their wards until these come of age. Who was
    erased is seen by nobody: they only count.
    """
    mine = Athlete.objects.filter(gym=member.gym_id, person__erased_at=None).select_related("person", "gym")
    if member.is_staff_member:
        return mine
    if member.role == Membership.Role.GUARDIAN:
        wards = mine.filter(guardianships__guardian=member, guardianships__ended_at=None)
        return wards.filter(_is_minor(member.gym))
    return mine.filter(pk=member.athlete_id) if member.athlete_id else mine.none()


def access_athlete(member: Membership, athlete_id: UUID) -> Athlete:
    """Return that athlete if the member may see the record; Http404 otherwise, so that nothing is learned."""
    athlete = athletes_in_sight(member).filter(pk=athlete_id).first()
    if athlete is None:
        raise Http404
    return athlete


def access_guardianship(member: Membership, athlete_id: UUID, guardianship_id: UUID) -> Guardianship:
    """Return that link to the athlete, ended or not, if the member is staff of the gym; Http404 otherwise."""
    links = Guardianship.objects.filter(gym=member.gym_id, athlete=athlete_id, pk=guardianship_id)
    found = links.select_related("guardian__person", "athlete__person", "athlete__gym").first()
    if found is None or not member.is_staff_member:
        raise Http404
    return found


def practising_athletes(member: Membership, now: datetime) -> QuerySet[Athlete]:
    """Return the athletes in sight who have not left, in the order of their numbers."""
    today = now.astimezone(member.gym.zone).date()
    return athletes_in_sight(member).exclude(left_on__lte=today).order_by("number")


def _is_minor(gym: Gym) -> Q:
    """Say in SQL what `Athlete.is_minor` says: under age today; an unknown birth date counts as a minor's."""
    today = timezone.now().astimezone(gym.zone).date()
    return Q(person__birth_on=None) | Q(person__birth_on__gt=last_birth_on_of(gym.adult_age_years, today))
