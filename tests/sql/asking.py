"""Loads tries and criteria into PostgreSQL in bulk, and asks it when each criterion is met."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist

from django.db import connection

from skills.core.criteria import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    BestOf,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
)
from skills.core.criterion_form import MOST_LEVELS
from skills.core.facts import Attempt
from tests.sql.conditions import ANSWERS, CONDITIONS, DATED, JOINED, LEAVES_MET, MOMENTS, TABLES

# Normal quantiles of two-sided intervals: Wichura MJ (1988), algorithm AS 241, Applied Statistics 37:477-484, as the
# standard library has it.
QUANTILES = {percent: Decimal(NormalDist().inv_cdf((100 + percent) / 200)) for percent in (80, 90, 95)}
Row = dict[str, object]


@dataclass(frozen=True, slots=True)
class Asked:
    """One criterion over the tries of one history that stand; `told` are moments worth a look besides."""

    criterion: Criterion
    tries: Sequence[Attempt]
    zone: str
    told: Sequence[int] = ()


Answer = list[tuple[int, bool]]  # the moment, and whether the criterion is met then; in order


def ask(all_asked: Sequence[Asked]) -> tuple[list[Answer], dict[str, tuple[int, int]]]:
    """Return for each one when it is met, and of each kind how many were met some time, of how many.

    Needs a transaction, with whose end the tables vanish.
    """
    nodes = [row for history, asked in enumerate(all_asked) for row in _nodes(history, asked.criterion)]
    with connection.cursor() as cursor:
        cursor.execute(TABLES)
        _copy("tries", _TRY, (row for history, asked in enumerate(all_asked) for row in _tries(history, asked)))
        _copy("nodes", _NODE, ([row.get(name) for name in _NODE] for row in nodes))
        _copy("told", _TOLD, ([h, asked.zone, us] for h, asked in enumerate(all_asked) for us in asked.told))
        for statement in (DATED, MOMENTS, *CONDITIONS.values()):
            cursor.execute(statement)
        for depth in reversed(range(MOST_LEVELS + 1)):
            cursor.execute(JOINED, [depth])
        cursor.execute(ANSWERS)
        answers: defaultdict[int, Answer] = defaultdict(list)
        for history, us, met in cursor.fetchall():
            answers[history].append((us, met))
        cursor.execute(LEAVES_MET)
        counted = {kind: (met, asked) for kind, met, asked in cursor.fetchall()}
    return [answers[history] for history in range(len(all_asked))], counted


def _copy(table: str, columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


_TOLD = ("history", "zone", "us")
_TRY = (
    *("history", "id", "happened_us", "zone", "session", "tenths", "reps", "unbroken"),
    *("source", "assistance", "variant", "clean", "grade", "angle"),
)
_NODE = (
    *("history", "node", "parent", "depth", "kind", "need", "tenths", "reps", "unbroken", "last", "angle", "at_most"),
    *("lower_bound", "z", "window_days", "sessions", "dates", "clean", "assistance", "variants", "who", "grade"),
)


def _tries(history: int, asked: Asked) -> Iterator[Sequence[object]]:
    for a in asked.tries:
        clean = not (a.faults or a.missed or a.pain)
        yield (
            *(history, a.id, a.happened_us, asked.zone, a.session, a.hold_tenths, a.reps, a.unbroken),
            *(a.source, a.assistance, a.variant, clean, a.grade, a.angle_degrees),
        )


def _nodes(history: int, criterion: Criterion) -> Iterator[Row]:
    """Walk the tree from the outermost condition, number 0."""
    waiting: list[tuple[Criterion, int | None, int]] = [(criterion, None, 0)]
    for node, (condition, parent, depth) in enumerate(waiting):
        yield {"history": history, "node": node, "parent": parent, "depth": depth, **_says(condition)}
        if isinstance(condition, AllOf | AnyOf | AtLeastOf):
            waiting.extend((child, node, depth + 1) for child in condition.conditions)


def _says(condition: Criterion) -> Row:
    match condition:
        case AllOf(conditions):
            return {"kind": "all", "need": len(conditions)}
        case AnyOf():
            return {"kind": "any", "need": 1}
        case AtLeastOf(count):
            return {"kind": "at_least", "need": count}
        case StepPassed():
            message = "Another step's standing is no matter of windows and sets."
            raise NotImplementedError(message)
    return {**_counting(condition), **_leaf(condition)}


def _leaf(leaf: HoldsOf | RepsOf | BestOf | LastOf | AngleOf | ReliabilityOf) -> Row:
    match leaf:
        case HoldsOf():
            return {"kind": "holds", "need": leaf.count, "tenths": leaf.tenths}
        case RepsOf():
            return {"kind": "reps", "need": leaf.count, "reps": leaf.reps, "unbroken": leaf.unbroken}
        case BestOf():
            return {"kind": "best", "need": 1, "sessions": 1, "dates": 1, **_target(leaf.target)}
        case LastOf():
            return {"kind": "last", "need": leaf.clean, "last": leaf.of, "clean": True, **_target(leaf.target)}
        case AngleOf():
            asked = {"angle": leaf.degrees, "at_most": leaf.bound == "at_most", "tenths": leaf.tenths}
            return {"kind": "angle", "need": leaf.count, **asked}
        case ReliabilityOf():
            rate = {"lower_bound": Decimal(leaf.percent) / 100, "z": QUANTILES[leaf.confidence]}
            return {"kind": "reliability", "last": leaf.of, **rate, **_target(leaf.target)}


def _target(target: HoldTarget | RepsTarget) -> Row:
    if isinstance(target, HoldTarget):
        return {"tenths": target.tenths}
    return {"reps": target.reps, "unbroken": target.unbroken}


def _counting(leaf: HoldsOf | RepsOf | BestOf | LastOf | AngleOf | ReliabilityOf) -> Row:
    counting = leaf.counting
    return {
        "window_days": counting.window_days,
        "sessions": counting.sessions,
        "dates": counting.dates,
        "clean": counting.clean,
        "assistance": sorted(counting.assistance),
        "variants": counting.variants,
        "who": sorted(counting.who),
        "grade": counting.grade_at_least,
    }
