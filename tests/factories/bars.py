"""Bars of a gym, as most racks have them."""

from datetime import datetime

from django.utils import timezone

from athletes.models import Gym, Membership
from skills.models import Bar, BarCheck


def make_low_bar(gym: Gym, name: str = "low bar by the door", **changed: object) -> Bar:
    """A tied bar in 30 holes of 50 mm, the lowest at 40 cm, beneath a higher one."""
    given = {
        "kind": Bar.Kind.TIED,
        "diameter_tenths_mm": 280,
        "first_hole_mm": 400,
        "hole_pitch_tenths_mm": 500,
        "holes": 30,
        "mat_mm": 20,
        **changed,
    }
    return Bar.objects.create(gym=gym, name=name, position=Bar.objects.filter(gym=gym).count(), **given)


def make_high_bar(gym: Gym, name: str = "high bar 1", **changed: object) -> Bar:
    """A pull-up bar at 255 cm; nobody has measured what is around it unless `changed` says so."""
    given = {"kind": Bar.Kind.PULL_UP, "diameter_tenths_mm": 320, "height_mm": 2550, **changed}
    return Bar.objects.create(gym=gym, name=name, position=Bar.objects.filter(gym=gym).count(), **given)


def check_hole(by: Membership, bar: Bar, hole: int | None, at: datetime | None = None) -> BarCheck:
    """A check of a bar of the list, now unless a moment is given."""
    when = at or timezone.now()
    return BarCheck.objects.create(gym=by.gym, checked_by=by, bar=bar.name, of=bar, hole=hole, happened_at=when)
