"""Bodies as they were measured last: of each part the latest value, with its day."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Final
from uuid import UUID

from athletes.models import Athlete, BodyMeasure

PARTS: Final = ("stature_m", "mass_kg", "chest_m", "armpit_m", "reach_m")


@dataclass(frozen=True, slots=True)
class Noted:
    """A value and the day on which it was measured."""

    value: Decimal
    on: date

    @property
    def mm(self) -> int:
        """A length in metres as whole millimetres."""
        return int(self.value * 1000)


@dataclass(frozen=True, slots=True)
class BodyNotes:
    """The last value of each part, in metres and kilograms above the floor in bare feet; None for what never was."""

    stature_m: Noted | None = None
    mass_kg: Noted | None = None
    chest_m: Noted | None = None
    armpit_m: Noted | None = None
    reach_m: Noted | None = None


def body_notes(athletes: Collection[Athlete]) -> dict[UUID, BodyNotes]:
    """Return what is noted of each of one gym's athletes; one query. Mass is left out for who is a minor today."""
    found = {athlete.id: BodyNotes() for athlete in athletes}
    minors = {athlete.id for athlete in athletes if athlete.is_minor()}
    gyms = {athlete.gym_id for athlete in athletes}
    rows = BodyMeasure.objects.filter(gym__in=gyms, athlete__in=found).order_by("measured_on", "id")
    for row in rows:
        values = {part: getattr(row, part) for part in PARTS}
        if row.athlete_id in minors:
            del values["mass_kg"]
        noted = {part: Noted(value, row.measured_on) for part, value in values.items() if value is not None}
        found[row.athlete_id] = replace(found[row.athlete_id], **noted)
    return found


def body_notes_of(athlete: Athlete) -> BodyNotes:
    """Return what is noted of one athlete; one query. A minor's mass is left out."""
    return body_notes([athlete])[athlete.id]


@dataclass(frozen=True, slots=True)
class BodyLine:
    """What was measured on one day; a minor's mass is None."""

    on: date
    values: tuple[tuple[str, Decimal], ...]


def body_history(athlete: Athlete) -> list[BodyLine]:
    """Return everything that was noted, the newest first, without the mass of who is a minor today; one query."""
    parts = [part for part in PARTS if part != "mass_kg" or not athlete.is_minor()]
    rows = BodyMeasure.objects.filter(gym=athlete.gym_id, athlete=athlete).order_by("-measured_on", "-id")
    lines = (
        BodyLine(row.measured_on, tuple((p, value) for p in parts if (value := getattr(row, p)) is not None))
        for row in rows
    )
    return [line for line in lines if line.values]
