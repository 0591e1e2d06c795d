"""The stations of the demo gym, and the plan of the class that runs today. All of it invented.

Stations and plan have ids of their own making, so that nothing else in the gym depends on how many there are.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from random import Random
from typing import Final, NamedTuple
from uuid import UUID

from athletes.models import Gym
from skills.core.class_shape import Shape, Words
from skills.core.days import moment_us
from skills.core.rotation.written import written_ask, written_plan
from skills.demo.people import People, opened_at
from skills.demo.seeded import row_id
from skills.demo.simulation import DemoGym
from skills.models import Bar, ClassPlan, TrainingSession, WorkPlace
from skills.queries.class_asks import class_ask
from skills.services.planning import planned

SHAPE: Final = Shape(minutes=60, warm_up_minutes=12, rotation_minutes=12, coaches=2)
_MADE_AFTER: Final = timedelta(minutes=4)


class _Station(NamedTuple):
    name: str
    kind: str
    capacity: int
    bar: str = ""
    spot_from: str = ""


_STATIONS: Final = (
    _Station("high bar 1", "high_bar", 2, "high bar 1", "on the box, left of the bar"),
    _Station("high bar 2", "high_bar", 2, "high bar 2", "in front, hand at the back"),
    _Station("low bar", "low_bar", 2, "low bar by the window", "at the side away from the window"),
    _Station("rings", "rings", 3, "", "behind, one hand at the hips"),
    _Station("floor", "floor", 6),
    _Station("box", "box", 2),
)


def put_stations(gym: Gym, played: DemoGym) -> None:
    """Describe the stations; the bars are there already."""
    rng = Random(f"stations {played.seed} {played.until}")
    bars: Mapping[str, Bar] = {bar.name: bar for bar in Bar.objects.filter(gym=gym)}
    WorkPlace.objects.bulk_create(
        WorkPlace(
            id=UUID(str(row_id(rng, moment_us(opened_at(played))))),
            gym=gym,
            name=said.name,
            position=position,
            kind=said.kind,
            capacity=said.capacity,
            bar=bars[said.bar] if said.bar else None,
            spot_from=said.spot_from,
        )
        for position, said in enumerate(_STATIONS)
    )


def put_plan(people: People, played: DemoGym) -> None:
    """Plan today's class a few minutes after it began, as its coach would."""
    rng = Random(f"plan {played.seed} {played.until}")
    session = TrainingSession.objects.select_related("gym", "focus").get(pk=UUID(played.running.id))
    made_at = session.starts_at + _MADE_AFTER
    ask = class_ask(session, SHAPE, Words(), made_at).ask
    ClassPlan.objects.create(
        id=UUID(str(row_id(rng, moment_us(made_at)))),
        gym=session.gym,
        session=session,
        number=1,
        rotations=SHAPE.rotations,
        rotation_minutes=SHAPE.rotation_minutes,
        warm_up_minutes=SHAPE.warm_up_minutes,
        reset_minutes=SHAPE.reset_minutes,
        asked=written_ask(ask),
        planned=written_plan(planned(ask)),
        made_by=people.staff[played.running.coach.key],
        happened_at=made_at,
        recorded_at=made_at,
    )
