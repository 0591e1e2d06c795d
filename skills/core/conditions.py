"""Conditions: the parts that a criterion is made of, and what one attempt is worth to each of them.

A condition is a value that states what must hold. It does no counting itself: `tallies` and
`gathering` do that over the attempts of a step.

Which are monotone, so that a further attempt never takes anything away, whenever it happened and whenever it arrived:

- `holds`, `reps`, `best` and `angle`: no further attempt, clean or not, ever takes anything away;
- `last` and `reliability`: a miss does, be it clean and only too short. A further success never lowers their count or
  rate. With more than one session or date asked for, it may still push an older session out of the last few tries;
- `step` does not look at attempts, and `all`, `any` and `at_least` are as monotone as their parts.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from skills.core.facts import UNASSISTED, Attempt, Source
from skills.core.holds import needed_tenths


@dataclass(frozen=True, slots=True)
class HoldTarget:
    """A hold of at least ``tenths``; under HOLD_FLOOR_TENTHS nothing is a hold, whatever the target says."""

    tenths: int


@dataclass(frozen=True, slots=True)
class RepsTarget:
    """A set of at least ``reps`` reps, unbroken where asked."""

    reps: int
    unbroken: bool


Bound = Literal["at_least", "at_most"]
Confidence = Literal[80, 90, 95]


@dataclass(frozen=True, slots=True)
class AngleTarget:
    """A measured angle of at least, or at most, ``degrees``; with ``tenths`` (0 = not asked) held so long."""

    degrees: int
    bound: Bound
    tenths: int


Target = HoldTarget | RepsTarget
Aim = Target | AngleTarget


@dataclass(frozen=True, slots=True)
class Counting:
    """Which tries are looked at, and over how many days and sessions the successes must spread."""

    window_days: int | None = None
    sessions: int = 1
    dates: int = 1
    clean: bool = True
    assistance: frozenset[str] = frozenset({UNASSISTED})
    variants: bool = True
    who: frozenset[Source] = frozenset({"judged"})
    grade_at_least: int = 0


@dataclass(frozen=True, slots=True)
class HoldsOf:
    """``count`` holds of at least ``tenths``; an attempt of 3 x 5 s is three holds. Monotone."""

    count: int
    tenths: int
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class RepsOf:
    """``count`` sets of at least ``reps`` reps. Monotone."""

    count: int
    reps: int
    unbroken: bool
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class BestOf:
    """One attempt reaches the target. Monotone."""

    target: Target
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class LastOf:
    """``clean`` of the last ``of`` tries reach the target cleanly. Not monotone: a later miss takes away."""

    clean: int
    of: int
    target: Target
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class AngleOf:
    """``count`` tries whose measured angle is at least, or at most, ``degrees``.

    With ``tenths`` (0 = not asked) each was held so long. Tries without an angle are not looked at. Monotone.
    """

    count: int
    degrees: int
    bound: Bound
    tenths: int
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class ReliabilityOf:
    """The lower Wilson bound of the clean rate is at least ``percent``, over the last ``of`` tries or, with None, all.

    ``confidence`` is that of the two-sided interval, in per cent. Where ``counting`` does not ask for clean
    tries, it is the rate of the tries that reach the target, clean or not. Not monotone: a miss takes away, wherever it
    falls.
    """

    percent: int
    confidence: Confidence
    target: Target
    of: int | None
    counting: Counting = field(default_factory=Counting)


@dataclass(frozen=True, slots=True)
class StepPassed:
    """Another step stands as passed."""

    step: str


@dataclass(frozen=True, slots=True)
class AllOf:
    """Every one of the conditions holds."""

    conditions: "tuple[Criterion, ...]"


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one of the conditions holds."""

    conditions: "tuple[Criterion, ...]"


@dataclass(frozen=True, slots=True)
class AtLeastOf:
    """At least ``count`` of the conditions hold."""

    count: int
    conditions: "tuple[Criterion, ...]"


AttemptLeaf = HoldsOf | RepsOf | BestOf | LastOf | AngleOf | ReliabilityOf
Leaf = AttemptLeaf | StepPassed
Branch = AllOf | AnyOf | AtLeastOf
Criterion = Leaf | Branch


def leaves(criterion: Criterion) -> Iterator[Leaf]:
    """Yield the leaves of a criterion from left to right."""
    if isinstance(criterion, Branch):
        for condition in criterion.conditions:
            yield from leaves(condition)
    else:
        yield criterion


def attempt_leaves(criterion: Criterion) -> Iterator[AttemptLeaf]:
    """Yield the leaves that look at attempts of the step itself."""
    return (leaf for leaf in leaves(criterion) if not isinstance(leaf, StepPassed))


def steps_named(criterion: Criterion) -> frozenset[str]:
    """Return the codes of the other steps that the criterion asks for."""
    return frozenset(leaf.step for leaf in leaves(criterion) if isinstance(leaf, StepPassed))


def target_of(leaf: AttemptLeaf) -> Aim:
    """Return what one attempt has to reach to be a success for the leaf."""
    match leaf:
        case HoldsOf():
            return HoldTarget(leaf.tenths)
        case RepsOf():
            return RepsTarget(leaf.reps, leaf.unbroken)
        case BestOf() | LastOf() | ReliabilityOf():
            return leaf.target
        case AngleOf():
            return AngleTarget(leaf.degrees, leaf.bound, leaf.tenths)


def counts_for(attempt: Attempt, counting: Counting) -> bool:
    """Whether the try is looked at at all: whose entry, which assistance, which form, which grade."""
    return (
        attempt.source in counting.who
        and attempt.assistance in counting.assistance
        and (counting.variants or not attempt.variant)
        and attempt.grade >= counting.grade_at_least
    )


def is_of_kind(attempt: Attempt, aim: Aim) -> bool:
    """Whether the try is a hold for a target of holds, reps for one of reps, measured for one of angles."""
    if isinstance(aim, AngleTarget):
        return attempt.angle_degrees is not None
    return (attempt.hold_tenths is not None) == isinstance(aim, HoldTarget)


def reaches(attempt: Attempt, aim: Aim) -> bool:
    """Whether the try is long enough, has reps enough, or is as open or closed as the target asks."""
    match aim:
        case HoldTarget(tenths):
            return _held(attempt, tenths)
        case RepsTarget(reps, unbroken):
            return attempt.hold_tenths is None and attempt.reps >= reps and (attempt.unbroken or not unbroken)
        case AngleTarget(degrees, bound, tenths):
            return _within(attempt.angle_degrees, degrees, bound) and (not tenths or _held(attempt, tenths))


def _held(attempt: Attempt, tenths: int) -> bool:
    return attempt.hold_tenths is not None and attempt.hold_tenths >= needed_tenths(tenths)


def _within(angle_degrees: int | None, degrees: int, bound: Bound) -> bool:
    if angle_degrees is None:
        return False
    return angle_degrees >= degrees if bound == "at_least" else angle_degrees <= degrees


def asks_clean(leaf: AttemptLeaf) -> bool:
    """Whether only a clean try is a success: k clean of the last n always asks for it."""
    return isinstance(leaf, LastOf) or leaf.counting.clean


def looks_at(leaf: AttemptLeaf, attempt: Attempt) -> bool:
    """Whether the leaf takes notice of the try, as a success or as a miss."""
    return counts_for(attempt, leaf.counting) and is_of_kind(attempt, target_of(leaf))


def succeeds(leaf: AttemptLeaf, attempt: Attempt) -> bool:
    """Whether the try is a success for the leaf, days and sessions apart."""
    return (
        counts_for(attempt, leaf.counting)
        and reaches(attempt, target_of(leaf))
        and (attempt.clean or not asks_clean(leaf))
    )
