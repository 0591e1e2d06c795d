"""How bodies can be: the ranges within which a measure is taken for one. Whole millimetres; bare feet, on the floor.

The ranges are wide and ours: they catch a slip of the pen or a wrong unit, nothing else. For comparison, among adults
(ANSUR II, Gordon and others 2014) the chest stands at 0.68 to 0.76 of the stature, the shoulder at 0.79 to 0.85, and
the grip reaches to 1.14 to 1.28.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from athletes.core.days import months_before

STATURE_MM: Final = (800, 2500)
# The part, what it is, and its least and most share of the stature in hundredths.
PARTS: Final = {
    "chest": ("height of the chest", 60, 85),
    "armpit": ("height of the armpit", 65, 88),
    "reach": ("reach to the grip", 105, 140),
}
GROWING_MONTHS: Final = 3


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a measure: the part, and the least and the most that are taken, in millimetres."""

    part: str
    least_mm: int
    most_mm: int


def body_problems(
    *, stature_mm: int | None, chest_mm: int | None, armpit_mm: int | None, reach_mm: int | None
) -> list[Problem]:
    """Return every measure that no body has, with its range; a part is held against the stature where that is known.

    A chest above the armpit is one too: the armpit is then asked for at the chest or higher.
    """
    least, most = STATURE_MM
    if stature_mm is not None and not least <= stature_mm <= most:
        return [Problem("stature", least, most)]
    given = {"chest": chest_mm, "armpit": armpit_mm, "reach": reach_mm}
    found = [
        Problem(part, *limits)
        for part, value in given.items()
        if value is not None and not (limits := part_range(part, stature_mm))[0] <= value <= limits[1]
    ]
    if not found and chest_mm is not None and armpit_mm is not None and chest_mm > armpit_mm:
        return [Problem("armpit", chest_mm, part_range("armpit", stature_mm)[1])]
    return found


def part_range(part: str, stature_mm: int | None) -> tuple[int, int]:
    """Return the least and the most that a part is taken for, in millimetres, of that stature or of any."""
    _, least, most = PARTS[part]
    low, high = (stature_mm, stature_mm) if stature_mm is not None else STATURE_MM
    return low * least // 100, high * most // 100


def is_old(*, measured_on: date, today: date, minor: bool) -> bool:
    """Whether a measure of somebody who still grows is to be taken again: after three months."""
    return minor and measured_on <= months_before(today, GROWING_MONTHS)
