"""Counting for one leaf of a criterion: which tries it sees, and over which spans they are enough.

A leaf is met as long as some run of the latest tries holds enough successes, and the first of the run
is still inside the window. So it is found once for each try, by letting go of early tries as long as
the rest is enough, and never by counting again for each moment.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from typing import TypeVar

from skills.core.conditions import AttemptLeaf, BestOf, HoldsOf, LastOf, RepsOf, looks_at, succeeds
from skills.core.counted import Counted
from skills.core.days import day_starts_us
from skills.core.spans import FOREVER, Spans

_K = TypeVar("_K", str, date)


@dataclass(frozen=True, slots=True)
class Need:
    """How many successes are enough, how far they must spread, and among how many tries (None = all)."""

    count: int
    sessions: int
    dates: int
    of: int | None


@dataclass(frozen=True, slots=True)
class Seen:
    """A counted attempt as one leaf sees it; ``weight`` is what it adds to the count."""

    counted: Counted
    leaves_us: int  # when it falls out of the window
    success: bool
    weight: int

    @property
    def at_us(self) -> int:
        """The moment of the try."""
        return self.counted.attempt.happened_us


@dataclass(slots=True)
class Tally:
    """A running count of successes, their training sessions and their days."""

    count: int = 0
    sessions: Counter[str] = field(default_factory=Counter)
    dates: Counter[date] = field(default_factory=Counter)

    @classmethod
    def of(cls, tries: Iterable[Seen]) -> "Tally":
        """Count some tries."""
        tally = cls()
        for seen in tries:
            tally.add(seen)
        return tally

    def add(self, seen: Seen) -> None:
        """Count one more try; a miss adds nothing."""
        if seen.success:
            self.count += seen.weight
            self.sessions[seen.counted.session] += 1
            self.dates[seen.counted.on] += 1

    def drop(self, seen: Seen) -> None:
        """Take a try out again."""
        if seen.success:
            self.count -= seen.weight
            _take_one(self.sessions, seen.counted.session)
            _take_one(self.dates, seen.counted.on)

    def enough(self, need: Need) -> bool:
        """Whether count, sessions and days all reach what is needed."""
        return self.count >= need.count and len(self.sessions) >= need.sessions and len(self.dates) >= need.dates


@dataclass(frozen=True, slots=True)
class Tries:
    """The tries that one leaf sees, by moment and id."""

    seen: tuple[Seen, ...]
    need: Need
    _at_us: list[int]
    _leaves_us: list[int]

    @classmethod
    def at(cls, leaf: AttemptLeaf, attempts: Iterable[Counted], zone: str) -> "Tries":
        """Pick the tries that the leaf takes notice of; the attempts come by moment and id."""
        seen = tuple(_seen(leaf, counted, zone) for counted in attempts if looks_at(leaf, counted.attempt))
        return cls(seen, need_of(leaf), [each.at_us for each in seen], [each.leaves_us for each in seen])

    def in_view(self, us: int) -> Sequence[Seen]:
        """Return the tries up to ``us`` that are inside the window, at most the last ``of`` of them."""
        end = bisect_right(self._at_us, us)
        start = bisect_right(self._leaves_us, us)
        return self.seen[start if self.need.of is None else max(start, end - self.need.of) : end]

    def successes_in_view(self, us: int) -> Iterator[Seen]:
        """Yield the successes among the tries in view."""
        return (seen for seen in self.in_view(us) if seen.success)

    def met(self) -> Spans:
        """Return when the successes are enough."""
        return Spans.of(self._met_pairs())

    def first_success_after(self, us: int) -> int | None:
        """Return the moment of the first success later than ``us``."""
        return next((seen.at_us for seen in self.seen if seen.success and seen.at_us > us), None)

    def _met_pairs(self) -> Iterator[tuple[int, int]]:
        """Yield, for each try, the time from it to the next during which the latest tries are enough."""
        tally, start = Tally(), 0
        gaps = pairwise([*self._at_us, FOREVER])
        for end, (seen, (at_us, next_us)) in enumerate(zip(self.seen, gaps, strict=True), start=1):
            tally.add(seen)
            if not tally.enough(self.need):
                continue
            start = self._shortest_start(tally, start)
            if self.need.of is None or end - start <= self.need.of:
                yield at_us, min(next_us, self.seen[start].leaves_us)

    def _shortest_start(self, tally: Tally, start: int) -> int:
        """Let go of early tries as long as the rest is enough; return where what is left starts."""
        while True:
            tally.drop(self.seen[start])
            if not tally.enough(self.need):
                tally.add(self.seen[start])
                return start
            start += 1


def need_of(leaf: AttemptLeaf) -> Need:
    """Return what is enough for a leaf; one attempt that reaches the target is enough for the best."""
    match leaf:
        case HoldsOf() | RepsOf():
            return Need(leaf.count, leaf.counting.sessions, leaf.counting.dates, None)
        case BestOf():
            return Need(1, 1, 1, None)
        case LastOf():
            return Need(leaf.clean, leaf.counting.sessions, leaf.counting.dates, leaf.of)


def _seen(leaf: AttemptLeaf, counted: Counted, zone: str) -> Seen:
    weight = counted.attempt.reps if isinstance(leaf, HoldsOf) else 1
    return Seen(
        counted,
        _leaves_us(counted.on, leaf.counting.window_days, zone),
        succeeds(leaf, counted.attempt),
        weight,
    )


def _leaves_us(on: date, window_days: int | None, zone: str) -> int:
    """A window of N days is today and the N - 1 days before it, so day d leaves when d + N starts."""
    return FOREVER if window_days is None else day_starts_us(on + timedelta(days=window_days), zone)


def _take_one(counter: Counter[_K], key: _K) -> None:
    counter[key] -= 1
    if not counter[key]:
        del counter[key]
