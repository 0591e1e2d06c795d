"""What the plans of classes say about one athlete, and nothing of anybody else in them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from operator import or_
from typing import Any
from uuid import UUID

from django.db.models import Q

from athletes.models import Gym
from skills.core.rotation.asks import Ask, Choice, Plan
from skills.core.rotation.written import read_ask, read_plan
from skills.models import ClassPlan, TrainingSession, WorkPlace


@dataclass(frozen=True, slots=True)
class PlanAbout:
    """One plan as far as it is about somebody; rotations are those of the class, numbered from 1.

    `might_do` and `places` are as a spreadsheet or a program reads them; `kept_apart` from how many others.
    """

    id: UUID
    session: TrainingSession
    happened_at: datetime
    number: int
    might_do: list[dict[str, Any]]
    places: list[dict[str, Any]]
    asked_for: list[dict[str, Any]]
    kept_apart: int


def plans_about(gym: Gym, athlete_ids: Collection[UUID], batch: int) -> Iterator[PlanAbout]:
    """Yield every plan of a class in which one of these athletes was to be, the oldest first."""
    if not athlete_ids:
        return
    named = reduce(or_, (Q(asked__contains=str(each)) for each in athlete_ids))
    rows = ClassPlan.objects.filter(named, gym=gym).select_related("session").order_by("happened_at", "pk")
    stations = {str(key): name for key, name in WorkPlace.objects.filter(gym=gym).values_list("pk", "name")}
    for row in rows.iterator(batch):
        ask, plan = read_ask(row.asked), read_plan(row.planned)
        for key in sorted({str(each) for each in athlete_ids} & ask.person.keys()):
            yield _about(row, ask, plan, key, stations)


def _about(row: ClassPlan, ask: Ask, plan: Plan, key: str, stations: Mapping[str, str]) -> PlanAbout:
    first = row.first_rotation + 1
    return PlanAbout(
        row.pk,
        row.session,
        row.happened_at,
        row.number,
        [_choice(choice, stations) for choice in ask.person[key].choices],
        [
            {
                "rotation": seat.rotation + first,
                "step": ask.choice(seat).step,
                "station": stations.get(seat.station, seat.station),
                "hole": seat.hole,
            }
            for seat in plan.seats
            if seat.person == key
        ],
        [
            {"rotation": pin.rotation + first, "station": stations.get(pin.station, pin.station)}
            for pin in ask.pins
            if pin.person == key
        ],
        sum(key in {pair.one, pair.other} for pair in ask.apart),
    )


def _choice(choice: Choice, stations: Mapping[str, str]) -> dict[str, Any]:
    places = [stations.get(place.station, place.station) for place in choice.places]
    return {"step": choice.step, "as": choice.role, "stations": sorted({*places}), "spotters": choice.spotters}
