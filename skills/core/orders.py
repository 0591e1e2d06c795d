"""The same criterion in another order of tries: so many in a row, or so many with whatever lies between."""

from collections.abc import Callable
from dataclasses import replace

from skills.core.conditions import (
    AngleTarget,
    Branch,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    Leaf,
    RepsOf,
    RepsTarget,
    target_of,
)


def in_a_row(criterion: Criterion) -> Criterion:
    """Return the same criterion with each count of clean tries asked for in a row: the last so many, all clean."""
    return _with_leaves(criterion, _leaf_in_a_row)


def in_any_order(criterion: Criterion) -> Criterion:
    """Return the same criterion with each count of the last tries asked for in any order, with whatever between."""
    return _with_leaves(criterion, _leaf_in_any_order)


def _with_leaves(criterion: Criterion, change: Callable[[Leaf], Leaf]) -> Criterion:
    if isinstance(criterion, Branch):
        return replace(criterion, conditions=tuple(_with_leaves(each, change) for each in criterion.conditions))
    return change(criterion)


def _leaf_in_a_row(leaf: Leaf) -> Leaf:
    match leaf:
        case HoldsOf(count, _, counting) | RepsOf(count, _, _, counting) if count > 1 and counting.clean:
            target = target_of(leaf)
            return leaf if isinstance(target, AngleTarget) else LastOf(count, count, target, counting)
        case LastOf(clean, of) if 1 < clean < of:
            return replace(leaf, of=clean)
        case _:
            return leaf


def _leaf_in_any_order(leaf: Leaf) -> Leaf:
    match leaf:
        case LastOf(clean, _, HoldTarget(tenths), counting):
            return HoldsOf(clean, tenths, counting)
        case LastOf(clean, _, RepsTarget(reps, unbroken), counting):
            return RepsOf(clean, reps, unbroken, counting)
        case _:
            return leaf
