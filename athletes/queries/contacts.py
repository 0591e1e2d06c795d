"""Whom to call for an athlete."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from uuid import UUID

from athletes.core.phones import phone_address
from athletes.models import Athlete, EmergencyContact


@dataclass(frozen=True, slots=True)
class ContactLine:
    """Somebody to call: `dial` is the address that a telephone takes."""

    id: UUID
    name: str
    relation: str
    phone: str
    dial: str


def contacts_of(athlete: Athlete) -> list[ContactLine]:
    """Return whom to call for an athlete, in the order in which they were entered; one query."""
    rows = EmergencyContact.objects.filter(gym=athlete.gym_id, athlete=athlete).order_by("pk")
    return [ContactLine(row.id, row.name, row.relation, row.phone, phone_address(row.phone)) for row in rows]


def contact_counts(athlete_ids: Collection[UUID]) -> Mapping[UUID, int]:
    """Return how many there are to call for each athlete; one query."""
    found = dict.fromkeys(athlete_ids, 0)
    for key in EmergencyContact.objects.filter(athlete__in=athlete_ids).values_list("athlete", flat=True):
        found[key] += 1
    return found
