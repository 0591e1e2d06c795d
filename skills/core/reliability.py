"""How good a clean rate is for sure: the lower end of the Wilson score interval, decided in whole numbers.

Wilson EB (1927), Journal of the American Statistical Association 22:209-212; method 3, without continuity
correction, of Newcombe RG (1998), Statistics in Medicine 17:857-872. With k clean of n tries and z the normal
quantile of the confidence, the lower end is at least L exactly if k/n >= L and (k - nL)² >= z² n L (1 - L).
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from skills.core.conditions import Confidence

MOST_PERCENT: Final = 99  # no number of clean tries shows that none will ever fail
# Squares of the normal quantiles of two-sided intervals (those of chi-squared, 1 degree of freedom), times 10^12.
_Z_SQUARED: Final[Mapping[Confidence, int]] = {80: 1_642374_415150, 90: 2_705543_454095, 95: 3_841458_820694}
_SCALE: Final = 10**12


@dataclass(frozen=True, slots=True)
class Rate:
    """A clean rate of at least ``percent`` (1 to MOST_PERCENT), as sure as a two-sided interval of ``confidence``."""

    percent: int
    confidence: Confidence

    def shown_by(self, clean: int, of: int) -> bool:
        """Whether ``clean`` of ``of`` tries show the rate; no tries show nothing."""
        over = 100 * clean - of * self.percent  # 100 (k - nL)
        wide = _Z_SQUARED[self.confidence] * of * self.percent * (100 - self.percent)
        return of > 0 and over >= 0 and over * over * _SCALE >= wide

    def reachable_with(self, of: int) -> bool:
        """Whether the rate can be shown by ``of`` tries at all: all of them clean."""
        return self.shown_by(of, of)

    def more_clean(self, results: Sequence[bool], of: int | None) -> int:
        """Return how many clean tries in a row, after ``results`` (oldest first), would show the rate.

        With ``of``, only that many of the latest tries count; where not even they could, ``of`` is returned.
        """
        most = 1 if of is None else of
        while of is None and not self._shown_after(results, most, of):
            most *= 2
        return bisect_left(range(most), x=True, key=lambda more: self._shown_after(results, more, of))

    def _shown_after(self, results: Sequence[bool], more: int, of: int | None) -> bool:
        kept = results if of is None else results[max(0, len(results) + more - of) :]
        return self.shown_by(sum(kept) + more, len(kept) + more)


def shown_percent(clean: int, of: int, confidence: Confidence) -> int:
    """Return the lower end of the interval in whole per cent, cut; 0 for no tries."""
    return bisect_left(range(1, MOST_PERCENT + 1), x=True, key=lambda p: not Rate(p, confidence).shown_by(clean, of))
