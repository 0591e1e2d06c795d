"""The gym's bars, and how each was found set today."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from athletes.models import Gym
from skills.core.bar_entry import LOW_TOP_MM, NAME_LENGTH
from skills.core.set_up import BarPlace, Holes
from skills.models import Bar, BarCheck


def bars_of(gym: Gym) -> list[Bar]:
    """Return the bars that are in use, in the gym's order; one query."""
    return list(Bar.objects.filter(gym=gym, retired_at=None))


def retired_bars_of(gym: Gym) -> list[Bar]:
    """Return the bars that were taken out of use; one query."""
    return list(Bar.objects.filter(gym=gym).exclude(retired_at=None))


def place_of(bar: Bar) -> BarPlace:
    """Return a bar as the arithmetic takes it; no query."""
    return BarPlace(
        stands=_stands(bar),
        diameter_tenths_mm=bar.diameter_tenths_mm,
        ceiling_mm=bar.ceiling_mm,
        front_mm=bar.clear_front_mm,
        behind_mm=bar.clear_behind_mm,
        mat_mm=bar.mat_mm,
    )


def _stands(bar: Bar) -> int | Holes:
    if bar.height_mm is not None:
        return bar.height_mm
    # The database holds that a bar has a height or all three of these.
    return Holes(bar.first_hole_mm or 0, bar.hole_pitch_tenths_mm or 0, bar.holes or 0)


def checks_on_day(gym: Gym, moment: datetime, leeway: timedelta = timedelta(0)) -> list[BarCheck]:
    """Return the checks of low bars from that day of the gym's midnight until the moment, the newest first; one query.

    `leeway` is how much later a check may be dated, since a tablet's clock may be slow.
    """
    midnight = moment.astimezone(gym.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    rows = BarCheck.objects.filter(gym=gym, happened_at__gte=midnight, happened_at__lte=moment + leeway)
    return list(rows.select_related("checked_by__person", "of").order_by("-happened_at", "-pk"))


def stands_for(bar: Bar, place: str) -> bool:
    """Whether a bar can be a low one (it is tied, or can stand at 170 cm or lower) or a high one (or higher)."""
    tops = [setting.top_mm for setting in place_of(bar).settings]
    if place == "low":
        return bar.kind == Bar.Kind.TIED or min(tops) <= LOW_TOP_MM
    return bar.kind != Bar.Kind.TIED and max(tops) > LOW_TOP_MM


def setting_name(name: str, hole: int | None) -> str:
    """Say a bar in its hole as people write it: 'low bar by the door, hole 8'."""
    return f"{name}, hole {hole}" if hole else name


def settings_by_name(gym: Gym) -> dict[str, tuple[Bar, int | None]]:
    """Return every way in which a low bar can stand, by its name, but for names too long to be sent; one query."""
    named = (
        (setting_name(bar.name, each.hole), bar, each.hole)
        for bar in bars_of(gym)
        if stands_for(bar, "low")
        for each in place_of(bar).settings
    )
    return {name: (bar, hole) for name, bar, hole in named if len(name) <= NAME_LENGTH}


def standing_checks(checks: Sequence[BarCheck]) -> list[BarCheck]:
    """Return of each bar the check that stands, which is the last one, from checks with the newest first."""
    last: dict[UUID | str, BarCheck] = {}
    for check in checks:
        last.setdefault(bar_key(check), check)
    return [*last.values()]


def bar_key(check: BarCheck) -> UUID | str:
    """Return what tells the bar of a check from others: its row, or the name by which it was called."""
    return check.of_id or check.bar.casefold()
