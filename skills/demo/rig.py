"""The bars of the demo gym, and heights of some bodies that they are set by. All of it invented.

Every row has an id of its own making, so that nothing else in the gym depends on how many bars there are.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from random import Random
from typing import Final
from uuid import UUID

from athletes.models import Athlete, BodyMeasure, Gym
from skills.core.days import moment_us
from skills.demo.people import opened_at
from skills.demo.seeded import row_id
from skills.demo.simulation import DemoGym
from skills.models import Bar

LOW_BAR: Final = "low bar by the window"
LOW_HOLE: Final = 18
_MEASURED_NUMBERS: Final = (1, 2, 4, 7, 9)
_MEASURED_DAYS_AGO: Final = 20
_BARS: Final = (
    {"name": "high bar 1", "kind": Bar.Kind.PULL_UP, "diameter_tenths_mm": 320, "height_mm": 2550, "ceiling_mm": 3600,
     "clear_front_mm": 1500, "clear_behind_mm": 2200, "mat_mm": 40},
    # Nobody has measured what is in front of this one yet.
    {"name": "high bar 2", "kind": Bar.Kind.PULL_UP, "diameter_tenths_mm": 280, "height_mm": 2350, "ceiling_mm": 3600,
     "clear_behind_mm": 1500, "mat_mm": 40},
    {"name": LOW_BAR, "kind": Bar.Kind.TIED, "diameter_tenths_mm": 280, "first_hole_mm": 400,
     "hole_pitch_tenths_mm": 508, "holes": 28, "ceiling_mm": 2550, "clear_front_mm": 1400, "clear_behind_mm": 1050,
     "mat_mm": 40},
)  # fmt: skip


def put_bars(gym: Gym, played: DemoGym) -> Bar:
    """Describe the rig, and return its low bar."""
    rng = Random(f"bars {played.seed} {played.until}")
    bars = [Bar(id=_id(rng, played), gym=gym, position=position, **said) for position, said in enumerate(_BARS)]
    *_, low = Bar.objects.bulk_create(bars)
    return low


def put_heights(gym: Gym, athletes: Mapping[str, Athlete], played: DemoGym) -> None:
    """Note chest, armpit and reach of some, as measured three weeks ago; of the others they are estimated."""
    rng = Random(f"heights {played.seed} {played.until}")
    BodyMeasure.objects.bulk_create(
        BodyMeasure(
            id=_id(rng, played),
            gym=gym,
            athlete=athletes[diary.trainee.id],
            measured_on=max(diary.trainee.joined_on, played.until - timedelta(days=_MEASURED_DAYS_AGO)),
            chest_m=_share(rng, diary.trainee.measures[-1].stature_mm, 0.715, 0.740),
            armpit_m=_share(rng, diary.trainee.measures[-1].stature_mm, 0.750, 0.765),
            reach_m=_share(rng, diary.trainee.measures[-1].stature_mm, 1.185, 1.225),
        )
        for diary in played.diaries
        if diary.trainee.number in _MEASURED_NUMBERS
    )


def _share(rng: Random, stature_mm: int, least: float, most: float) -> Decimal:
    return Decimal(round(stature_mm * rng.uniform(least, most))) / 1000


def _id(rng: Random, played: DemoGym) -> UUID:
    return UUID(str(row_id(rng, moment_us(opened_at(played)))))
