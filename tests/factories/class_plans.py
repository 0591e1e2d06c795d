"""A class with stations, as most halls have them, and what an athlete needs to have a place at each."""

from datetime import date

from athletes.models import Athlete, BodyMeasure, Gym
from skills.core.class_shape import Shape
from skills.models import WorkPlace
from tests.factories.bars import make_high_bar, make_low_bar

# Two rotations of a quarter of an hour after ten minutes of warm-up.
SHORT = Shape(minutes=40, warm_up_minutes=10, rotation_minutes=15)


def make_place(gym: Gym, name: str, kind: str, capacity: int = 2, **more: object) -> WorkPlace:
    position = WorkPlace.objects.filter(gym=gym).count()
    return WorkPlace.objects.create(
        gym=gym, name=name, kind=kind, capacity=capacity, position=position, **more
    )


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
