"""Whom somebody may ask to have erased, and whom they may erase."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404

from athletes.access.records import access_athlete
from athletes.models import Membership, Person


def access_ward(guardian: Membership, athlete_id: UUID) -> Person:
    """Return the person of a guardian's ward; Http404 for anybody else."""
    return access_athlete(guardian, athlete_id).person


def access_person(owner: Membership, person_id: UUID) -> Person:
    """Return anybody whom the owner's gym knows and who has not been erased; Http404 otherwise."""
    found = Person.objects.filter(gym=owner.gym_id, pk=person_id, erased_at=None).select_related("athlete").first()
    if found is None or not owner.is_owner:
        raise Http404
    return found
