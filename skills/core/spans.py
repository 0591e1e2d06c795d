"""Spans of time: when something holds. Joined and cut like sets, so that a rule reads like its sentence."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import reduce
from itertools import accumulate, pairwise
from operator import and_, or_
from typing import Final, NamedTuple

FOREVER: Final = 2**63 - 1
SINCE_EVER: Final = -FOREVER


class Span(NamedTuple):
    """From a moment on, up to and without another (microseconds since 1970 UTC)."""

    from_us: int
    until_us: int


@dataclass(frozen=True, slots=True)
class Spans:
    """Sorted spans that neither meet nor overlap; make them with ``Spans.of``."""

    spans: tuple[Span, ...] = ()

    @classmethod
    def of(cls, pairs: Iterable[tuple[int, int]]) -> "Spans":
        """Make spans of (from, until) pairs in any order; empty pairs vanish, touching ones become one."""
        merged: list[Span] = []
        for from_us, until_us in sorted(pairs):
            if from_us >= until_us:
                continue
            if merged and from_us <= merged[-1].until_us:
                merged[-1] = Span(merged[-1].from_us, max(merged[-1].until_us, until_us))
            else:
                merged.append(Span(from_us, until_us))
        return cls(tuple(merged))

    def __or__(self, other: "Spans") -> "Spans":
        """Return when at least one of the two holds."""
        return Spans.of((*self.spans, *other.spans))

    def __and__(self, other: "Spans") -> "Spans":
        """Return when both hold."""
        return Spans.of(_overlaps(self.spans, other.spans))

    def covering(self, us: int) -> Span | None:
        """Return the span that holds the moment ``us``."""
        place = bisect_right(self.spans, (us, FOREVER)) - 1
        return self.spans[place] if place >= 0 and us < self.spans[place].until_us else None

    def covers(self, us: int) -> bool:
        """Whether it holds at the moment ``us``."""
        return self.covering(us) is not None

    def first_us(self) -> int | None:
        """Return the first moment at which it holds, if ever."""
        return self.spans[0].from_us if self.spans else None

    def edges(self) -> Iterator[int]:
        """Yield every moment at which it begins or ends to hold."""
        for span in self.spans:
            yield from span


NEVER: Final = Spans()
ALWAYS: Final = Spans((Span(SINCE_EVER, FOREVER),))


def since(us: int) -> Spans:
    """Return the span from a moment on, for ever."""
    return Spans.of([(us, FOREVER)])


def all_hold(parts: Iterable[Spans]) -> Spans:
    """Return when every part holds."""
    return reduce(and_, parts, ALWAYS)


def any_holds(parts: Iterable[Spans]) -> Spans:
    """Return when at least one part holds."""
    return reduce(or_, parts, NEVER)


def enough_hold(count: int, parts: Iterable[Spans]) -> Spans:
    """Return when at least ``count`` (one or more) of the parts hold."""
    turns: Counter[int] = Counter()
    for span in (span for part in parts for span in part.spans):
        turns[span.from_us] += 1
        turns[span.until_us] -= 1
    moments = sorted(turns)
    holding = accumulate(turns[us] for us in moments)
    return Spans.of(pair for pair, how_many in zip(pairwise(moments), holding, strict=False) if how_many >= count)


def _overlaps(left: tuple[Span, ...], right: tuple[Span, ...]) -> Iterator[tuple[int, int]]:
    i = j = 0
    while i < len(left) and j < len(right):
        yield max(left[i].from_us, right[j].from_us), min(left[i].until_us, right[j].until_us)
        if left[i].until_us <= right[j].until_us:
            i += 1
        else:
            j += 1
