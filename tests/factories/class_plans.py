"""A class with stations, as most halls have them, and what an athlete needs to have a place at each."""

from datetime import date

from django.utils import timezone

from athletes.models import Athlete, BodyMeasure, Gym, Membership
from skills.core.class_shape import Shape, Words
from skills.core.rotation.simple import first_come
from skills.core.rotation.written import written_ask, written_plan
from skills.models import ClassPlan, TrainingSession, WorkPlace
from skills.queries.class_asks import class_ask
from skills.queries.kept_plans import WholePlan, whole_plan_of
from tests.factories.bars import make_high_bar, make_low_bar

# Two rotations of a quarter of an hour after ten minutes of warm-up.
SHORT = Shape(minutes=40, warm_up_minutes=10, rotation_minutes=15)


def make_place(gym: Gym, name: str, kind: str, capacity: int = 2, **more: object) -> WorkPlace:
    position = WorkPlace.objects.filter(gym=gym).count()
    return WorkPlace.objects.create(gym=gym, name=name, kind=kind, capacity=capacity, position=position, **more)


def make_hall(gym: Gym) -> dict[str, WorkPlace]:
    """A high bar, a low bar in holes, rings and floor."""
    return {
        "high": make_place(gym, "high bar", "high_bar", bar=make_high_bar(gym), spot_from="in front, on the left"),
        "low": make_place(gym, "low bar", "low_bar", bar=make_low_bar(gym)),
        "rings": make_place(gym, "rings", "rings"),
        "floor": make_place(gym, "floor", "floor", 6),
    }


def make_measured(athlete: Athlete, stature_m: str = "1.700") -> None:
    BodyMeasure.objects.create(gym=athlete.gym, athlete=athlete, measured_on=date(2026, 5, 20), stature_m=stature_m)


def plans_of(session: TrainingSession) -> WholePlan:
    """The plans of a class that has one."""
    whole = whole_plan_of(session)
    assert whole is not None
    return whole


def make_plan(by: Membership, session: TrainingSession, shape: Shape = SHORT, *, first: int = 0) -> ClassPlan:
    """A plan as people would choose in turn, made without a search and without a process of its own."""
    asked = class_ask(session, shape, Words(), timezone.now(), first=first, whole=whole_plan_of(session))
    return ClassPlan.objects.create(
        gym=by.gym,
        session=session,
        number=ClassPlan.objects.filter(session=session).count() + 1,
        happened_at=timezone.now(),
        rotations=shape.rotations,
        rotation_minutes=shape.rotation_minutes,
        warm_up_minutes=shape.warm_up_minutes,
        reset_minutes=shape.reset_minutes,
        asked=written_ask(asked.ask),
        planned=written_plan(first_come(asked.ask)),
        made_by=by,
        first_rotation=first,
    )
