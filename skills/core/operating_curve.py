"""What a rule lets through: the chance that it passes somebody whose true clean rate is known. An estimate.

The model. Tries are independent and each is clean with the same chance. All else that the rule asks of a try is
given: it is judged and without help (or as the rule asks), as long, of the grade and at the angle asked for, and one
hold or set each; other steps stand as passed. Sessions, days and windows follow from the plan, with one session a
day. The rule passes when it is met at any moment from the first try to the last one. The chance never falls when the
clean rate rises, for every rule there is: a clean try instead of a miss takes nothing away from any condition.

Three ways to the figure: the binomial formula where only the number of clean tries matters; a Markov chain over what
the rule still remembers, exact as well; and for rules that remember too much a simulation with a stated error.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from math import comb, fsum, sqrt
from operator import or_
from typing import TYPE_CHECKING, Any, Final, Literal

from skills.core.conditions import Criterion
from skills.core.plans import Moment, Part, Plan, PlannedRule, verdict

if TYPE_CHECKING:
    from numpy.typing import NDArray

    _Array = NDArray[Any]

RATES: Final = tuple(percent / 100 for percent in range(10, 100, 5))
MOST_MEMORIES: Final = 1_000  # that a chain may tell apart after a try
MOST_MOVES: Final = 12_000  # that a chain may take in all
SAMPLES: Final = 10_000
_SEED: Final = 19_270_703

Method = Literal["formula", "chain", "simulation"]


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
    """Return the curve of a criterion for rising rates; the same input gives the same figures, to the last digit."""
    rule = PlannedRule.of(criterion, plan)
    if rule.only_counts:
        return _curve("formula", rates, [_at_least_so_many(rule, rate) for rate in rates])
    try:
        *_, chances = _chain(rule, rates)
    except _RemembersTooMuchError:
        return Curve(tuple(_simulated(rule, rates)), "simulation")
    return _curve("chain", rates, chances)


def _curve(method: Method, rates: Iterable[float], chances: Iterable[float]) -> Curve:
    pairs = zip(rates, chances, strict=True)
    return Curve(tuple(Point(rate, min(1.0, chance)) for rate, chance in pairs), method)


# ---- The formula -------------------------------------------------------------------------------------------------


def _at_least_so_many(rule: PlannedRule, rate: float) -> float:
    """Return the upper tail of the binomial distribution from the count that the rule asks for."""
    [part] = rule.parts.values()
    if not part.asks_clean:
        return float(part.need.count <= rule.plan.tries)
    tries = rule.plan.tries
    return fsum(
        comb(tries, clean) * rate**clean * (1 - rate) ** (tries - clean) for clean in range(part.need.count, tries + 1)
    )


# ---- The chain ---------------------------------------------------------------------------------------------------

# What a part remembers. Of tries that can fall out of view: a mark for each success in view, which is its place where
# tries leave one by one and its session where they leave together. Of all others: how many there were, in how many
# sessions, and in which one the last was.
_Memory = tuple[int, ...]
_Memories = tuple[_Memory, ...]
_Masses = list[float]  # one for each clean rate


class _RemembersTooMuchError(Exception):
    """The rule tells more pasts apart than a chain can carry."""


def _chain(rule: PlannedRule, rates: Sequence[float]) -> Iterator[_Masses]:
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
        alive = _look(rule, Moment(place + 1, rule.plan.day_of(place)), tried, passed)
        if len(alive) > MOST_MEMORIES or moves > MOST_MOVES:
            raise _RemembersTooMuchError
        yield [*passed]


def _look(
    rule: PlannedRule, at: Moment, alive: Mapping[_Memories, _Masses], passed: _Masses
) -> dict[_Memories, _Masses]:
    """Let the memories fade at a moment, move those that meet the rule to the passed, and return the others."""
    left: dict[_Memories, _Masses] = {}
    for memories, masses in alive.items():
        faded = tuple(_faded(part, memory, at) for part, memory in zip(rule.parts.values(), memories, strict=True))
        met = {leaf: _is_met(part, memory, at) for (leaf, part), memory in zip(rule.parts.items(), faded, strict=True)}
        if verdict(rule.criterion, met):
            passed[:] = [sum(pair) for pair in zip(passed, masses, strict=True)]
        else:
            _pour(left, faded, masses)
    return left


def _pour(into: dict[_Memories, _Masses], memories: _Memories, masses: _Masses) -> None:
    there = into.get(memories)
    into[memories] = masses if there is None else [sum(pair) for pair in zip(there, masses, strict=True)]


def _nothing(part: Part) -> _Memory:
    return () if part.forgets else (0, 0, -1)


def _seen(part: Part, memory: _Memory, place: int, *, is_clean: bool) -> _Memory:
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


def _faded(part: Part, memory: _Memory, at: Moment) -> _Memory:
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


def _is_met(part: Part, memory: _Memory, at: Moment) -> bool:
    tries = at.made - part.first_in_view(at)
    if not part.forgets:
        return memory[0] >= part.enough(tries) and memory[1] >= part.spread
    if len(memory) < part.enough(tries):
        return False
    sessions = map(part.plan.session_of, memory) if part.need.of else memory
    return part.spread == 1 or len({*sessions}) >= part.spread


# ---- The simulation ----------------------------------------------------------------------------------------------


def _simulated(rule: PlannedRule, rates: Sequence[float]) -> Iterator[Point]:
    """Yield estimates from SAMPLES athletes for rising rates. Each has the same luck at every rate.

    So who passes at one rate passes at each higher one: the curve never falls, and they need not be looked at again.
    The standard error is that of a share with one more athlete who passes and one more who does not: it is not
    nothing where all of them pass.
    """
    import numpy as np  # noqa: PLC0415 - only who needs a simulation pays for it

    luck = np.random.Generator(np.random.PCG64(_SEED)).random((rule.plan.tries, SAMPLES), dtype=np.float32)
    for rate in rates:
        luck = luck[:, ~_passed(rule, luck < rate)]
        passed = SAMPLES - luck.shape[1]
        share = (passed + 1) / (SAMPLES + 2)
        yield Point(rate, passed / SAMPLES, sqrt(share * (1 - share) / SAMPLES))


def _passed(rule: PlannedRule, clean: "_Array") -> "_Array":
    """Return who passes: a row of ``clean`` for each try, a column for each athlete."""
    asked = {part.asks_clean for part in rule.parts.values()}
    crowd = {asks_clean: _Crowd.of(clean if asks_clean else clean | True, rule.plan) for asks_clean in asked}
    passed: _Array = reduce(
        or_,
        (
            verdict(rule.criterion, {leaf: crowd[part.asks_clean].met(part, at) for leaf, part in rule.parts.items()})
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

    def met(self, part: Part, at: Moment) -> "_Array":
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
