"""Noting stature and mass. A measure is added, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.core.bodies import PARTS, body_problems
from athletes.core.refusal import Refusal
from athletes.core.roster import MASS_KG, RosterEntry, mass_problem
from athletes.models import Athlete, BodyMeasure, Gym, Membership
from athletes.queries.bodies import body_notes_of
from athletes.services.audit import record_act
from athletes.services.erasure import AlreadyErased
from gymtrack.lib.ids import new_id
from gymtrack.lib.units import IMPERIAL, format_length

Measured = tuple[Athlete, RosterEntry]
Values = tuple[Decimal | None, Decimal | None]  # stature in metres, mass in kilograms


class NothingMeasured(Refusal):
    """A measure has at least one value."""


class MeasuredInFuture(Refusal):
    """Nobody is measured on a day that has not come."""

    field = "measured_on"


class MassOfMinor(Refusal):
    """A minor's mass is not taken: no page would show it, and no figure needs it."""

    field = "mass"


class OutsideRange(Refusal):
    """A value that no body has."""

    def __init__(self, sentence: str, field: str) -> None:
        super().__init__(sentence)
        self.field = field  # type: ignore[misc] # one class for every part of a body


@dataclass(frozen=True, slots=True)
class BodyEntry:
    """What was measured on a day, in metres above the floor in bare feet, and kilograms; None for what was not.

    `id` is made with the form: the same id twice is one measure.
    """

    measured_on: date
    stature_m: Decimal | None = None
    mass_kg: Decimal | None = None
    chest_m: Decimal | None = None
    armpit_m: Decimal | None = None
    reach_m: Decimal | None = None
    id: UUID | None = None


@transaction.atomic
def note_body(*, by: Membership, athlete: Athlete, entry: BodyEntry) -> BodyMeasure:
    """Note what was measured on a day; what was noted before stays. A part is held against the stature, new or known.

    Raises NothingMeasured, MeasuredInFuture, MassOfMinor, OutsideRange, AlreadyErased.
    """
    if entry.id and (before := BodyMeasure.objects.filter(gym=by.gym_id, athlete=athlete, pk=entry.id).first()):
        return before
    athlete.person.refresh_from_db()
    if athlete.person.erased_at:
        raise AlreadyErased("What was kept about this person has been erased meanwhile.")
    values = _values(entry)
    if not values:
        raise NothingMeasured("Nothing was measured: fill in at least one value.")
    if entry.measured_on > timezone.now().astimezone(by.gym.zone).date():
        raise MeasuredInFuture("This day has not come yet.")
    _refuse_mass(athlete, entry.mass_kg)
    _refuse_unlikely(athlete, entry)
    row = BodyMeasure.objects.create(
        id=entry.id or new_id(), gym=by.gym, athlete=athlete, measured_on=entry.measured_on, **values
    )
    content = {"athlete": athlete.id, "parts": sorted(values)}
    record_act(gym=by.gym, actor=by, act="body_measured", about=row.id, content=content)
    return row


def _values(entry: BodyEntry) -> dict[str, Decimal]:
    said: dict[str, Any] = asdict(entry)
    return {part: said[part] for part in _PARTS if said[part] is not None}


_PARTS: Final = ("stature_m", "mass_kg", "chest_m", "armpit_m", "reach_m")


def _refuse_mass(athlete: Athlete, mass_kg: Decimal | None) -> None:
    if mass_kg is None:
        return
    if athlete.is_minor():
        raise MassOfMinor("A minor’s mass is not taken here: nothing that is shown for a minor needs it.")
    if mass_problem(mass_kg):
        raise OutsideRange(f"A mass is between {MASS_KG[0]} and {MASS_KG[1]} kg.", "mass")


def _refuse_unlikely(athlete: Athlete, entry: BodyEntry) -> None:
    known = body_notes_of(athlete).stature_m
    stature_m = known.value if entry.stature_m is None and known else entry.stature_m
    problems = body_problems(
        stature_mm=_mm(stature_m),
        chest_mm=_mm(entry.chest_m),
        armpit_mm=_mm(entry.armpit_m),
        reach_mm=_mm(entry.reach_m),
    )
    for problem in problems:
        least, most = (_said(mm, athlete.gym.units) for mm in (problem.least_mm, problem.most_mm))
        if problem.part == "stature":
            raise OutsideRange(f"A stature is between {least} and {most}.", "stature")
        of = f" of somebody of {format_length(stature_m, athlete.gym.units)}" if stature_m else ""
        raise OutsideRange(f"The {PARTS[problem.part][0]}{of} is between {least} and {most}.", problem.part)


def _mm(metres: Decimal | None) -> int | None:
    return None if metres is None else int(metres * 1000)


def _said(mm: int, units: str) -> str:
    metres = Decimal(mm) / 1000
    return format_length(metres, units) if units == IMPERIAL else f"{metres} m"


def note_measures(gym: Gym, measured: Iterable[Measured]) -> int:
    """Note what the entries give for these athletes, as of the gym's today; return how many measures it made.

    A minor's mass is left out. Part of the caller's transaction.
    """
    today = timezone.now().astimezone(gym.zone).date()
    taken = ((athlete, _taken(gym, athlete, entry)) for athlete, entry in measured)
    measures = [
        BodyMeasure(gym=gym, athlete=athlete, measured_on=today, stature_m=entry.stature_m, mass_kg=entry.mass_kg)
        for athlete, entry in taken
        if entry.stature_m is not None or entry.mass_kg is not None
    ]
    return len(BodyMeasure.objects.bulk_create(measures))


def _taken(gym: Gym, athlete: Athlete, entry: RosterEntry) -> RosterEntry:
    """Return what is taken of an entry: of a minor no mass, which no page would show."""
    if entry.mass_kg is None:
        return entry
    today = timezone.now().astimezone(gym.zone).date()
    minor = athlete.person.is_minor(today, adult_age_years=gym.adult_age_years)
    return replace(entry, mass_kg=None) if minor else entry


def never_noted(gym: Gym, measured: Sequence[Measured]) -> list[Measured]:
    """Return those with a value that no earlier measure has: a file may be older than the last measure."""
    noted = _noted(gym, [athlete.id for athlete, _ in measured])
    return [(a, entry) for a, entry in measured if not _among(noted.get(a.id, []), _taken(gym, a, entry))]


def differs_from_last(athlete: Athlete, entry: RosterEntry) -> bool:
    """Whether the entry gives a value other than the last one that was noted."""
    return not _among([last_values(athlete)], _taken(athlete.gym, athlete, entry))


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
