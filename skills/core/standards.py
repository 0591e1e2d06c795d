"""Standards that a gym may choose for a step instead of the one it has. Common practice, no source.

The first standard is three clean holds of 5 s, judged, on two days; the full one three of 20 s. A step whose
tries are graded may ask for a higher or a lower grade.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from skills.core.criteria import Branch, Criterion, StepPassed, parse

FIRST_STANDARD: Final[Mapping[str, object]] = {"holds": {"count": 3, "seconds": 5, "dates": 2}}
FULL_STANDARD: Final[Mapping[str, object]] = {"holds": {"count": 3, "seconds": 20, "dates": 2}}


@dataclass(frozen=True, slots=True)
class Standard:
    """A criterion that can be chosen, under a short name: 'first', 'full' or 'grade-2'."""

    name: str
    criterion: Criterion


def standards_for(criterion: Criterion, *, is_hold: bool, grades: int) -> tuple[Standard, ...]:
    """Return what may be chosen for a step whose criterion is `criterion`: never that one itself."""
    offered = [*_hold_standards(is_hold=is_hold), *_graded(criterion, grades)]
    return tuple(standard for standard in offered if standard.criterion != criterion)


def _hold_standards(*, is_hold: bool) -> Iterator[Standard]:
    if is_hold:
        yield Standard("first", parse(FIRST_STANDARD))
        yield Standard("full", parse(FULL_STANDARD))


def _graded(criterion: Criterion, grades: int) -> Iterator[Standard]:
    for rank in range(1, grades + 1):
        yield Standard(f"grade-{rank}", with_grade(criterion, rank))


def with_grade(criterion: Criterion, rank: int) -> Criterion:
    """Return the same criterion, asking of every try at least the grade of that rank."""
    if isinstance(criterion, Branch):
        return replace(criterion, conditions=tuple(with_grade(child, rank) for child in criterion.conditions))
    if isinstance(criterion, StepPassed):
        return criterion
    return replace(criterion, counting=replace(criterion.counting, grade_at_least=rank))
