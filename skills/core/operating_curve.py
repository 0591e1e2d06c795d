"""What a rule lets through: the chance that it passes somebody whose true clean rate is known. An estimate.

The model. Tries are independent and each is clean with the same chance. All else that the rule asks of a try is
given: it is judged, without help, as long, of the grade and at the angle asked for, and one hold or set each; other
steps stand as passed. Sessions, days and windows follow from the plan, with one session a day. The rule passes when
it is met at any moment from the first try to the last one. The chance never falls when the clean rate rises, for
every rule there is: a clean try instead of a miss takes nothing away from any condition.

Three ways to the figure: the binomial formula where only the number of clean tries matters; a Markov chain over what
the rule still remembers, exact as well; and for rules that remember too much a simulation with a stated error.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache, reduce
from math import comb, fsum, sqrt
from operator import and_, or_
from typing import TYPE_CHECKING, Any, Final, Literal

from skills.core.conditions import (
    AllOf,
    AngleTarget,
    AnyOf,
    AtLeastOf,
    AttemptLeaf,
    Branch,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    Leaf,
    RepsOf,
    RepsTarget,
    StepPassed,
    asks_clean,
    attempt_leaves,
    target_of,
)
from skills.core.tallies import Need, need_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    _Array = NDArray[Any]

RATES: Final = tuple(percent / 100 for percent in range(10, 100, 5))
MOST_TRIES: Final = 200
MOST_DAYS_BETWEEN: Final = 90
MOST_MEMORIES: Final = 1_000  # that a chain may tell apart after a try
MOST_MOVES: Final = 12_000  # that a chain may take in all
SAMPLES: Final = 20_000
_SEED: Final = 19_270_703

Method = Literal["formula", "chain", "simulation"]


@dataclass(frozen=True, slots=True)
class Plan:
    """How many tries there are, how many of them in a session, and how many days lie from session to session.

    Raises ValueError outside of 1 to MOST_TRIES, and of 1 to MOST_DAYS_BETWEEN.
    """

    tries: int
    tries_a_session: int
    days_between_sessions: int

    def __post_init__(self) -> None:
        if not (0 < self.tries <= MOST_TRIES and 0 < self.tries_a_session <= MOST_TRIES):
            raise ValueError(f"A plan has 1 to {MOST_TRIES} tries, and as many a session.")
        if not 0 < self.days_between_sessions <= MOST_DAYS_BETWEEN:
            raise ValueError(f"Sessions lie 1 to {MOST_DAYS_BETWEEN} days apart.")

    def session_of(self, place: int) -> int:
        """Return the session, counted from 0, of a try, counted from 0."""
        return place // self.tries_a_session

    def day_of(self, place: int) -> int:
        """Return the day, counted from 0, of a try, counted from 0."""
        return self.session_of(place) * self.days_between_sessions


@dataclass(frozen=True, slots=True)
class Point:
    """The chance to pass at a true clean rate; with its standard error where it was simulated."""

    rate: float
    chance: float
    standard_error: float | None = None


@dataclass(frozen=True, slots=True)
class Curve:
    """The points by rising rate, and how they were found."""

    points: tuple[Point, ...]
    method: Method

    def at(self, rate: float) -> Point:
        """Return the point at one of the curve's rates; raises KeyError for any other."""
        return {point.rate: point for point in self.points}[rate]


@lru_cache(maxsize=128)
def curve_of(criterion: Criterion, plan: Plan, rates: tuple[float, ...] = RATES) -> Curve:
    """Return the curve of a criterion; the same input gives the same figures, to the last digit."""
    rule = _Rule.of(criterion, plan)
    if rule.only_counts:
        return _curve("formula", rates, [rule.at_least_so_many(rate) for rate in rates])
    try:
        *_, chances = _chain(rule, rates)
    except _RemembersTooMuchError:
        return Curve(tuple(_simulated(rule, rates)), "simulation")
    return _curve("chain", rates, chances)


def _curve(method: Method, rates: Iterable[float], chances: Iterable[float]) -> Curve:
    pairs = zip(rates, chances, strict=True)
    return Curve(tuple(Point(rate, min(1.0, chance)) for rate, chance in pairs), method)


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


# ---- A rule under a plan -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Moment:
    """A moment at which a rule may come to be met: so many tries are made, on this day."""

    made: int
    day: int


@dataclass(frozen=True)
class _Part:
    """One leaf under a plan: what is in its view at a moment, and how much of it is enough."""

    need: Need
    window_days: int | None
    asks_clean: bool
    plan: Plan

    @classmethod
    def of(cls, leaf: AttemptLeaf, plan: Plan) -> "_Part":
        return cls(need_of(leaf), leaf.counting.window_days, asks_clean(leaf), plan)

    @property
    def spread(self) -> int:
        """On how many sessions the successes must lie; with one session a day, that is as many dates."""
        return max(self.need.sessions, self.need.dates)

    @property
    def forgets(self) -> bool:
        """Whether a try can ever fall out of view."""
        return self.window_days is not None or (self.need.of or MOST_TRIES) < self.plan.tries

    @property
    def expiries(self) -> set[int]:
        """The days on which tries leave the window."""
        last, between = self.plan.day_of(self.plan.tries - 1), self.plan.days_between_sessions
        return set() if self.window_days is None else {day + self.window_days for day in range(0, last + 1, between)}

    def first_in_view(self, at: _Moment) -> int:
        """Return the place of the first try in view."""
        first = 0 if self.need.of is None else max(0, at.made - self.need.of)
        if self.window_days is None:
            return first
        session = (at.day - self.window_days) // self.plan.days_between_sessions + 1
        return min(at.made, max(first, session * self.plan.tries_a_session))

    def enough(self, tries: int) -> int:
        """Return how many successes among so many tries in view are enough; more than there are, where none are."""
        return _enough(self.need, tries)

    @property
    def spare(self) -> int:
        """How many misses a view can hold and be enough; more than there are tries, where any number can."""
        if self.need.of is None:
            return self.plan.tries
        return max(tries - self.enough(tries) for tries in range(self.need.of + 1))


@cache
def _enough(need: Need, tries: int) -> int:
    rate = need.rate
    return next((k for k in range(need.count, tries + 1) if rate is None or rate.shown_by(k, tries)), tries + 1)


@dataclass(frozen=True, slots=True)
class _Rule:
    """A criterion under a plan; leaves that say the same are one part."""

    criterion: Criterion
    plan: Plan
    parts: Mapping[AttemptLeaf, _Part]

    @classmethod
    def of(cls, criterion: Criterion, plan: Plan) -> "_Rule":
        return cls(criterion, plan, {leaf: _Part.of(leaf, plan) for leaf in attempt_leaves(criterion)})

    @property
    def only_counts(self) -> bool:
        """Whether all that matters is how many of the tries are clean."""
        if isinstance(self.criterion, Branch | StepPassed):
            return False
        part = self.parts[self.criterion]
        return part.need.rate is None and part.spread == 1 and not part.forgets

    def at_least_so_many(self, rate: float) -> float:
        """Return the upper tail of the binomial distribution from the count that the rule asks for."""
        [part] = self.parts.values()
        if not part.asks_clean:
            return float(part.need.count <= self.plan.tries)
        tries = self.plan.tries
        return fsum(
            comb(tries, clean) * rate**clean * (1 - rate) ** (tries - clean)
            for clean in range(part.need.count, tries + 1)
        )

    def before(self, place: int) -> Iterator[_Moment]:
        """Yield the moments from the try before it until a try at which something leaves a window."""
        days = {day for part in self.parts.values() for day in part.expiries}
        since = self.plan.day_of(place - 1) if place else -1
        for day in sorted(day for day in days if since < day <= self.plan.day_of(place)):
            yield _Moment(place, day)

    def moments(self) -> Iterator[_Moment]:
        """Yield all moments that matter, in order."""
        for place in range(self.plan.tries):
            yield from self.before(place)
            yield _Moment(place + 1, self.plan.day_of(place))


def _verdict(criterion: Criterion, met: Mapping[AttemptLeaf, Any]) -> Any:  # noqa: ANN401 - bool, or an array of them
    """Return whether the tree holds, given which of its leaves do."""
    match criterion:
        case StepPassed():
            return True
        case AllOf(conditions):
            return reduce(and_, (_verdict(each, met) for each in conditions))
        case AnyOf(conditions):
            return reduce(or_, (_verdict(each, met) for each in conditions))
        case AtLeastOf(count, conditions):
            return sum(_verdict(each, met) for each in conditions) >= count
        case _:
            return met[criterion]


# ---- The chain ---------------------------------------------------------------------------------------------------

# What a part remembers. Of tries that can fall out of view: a mark for each success in view, which is its place where
# tries leave one by one and its session where they leave together. Of all others: how many there were, in how many
# sessions, and in which one the last was.
_Memory = tuple[int, ...]
_Memories = tuple[_Memory, ...]
_Masses = list[float]  # one for each clean rate


class _RemembersTooMuchError(Exception):
    """The rule tells more pasts apart than a chain can carry."""


def _chain(rule: _Rule, rates: Sequence[float]) -> Iterator[_Masses]:
    """Yield the chances to have passed after each try. Raises _RemembersTooMuchError."""
    parts = [*rule.parts.values()]
    passed, moves = [0.0] * len(rates), 0
    alive: dict[_Memories, _Masses] = {tuple(_nothing(part) for part in parts): [1.0] * len(rates)}
    for place in range(rule.plan.tries):
        for at in rule.before(place):
            alive = _look(rule, at, alive, passed)
        moves += len(alive)
        tried: dict[_Memories, _Masses] = {}
        for memories, masses in alive.items():
            clean = [mass * rate for mass, rate in zip(masses, rates, strict=True)]
            missed = [mass - share for mass, share in zip(masses, clean, strict=True)]
            for is_clean, shares in ((True, clean), (False, missed)):
                after = tuple(_seen(*each, place, is_clean=is_clean) for each in zip(parts, memories, strict=True))
                _pour(tried, after, shares)
        alive = _look(rule, _Moment(place + 1, rule.plan.day_of(place)), tried, passed)
        if len(alive) > MOST_MEMORIES or moves > MOST_MOVES:
            raise _RemembersTooMuchError
        yield [*passed]


def _look(rule: _Rule, at: _Moment, alive: Mapping[_Memories, _Masses], passed: _Masses) -> dict[_Memories, _Masses]:
    """Let the memories fade at a moment, move those that meet the rule to the passed, and return the others."""
    left: dict[_Memories, _Masses] = {}
    for memories, masses in alive.items():
        faded = tuple(_faded(part, memory, at) for part, memory in zip(rule.parts.values(), memories, strict=True))
        met = {leaf: _is_met(part, memory, at) for (leaf, part), memory in zip(rule.parts.items(), faded, strict=True)}
        if _verdict(rule.criterion, met):
            passed[:] = [sum(pair) for pair in zip(passed, masses, strict=True)]
        else:
            _pour(left, faded, masses)
    return left


def _pour(into: dict[_Memories, _Masses], memories: _Memories, masses: _Masses) -> None:
    there = into.get(memories)
    into[memories] = masses if there is None else [sum(pair) for pair in zip(there, masses, strict=True)]


def _nothing(part: _Part) -> _Memory:
    return () if part.forgets else (0, 0, -1)


def _seen(part: _Part, memory: _Memory, place: int, *, is_clean: bool) -> _Memory:
    """Return the memory after one more try."""
    if not is_clean and part.asks_clean:
        return memory
    session, most = part.plan.session_of(place), part.plan.tries if part.need.rate else part.need.count
    if part.forgets:
        mark = place if part.need.of else session
        return memory if memory.count(mark) >= most else (*memory, mark)
    count, sessions, last = memory
    spread = min(part.spread, sessions + (session != last))
    return min(most, count + 1), spread, session if spread < part.spread else -1


def _faded(part: _Part, memory: _Memory, at: _Moment) -> _Memory:
    """Return the memory without what is out of view, and without what a view with enough can never hold again."""
    if not part.forgets or not memory:
        return memory
    first = part.first_in_view(at)
    if not part.need.of:
        return tuple(mark for mark in memory if mark >= part.plan.session_of(first))
    kept = [mark for mark in memory if mark >= first]
    while kept and at.made - kept[0] - len(kept) > part.spare:
        kept.pop(0)
    return tuple(kept)


def _is_met(part: _Part, memory: _Memory, at: _Moment) -> bool:
    tries = at.made - part.first_in_view(at)
    if not part.forgets:
        return memory[0] >= part.enough(tries) and memory[1] >= part.spread
    if len(memory) < part.enough(tries):
        return False
    sessions = map(part.plan.session_of, memory) if part.need.of else memory
    return part.spread == 1 or len({*sessions}) >= part.spread


# ---- The simulation ----------------------------------------------------------------------------------------------


def _simulated(rule: _Rule, rates: Sequence[float]) -> Iterator[Point]:
    """Yield estimates from SAMPLES athletes, the same for every rate, so that the curve never falls.

    The standard error is that of a share with one more athlete who passes and one more who does not: so it is not
    nothing where all of them pass.
    """
    import numpy as np  # noqa: PLC0415 - only who needs a simulation pays for it

    luck = np.random.Generator(np.random.PCG64(_SEED)).random((rule.plan.tries, SAMPLES), dtype=np.float32)
    for rate in rates:
        passed = int(_passed(rule, luck < rate).sum())
        share = (passed + 1) / (SAMPLES + 2)
        yield Point(rate, passed / SAMPLES, sqrt(share * (1 - share) / SAMPLES))


def _passed(rule: _Rule, clean: "_Array") -> "_Array":
    """Return who passes: a row of ``clean`` for each try, a column for each athlete."""
    crowd = {True: _Crowd.of(clean, rule.plan), False: _Crowd.of(clean | True, rule.plan)}
    passed: _Array = reduce(
        or_,
        (
            _verdict(rule.criterion, {leaf: crowd[part.asks_clean].met(part, at) for leaf, part in rule.parts.items()})
            for at in rule.moments()
        ),
    )
    return passed


@dataclass(frozen=True, slots=True)
class _Crowd:
    """Running numbers of successes, and of sessions with one, before each try and session of many athletes."""

    plan: Plan
    successes: "_Array"
    sessions: "_Array"

    @classmethod
    def of(cls, success: "_Array", plan: Plan) -> "_Crowd":
        running = _running(success)
        edges = [*range(0, plan.tries, plan.tries_a_session), plan.tries]
        return cls(plan, running, _running(running[edges[1:]] > running[edges[:-1]]))

    def met(self, part: _Part, at: _Moment) -> "_Array":
        """Return for whom the part is met at a moment."""
        first = part.first_in_view(at)
        met = self._between(first, at.made) >= part.enough(at.made - first)
        return met if part.spread == 1 else met & (self._sessions_between(first, at.made) >= part.spread)

    def _between(self, first: int, end: int) -> "_Array":
        between: _Array = self.successes[end] - self.successes[first]
        return between

    def _sessions_between(self, first: int, end: int) -> "_Array":
        """Count the sessions with a success among the tries from ``first`` up to ``end``: whole ones, and the ends."""
        each = self.plan.tries_a_session
        whole_from, whole_until = -(-first // each), end // each
        if whole_until < whole_from:
            return (self._between(first, end) > 0).astype(int)
        whole: _Array = self.sessions[whole_until] - self.sessions[whole_from]
        return whole + (self._between(first, whole_from * each) > 0) + (self._between(whole_until * each, end) > 0)


def _running(success: "_Array") -> "_Array":
    """Return the numbers of successes before each row, and after the last one."""
    import numpy as np  # noqa: PLC0415 - see above

    running = np.zeros((len(success) + 1, success.shape[1]), dtype=np.int16)
    success.cumsum(axis=0, dtype=np.int16, out=running[1:])
    return running
