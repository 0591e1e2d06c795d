"""Counting for one leaf of a criterion: which tries it sees, and over which spans they are enough.

What a leaf has in view changes when a try arrives and when one leaves the window, and at no other moment. So the
tries are walked through once, from one such moment to the next, with a running tally.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from typing import TypeVar

from skills.core.conditions import (
    AngleOf,
    AttemptLeaf,
    BestOf,
    HoldsOf,
    LastOf,
    ReliabilityOf,
    RepsOf,
    looks_at,
    succeeds,
)
from skills.core.counted import Counted
from skills.core.days import day_starts_us
from skills.core.reliability import Rate
from skills.core.spans import FOREVER, Spans

_K = TypeVar("_K", str, date)


@dataclass(frozen=True, slots=True)
class Need:
    """How many successes are enough, how far they must spread, and among how many tries (None = all).

    With a ``rate``, the successes must also be so many of the tries that they show it.
    """

    count: int
    sessions: int
    dates: int
    of: int | None
    rate: Rate | None = None


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
    """A running count of tries, of successes, and of the training sessions and days of these."""

    tries: int = 0
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
        """Count one more try."""
        self.tries += 1
        if seen.success:
            self.count += seen.weight
            self.sessions[seen.counted.session] += 1
            self.dates[seen.counted.on] += 1

    def drop(self, seen: Seen) -> None:
        """Take a try out again."""
        self.tries -= 1
        if seen.success:
            self.count -= seen.weight
            _take_one(self.sessions, seen.counted.session)
            _take_one(self.dates, seen.counted.on)

    def enough(self, need: Need) -> bool:
        """Whether count, sessions, days and rate all reach what is needed."""
        return (
            self.count >= need.count
            and len(self.sessions) >= need.sessions
            and len(self.dates) >= need.dates
            and (need.rate is None or need.rate.shown_by(self.count, self.tries))
        )


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
        """Yield the times between two moments of change during which the tries in view are enough."""
        tally, start, end = Tally(), 0, 0
        moments = sorted({*self._at_us, *self._leaves_us} - {FOREVER})
        for us, next_us in pairwise([*moments, FOREVER]):
            while end < len(self.seen) and self._at_us[end] <= us:
                tally.add(self.seen[end])
                end += 1
            while start < end and (self._leaves_us[start] <= us or tally.tries > (self.need.of or end)):
                tally.drop(self.seen[start])
                start += 1
            if tally.enough(self.need):
                yield us, next_us


def need_of(leaf: AttemptLeaf) -> Need:
    """Return what is enough for a leaf; one attempt that reaches the target is enough for the best."""
    match leaf:
        case HoldsOf() | RepsOf() | AngleOf():
            return Need(leaf.count, leaf.counting.sessions, leaf.counting.dates, None)
        case BestOf():
            return Need(1, 1, 1, None)
        case LastOf():
            return Need(leaf.clean, leaf.counting.sessions, leaf.counting.dates, leaf.of)
        case ReliabilityOf():
            rate = Rate(leaf.percent, leaf.confidence)
            return Need(1, leaf.counting.sessions, leaf.counting.dates, leaf.of, rate)


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
