"""What a gym says of one of its bars, and what of it cannot be. Millimetres; tenths of them for small parts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from skills.core.set_up import DIAMETER_TENTHS_MM, USUAL_DIAMETER_TENTHS_MM, Holes

NAME_LENGTH: Final = 60
HEIGHT_MM: Final = (200, 8000)
PITCH_TENTHS_MM: Final = (100, 3000)
MOST_HOLES: Final = 120
MOST_ROOM_MM: Final = 30_000
MOST_MAT_MM: Final = 1000
# The low rail of asymmetric bars stands at 170 cm; up to there a bar can be reached from the floor by most adults.
LOW_TOP_MM: Final = 1700


@dataclass(frozen=True, slots=True)
class BarEntry:
    """A bar as it is written down: at one height, or in holes. None for what nobody has measured."""

    name: str
    kind: str
    diameter_tenths_mm: int
    height_mm: int | None = None
    first_hole_mm: int | None = None
    hole_pitch_tenths_mm: int | None = None
    holes: int | None = None
    ceiling_mm: int | None = None
    clear_front_mm: int | None = None
    clear_behind_mm: int | None = None
    mat_mm: int = 0


@dataclass(frozen=True, slots=True)
class BarProblem:
    """What is wrong with a field; `range_mm` is the least and the most, in mm, where there are such."""

    field: str
    sentence: str
    range_mm: tuple[float, float] | None = None


def bar_problems(entry: BarEntry) -> list[BarProblem]:
    """Return everything that is wrong with an entry; a range is told beside its sentence, to be said in units."""
    found = [*_name_problems(entry), *_stand_problems(entry), *_range_problems(entry)]
    return found or [*_room_problems(entry)]


def is_unusual(diameter_tenths_mm: int) -> bool:
    """Whether a diameter is to be confirmed: it can be so, and most bars are not."""
    least, most = USUAL_DIAMETER_TENTHS_MM
    return not least <= diameter_tenths_mm <= most


def _name_problems(entry: BarEntry) -> Iterator[BarProblem]:
    if not entry.name or len(entry.name) > NAME_LENGTH:
        yield BarProblem("name", f"Name the bar, as it is called in your gym, in at most {NAME_LENGTH} characters.")


def _stand_problems(entry: BarEntry) -> Iterator[BarProblem]:
    in_holes = {
        "first_hole_mm": entry.first_hole_mm,
        "hole_pitch_tenths_mm": entry.hole_pitch_tenths_mm,
        "holes": entry.holes,
    }
    if entry.height_mm is not None:
        if any(value is not None for value in in_holes.values()):
            yield BarProblem("height_mm", "A bar stands at one height or in holes: leave one of the two empty.")
        return
    missing = [field for field, value in in_holes.items() if value is None]
    if len(missing) == len(in_holes):
        yield BarProblem("height_mm", "Say how high the bar stands, or where its holes are.")
        return
    words = "The lowest hole, the distance from hole to hole and their number belong together: fill in all three."
    yield from (BarProblem(field, words) for field in missing)


def _range_problems(entry: BarEntry) -> Iterator[BarProblem]:
    if entry.holes is not None and not 1 <= entry.holes <= MOST_HOLES:
        yield BarProblem("holes", f"There are 1 to {MOST_HOLES} holes.")
    for field, (least, most), scale, words in (
        ("diameter_tenths_mm", DIAMETER_TENTHS_MM, 10, "A bar to hang on is between {} and {} thick."),
        ("height_mm", HEIGHT_MM, 1, "A bar stands between {} and {} high."),
        ("first_hole_mm", HEIGHT_MM, 1, "In its lowest hole a bar stands between {} and {} high."),
        ("hole_pitch_tenths_mm", PITCH_TENTHS_MM, 10, "From hole to hole there are between {} and {}."),
        ("ceiling_mm", (1, MOST_ROOM_MM), 1, "The height of the ceiling is between {} and {}."),
        ("clear_front_mm", (0, MOST_ROOM_MM), 1, "The room in front is between {} and {}."),
        ("clear_behind_mm", (0, MOST_ROOM_MM), 1, "The room behind is between {} and {}."),
        ("mat_mm", (0, MOST_MAT_MM), 1, "A mat is between {} and {} thick."),
    ):
        value = getattr(entry, field)
        if value is not None and not least <= value <= most:
            yield BarProblem(field, words, (least / scale, most / scale))


def _room_problems(entry: BarEntry) -> Iterator[BarProblem]:
    low_mm, high_mm = ends_mm(entry)
    if high_mm > HEIGHT_MM[1]:
        yield BarProblem("holes", "In its highest hole the bar would stand higher than {1}.", HEIGHT_MM)
    if entry.ceiling_mm is not None and entry.ceiling_mm <= high_mm:
        yield BarProblem("ceiling_mm", "What is above the bar is above its highest place, which is {0}.", (high_mm, 0))
    if entry.mat_mm >= low_mm:
        yield BarProblem("mat_mm", "The mat would cover the bar at its lowest, which is {0}.", (low_mm, 0))


def ends_mm(entry: BarEntry) -> tuple[int, int]:
    """Return the lowest and the highest top of a bar whose entry is whole."""
    if entry.height_mm is not None:
        return entry.height_mm, entry.height_mm
    holes = Holes(entry.first_hole_mm or 0, entry.hole_pitch_tenths_mm or 0, entry.holes or 0)
    return holes.top_mm(1), holes.top_mm(holes.count)
