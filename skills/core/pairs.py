"""Pairs: people who held one step and then another, and what they held on each about the time the second one began."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from skills.core.endurance import JOINED, JOINED_LEAST

DAY_US: Final = 86_400_000_000
BEFORE_DAYS: Final = 28  # a hold on the known step counts from so long before the first one on the next
AFTER_DAYS: Final = 28  # and both count until so long after it
_LONGEST_TENTHS: Final = int(JOINED.seconds(JOINED_LEAST) * 10)
_SHORTEST_TENTHS: Final = round(JOINED.seconds(1) * 10)  # of the known hold; less says nothing on the curve

Hold = tuple[int, int]  # when, in microseconds, and tenths of a second


@dataclass(frozen=True, slots=True)
class Pair:
    """What one person held at best on both steps, clean, in tenths of a second."""

    known_tenths: int
    next_tenths: int


def pair_of(known: Sequence[Hold], next_: Sequence[Hold]) -> Pair | None:
    """Return the best of both steps around one person's first hold on the next one.

    None without a hold on each in that time, for holds longer than the curves go, and where the known one is so short
    that the curve has ended.
    """
    first = min((us for us, _ in next_), default=None)
    if first is None:
        return None
    until = first + AFTER_DAYS * DAY_US
    told, held = _best(known, first - BEFORE_DAYS * DAY_US, until), _best(next_, first, until)
    on_curve = told > _SHORTEST_TENTHS and 0 < held <= _LONGEST_TENTHS and told <= _LONGEST_TENTHS
    return Pair(told, held) if on_curve else None


def _best(holds: Iterable[Hold], from_us: int, until_us: int) -> int:
    return max((tenths for us, tenths in holds if from_us <= us <= until_us), default=0)
