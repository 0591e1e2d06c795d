"""The gym's bars, told: how they stand, what is around them, what nobody has measured, how they were found today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from athletes.models import Gym
from skills.core.set_up import BarPlace
from skills.models import Bar
from skills.queries.bars import checks_on_day, place_of, standing_checks
from skills.showing.bars import check_words
from skills.showing.lengths import Lengths
from skills.showing.rooms import room_asks


@dataclass(frozen=True, slots=True)
class BarTold:
    """One bar in words; `asks` is what nobody has measured around it."""

    bar_id: UUID
    name: str
    kind: str
    stands: str
    around: str
    asks: tuple[str, ...]
    checked: str


def told_bars(gym: Gym, bars: Sequence[Bar], now: datetime) -> list[BarTold]:
    """Tell these bars; one query."""
    checks = {check.of_id: check for check in standing_checks(checks_on_day(gym, now))}
    lengths = Lengths(gym.units)
    return [
        BarTold(
            bar_id=bar.id,
            name=bar.name,
            kind=f"{bar.get_kind_display()}, {lengths.small(bar.diameter_tenths_mm)} thick",
            stands=stands_words(place_of(bar), lengths),
            around=_around(place_of(bar), lengths),
            asks=room_asks(place_of(bar), over=True),
            checked=check_words(checks[bar.id], gym.zone) if bar.id in checks else "",
        )
        for bar in bars
    ]


def stands_words(place: BarPlace, lengths: Lengths) -> str:
    """Say how a bar can stand."""
    if isinstance(place.stands, int):
        return f"stays at {lengths.exact(place.stands)}"
    holes, tops = place.stands, [setting.top_mm for setting in place.settings]
    apart = f", {lengths.small(holes.pitch_tenths_mm)} apart" if holes.count > 1 else ""
    return f"holes 1 to {holes.count}{apart}, {lengths.exact(tops[0])} to {lengths.exact(tops[-1])}"


def _around(place: BarPlace, lengths: Lengths) -> str:
    named = (
        ("above", place.ceiling_mm, " over the floor"),
        ("in front", place.front_mm, ""),
        ("behind", place.behind_mm, ""),
        ("mat", place.mat_mm or None, ""),
    )
    return ", ".join(f"{name} {lengths.exact(mm)}{after}" for name, mm, after in named if mm is not None)
