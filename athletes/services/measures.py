"""Noting stature and mass. A measure is added, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from athletes.core.roster import RosterEntry
from athletes.models import Athlete, BodyMeasure, Gym

Measured = tuple[Athlete, RosterEntry]
Values = tuple[Decimal | None, Decimal | None]  # stature in metres, mass in kilograms


def note_measures(gym: Gym, measured: Iterable[Measured]) -> int:
    """Note what the entries give for these athletes, as of the gym's today; return how many measures it made.

    Part of the caller's transaction.
    """
    today = timezone.now().astimezone(gym.zone).date()
    measures = [
        BodyMeasure(gym=gym, athlete=athlete, measured_on=today, stature_m=entry.stature_m, mass_kg=entry.mass_kg)
        for athlete, entry in measured
        if entry.stature_m is not None or entry.mass_kg is not None
    ]
    return len(BodyMeasure.objects.bulk_create(measures))


def never_noted(gym: Gym, measured: Sequence[Measured]) -> list[Measured]:
    """Return those with a value that no earlier measure has: a file may be older than the last measure."""
    noted = _noted(gym, [athlete.id for athlete, _ in measured])
    return [(a, entry) for a, entry in measured if not _among(noted.get(a.id, []), entry)]


def differs_from_last(athlete: Athlete, entry: RosterEntry) -> bool:
    """Whether the entry gives a value other than the last one that was noted."""
    return not _among([last_values(athlete)], entry)


def last_values(athlete: Athlete) -> Values:
    """Return the stature and the mass that were noted last, each None where none was."""
    stature_m: Decimal | None = None
    mass_kg: Decimal | None = None
    for measure in athlete.measures.order_by("measured_on", "id"):
        stature_m = stature_m if measure.stature_m is None else measure.stature_m
        mass_kg = mass_kg if measure.mass_kg is None else measure.mass_kg
    return stature_m, mass_kg


def _noted(gym: Gym, athlete_ids: Sequence[UUID]) -> dict[UUID, list[Values]]:
    found: dict[UUID, list[Values]] = {}
    measures = BodyMeasure.objects.filter(gym=gym, athlete__in=athlete_ids)
    for athlete_id, stature_m, mass_kg in measures.values_list("athlete", "stature_m", "mass_kg"):
        found.setdefault(athlete_id, []).append((stature_m, mass_kg))
    return found


def _among(noted: Sequence[Values], entry: RosterEntry) -> bool:
    statures, masses = {stature for stature, _ in noted}, {mass for _, mass in noted}
    return (entry.stature_m is None or entry.stature_m in statures) and (
        entry.mass_kg is None or entry.mass_kg in masses
    )
