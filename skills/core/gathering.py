"""A criterion over the attempts of one step: when it is met, on what evidence, and what it still lacks.

The tree of a criterion is mirrored by a tree of gatherings that all answer the same questions.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from skills.core.conditions import (
    Aim,
    AllOf,
    AngleOf,
    AngleTarget,
    AnyOf,
    AtLeastOf,
    AttemptLeaf,
    BestOf,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
    asks_clean,
    reaches,
    target_of,
)
from skills.core.counted import Counted
from skills.core.facts import Attempt
from skills.core.findings import (
    Finding,
    OneOf,
    Progress,
    SomeOf,
    StepNotPassed,
    TooFewAngles,
    TooFewCleanOfLast,
    TooFewDates,
    TooFewHolds,
    TooFewReps,
    TooFewSessions,
    TooFewSets,
    TooShort,
    TooUnreliable,
)
from skills.core.holds import is_hold, needed_tenths
from skills.core.reliability import shown_percent
from skills.core.spans import NEVER, Spans, all_hold, any_holds, enough_hold, since
from skills.core.tallies import Tally, Tries
from skills.core.timeline import Timeline


class Gathering(ABC):
    """What has been gathered for a criterion or for a part of one."""

    __slots__ = ()
    met: Spans

    @abstractmethod
    def fresh_after(self, us: int) -> Spans:
        """Return when it is met on evidence of which something is later than ``us``."""

    @abstractmethod
    def gathered_at(self, us: int) -> frozenset[str]:
        """Return the ids of all successes in view, whether or not they are enough."""

    @abstractmethod
    def evidence_at(self, us: int) -> frozenset[str]:
        """Return the ids of the attempts that it is met on; of none while it is not met."""

    @abstractmethod
    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        """Return everything that is missing, nothing when it is met."""

    @abstractmethod
    def progress_at(self, us: int) -> Iterator[Progress]:
        """Yield how far each leaf is, from left to right."""

    def best_evidence_at(self, us: int) -> tuple[str, ...]:
        """Return, sorted, what it is met on, or while it is not met what has been gathered so far."""
        return tuple(sorted(self.evidence_at(us) if self.met.covers(us) else self.gathered_at(us)))


def gather(criterion: Criterion, attempts: Sequence[Counted], zone: str, parents: Mapping[str, Timeline]) -> Gathering:
    """Gather the attempts (by moment and id) of a step, and the timelines of other steps, for a criterion."""
    match criterion:
        case StepPassed(step):
            return _Step(step, parents[step].spans_where(lambda change: change.base == "passed"))
        case AllOf(conditions):
            parts = _gather_all(conditions, attempts, zone, parents)
            return _All(parts, all_hold(part.met for part in parts))
        case AnyOf(conditions):
            parts = _gather_all(conditions, attempts, zone, parents)
            return _Any(parts, any_holds(part.met for part in parts))
        case AtLeastOf(count, conditions):
            parts = _gather_all(conditions, attempts, zone, parents)
            return _AtLeast(parts, enough_hold(count, (part.met for part in parts)), count)
        case _:
            tries = Tries.at(criterion, attempts, zone)
            return _Leaf(criterion, tries, tries.met())


def _gather_all(
    conditions: Iterable[Criterion], attempts: Sequence[Counted], zone: str, parents: Mapping[str, Timeline]
) -> tuple[Gathering, ...]:
    return tuple(gather(condition, attempts, zone, parents) for condition in conditions)


@dataclass(frozen=True, slots=True)
class _Leaf(Gathering):
    leaf: AttemptLeaf
    tries: Tries
    met: Spans

    def fresh_after(self, us: int) -> Spans:
        # While it is met, the latest success of all is among those in view.
        first_us = self.tries.first_success_after(us)
        return NEVER if first_us is None else self.met & since(first_us)

    def gathered_at(self, us: int) -> frozenset[str]:
        return frozenset(seen.counted.attempt.id for seen in self.tries.successes_in_view(us))

    def evidence_at(self, us: int) -> frozenset[str]:
        return self.gathered_at(us) if self.met.covers(us) else frozenset()

    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        if self.met.covers(us):
            return ()
        tally = self._tally_at(us)
        too_few = tuple(self._too_few(tally, us))
        return (*too_few, *self._too_narrow(tally, None if too_few else target_of(self.leaf)))

    def progress_at(self, us: int) -> Iterator[Progress]:
        tally = self._tally_at(us)
        match self.leaf:
            case HoldsOf(needed):
                yield Progress(tally.count, needed, "holds")
            case RepsOf(needed):
                yield Progress(tally.count, needed, "reps")
            case LastOf(needed):
                yield Progress(tally.count, needed, "clean")
            case AngleOf(needed):
                yield Progress(tally.count, needed, "angles")
            case ReliabilityOf(percent, confidence):
                yield Progress(shown_percent(tally.count, tally.tries, confidence), percent, "percent")
            case BestOf(HoldTarget(tenths)):
                yield Progress(self._best_at(us), needed_tenths(tenths), "tenths")
            case BestOf(RepsTarget(reps)):
                yield Progress(self._best_at(us), reps, "reps")

    def _too_few(self, tally: Tally, us: int) -> Iterator[Finding]:
        need, clean = self.tries.need, asks_clean(self.leaf)
        if tally.count >= need.count and (need.rate is None or need.rate.shown_by(tally.count, tally.tries)):
            return
        match self.leaf:
            case HoldsOf(needed, tenths):
                yield TooFewHolds(needed, tally.count, needed_tenths(tenths), clean)
            case RepsOf(needed, reps, unbroken):
                yield TooFewSets(needed, tally.count, reps, unbroken, clean)
            case LastOf(needed, of, target):
                yield TooFewCleanOfLast(needed, tally.count, of, target)
            case AngleOf():
                yield self._too_few_angles(self.leaf, tally.count, us)
            case ReliabilityOf(percent, confidence, target):
                more = self._more_clean(us)
                yield TooUnreliable(percent, confidence, tally.count, tally.tries, more, target, clean)
            case BestOf(HoldTarget(tenths)):
                yield TooShort(needed_tenths(tenths), self._best_at(us), clean)
            case BestOf(RepsTarget(reps, unbroken)):
                yield TooFewReps(reps, self._best_at(us), unbroken, clean)

    def _too_narrow(self, tally: Tally, aim: Aim | None) -> Iterator[Finding]:
        """Yield on how many sessions and days too few the successes lie; one of each comes with any success."""
        need, clean = self.tries.need, asks_clean(self.leaf)
        if len(tally.sessions) < need.sessions > 1:
            yield TooFewSessions(need.sessions, len(tally.sessions), aim, clean)
            aim = None
        if len(tally.dates) < need.dates > 1:
            yield TooFewDates(need.dates, len(tally.dates), aim, clean)

    def _too_few_angles(self, leaf: AngleOf, count: int, us: int) -> Finding:
        tenths = needed_tenths(leaf.tenths) if leaf.tenths else 0
        best = self._best_angle_at(leaf, us)
        return TooFewAngles(leaf.count, count, leaf.degrees, leaf.bound, tenths, best, asks_clean(leaf))

    def _more_clean(self, us: int) -> int:
        rate = self.tries.need.rate
        results = [seen.success for seen in self.tries.in_view(us)]
        return rate.more_clean(results, self.tries.need.of) if rate else 0

    def _tally_at(self, us: int) -> Tally:
        return Tally.of(self.tries.in_view(us))

    def _best_at(self, us: int) -> int:
        """Return the longest hold in tenths, or the most reps, that the leaf could take; 0 = none."""
        tries = (seen.counted.attempt for seen in self.tries.in_view(us))
        return max((_size(attempt) for attempt in tries if _could_be_best(self.leaf, attempt)), default=0)

    def _best_angle_at(self, leaf: AngleOf, us: int) -> int | None:
        """Return the nearest angle of the tries that lack nothing else."""
        best = max if leaf.bound == "at_least" else min
        whatever = AngleTarget(0, "at_least", leaf.tenths)
        tries = (seen.counted.attempt for seen in self.tries.in_view(us))
        fitting = (
            attempt for attempt in tries if reaches(attempt, whatever) and (attempt.clean or not asks_clean(leaf))
        )
        return best((each.angle_degrees for each in fitting if each.angle_degrees is not None), default=None)


@dataclass(frozen=True, slots=True)
class _Step(Gathering):
    step: str
    met: Spans

    def fresh_after(self, us: int) -> Spans:  # noqa: ARG002 - another step is no evidence by itself
        return NEVER

    def gathered_at(self, us: int) -> frozenset[str]:  # noqa: ARG002 - the same
        return frozenset()

    def evidence_at(self, us: int) -> frozenset[str]:  # noqa: ARG002 - the same
        return frozenset()

    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        return () if self.met.covers(us) else (StepNotPassed(self.step),)

    def progress_at(self, us: int) -> Iterator[Progress]:
        yield Progress(int(self.met.covers(us)), 1, "step")


@dataclass(frozen=True, slots=True)
class _Branch(Gathering):
    parts: tuple[Gathering, ...]
    met: Spans

    def fresh_after(self, us: int) -> Spans:
        return self.met & any_holds(part.fresh_after(us) for part in self.parts)

    def gathered_at(self, us: int) -> frozenset[str]:
        return frozenset().union(*(part.gathered_at(us) for part in self.parts))

    def evidence_at(self, us: int) -> frozenset[str]:
        if not self.met.covers(us):
            return frozenset()
        return frozenset().union(*(part.evidence_at(us) for part in self.parts))

    def progress_at(self, us: int) -> Iterator[Progress]:
        for part in self.parts:
            yield from part.progress_at(us)


@dataclass(frozen=True, slots=True)
class _All(_Branch):
    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        return tuple(finding for part in self.parts for finding in part.lacks_at(us))


@dataclass(frozen=True, slots=True)
class _Any(_Branch):
    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        if self.met.covers(us):
            return ()
        return (OneOf(tuple(part.lacks_at(us) for part in self.parts)),)


@dataclass(frozen=True, slots=True)
class _AtLeast(_Branch):
    count: int

    def lacks_at(self, us: int) -> tuple[Finding, ...]:
        if self.met.covers(us):
            return ()
        lacking = tuple(part.lacks_at(us) for part in self.parts if not part.met.covers(us))
        return (SomeOf(self.count - len(self.parts) + len(lacking), lacking),)


def _size(attempt: Attempt) -> int:
    return attempt.reps if attempt.hold_tenths is None else attempt.hold_tenths


def _could_be_best(leaf: AttemptLeaf, attempt: Attempt) -> bool:
    """Whether the try would be a success were it only long enough, or of reps enough."""
    if asks_clean(leaf) and not attempt.clean:
        return False
    match leaf:
        case BestOf(RepsTarget(_, unbroken)):
            return attempt.unbroken or not unbroken
        case _:
            return is_hold(attempt.hold_tenths)
