"""The trend of an athlete's holds: a robust slope with its interval, when a target would be met, and plateaus.

Of each day the best clean hold counts. The slope is the median of the slopes between all pairs of days, its interval
that of Sen (1968): one bad day moves neither far. A change that a hand with a stopwatch cannot tell is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median
from typing import Final, Literal

from skills.core.timing_error import NOISE_TENTHS

PERCENT: Final = 90
LEAST_RESULTS: Final = 5  # with fewer, the interval is nearly always all that there is
WINDOW_DAYS: Final = 182  # results of the last half year make the trend
PLATEAU_DAYS: Final = 28
PLATEAU_RESULTS: Final = 5
FAR_DAYS: Final = 730  # what lies further ahead than two years is not given a date

Direction = Literal["longer", "shorter", "none"]


@dataclass(frozen=True, slots=True)
class DayBest:
    """The best clean hold of one day, in tenths of a second."""

    on: date
    tenths: int


@dataclass(frozen=True, slots=True)
class Slope:
    """Seconds a day: the median of the pairs' slopes, and the interval around it that holds PERCENT of 100.

    `middle_on` and `middle_s` are the point that the line goes through: the median day and the median hold.
    """

    a_day: float
    low: float
    high: float
    middle_on: float  # days since the first result
    middle_s: float

    def at(self, days: float) -> float:
        """Return the line's height in seconds, so many days after the first result."""
        return self.middle_s + self.a_day * (days - self.middle_on)


@dataclass(frozen=True, slots=True)
class Reach:
    """When the line meets a target: not before `earliest` and, unless None for too far ahead, not after `latest`.

    `earliest` is None as well where even the steepest line takes more than FAR_DAYS.
    """

    earliest: date | None
    latest: date | None


@dataclass(frozen=True, slots=True)
class Plateau:
    """Nothing longer by 0.3 s or more since the best of `since`, in so many later results over so many days."""

    since: DayBest
    results: int
    days: int


@dataclass(frozen=True, slots=True)
class Trend:
    """What the results of a window say, the oldest first; `direction` is none where the interval holds nought.

    It is none, too, where the line changes by less than 0.3 s from the first result to the last one.
    """

    results: tuple[DayBest, ...]
    slope: Slope
    direction: Direction
    plateau: Plateau | None

    @property
    def first_on(self) -> date:
        """The day of the first result."""
        return self.results[0].on

    @property
    def span_days(self) -> int:
        """From the first result to the last one."""
        return (self.results[-1].on - self.first_on).days

    @property
    def best(self) -> DayBest:
        """The longest hold, the first of equal ones."""
        return max(self.results, key=lambda result: result.tenths)

    def height_on(self, day: date) -> float:
        """Return the height of the line in seconds on a day."""
        return self.slope.at((day - self.first_on).days)


def trend_of(results: Sequence[DayBest]) -> Trend | None:
    """Return the trend of results, one a day at most and the oldest first; None for fewer than LEAST_RESULTS.

    Raises ValueError for two results of one day, and for days out of order.
    """
    if any(later.on <= earlier.on for earlier, later in pairwise(results)):
        raise ValueError("A trend takes one result a day, the oldest first.")
    if len(results) < LEAST_RESULTS:
        return None
    days = [(result.on - results[0].on).days for result in results]
    slope = slope_of(days, [result.tenths / 10 for result in results])
    return Trend(tuple(results), slope, _direction(slope, days[-1]), plateau_of(results))


def slope_of(days: Sequence[float], seconds: Sequence[float], percent: int = PERCENT) -> Slope:
    """Return the Theil-Sen slope of points (two at least, not all on one day) with Sen's interval.

    Sen PK, Journal of the American Statistical Association 63:1379-1389, 1968.
    """
    from scipy.stats import theilslopes  # noqa: PLC0415 - only who looks at a trend pays for it

    found = theilslopes(seconds, days, percent / 100)
    middle = float(median(days))
    return Slope(
        float(found.slope),
        float(found.low_slope),
        float(found.high_slope),
        middle,
        float(found.intercept) + float(found.slope) * middle,
    )


def _direction(slope: Slope, span_days: float) -> Direction:
    if abs(slope.a_day * span_days) * 10 < NOISE_TENTHS or slope.low <= 0 <= slope.high:
        return "none"
    return "longer" if slope.a_day > 0 else "shorter"


def plateau_of(results: Sequence[DayBest]) -> Plateau | None:
    """Return the plateau that the results end in, or None.

    The best that stands is the last result that lay 0.3 s or more above the best that stood before. A plateau is
    PLATEAU_RESULTS or more results after it, the last of them PLATEAU_DAYS or more after it.
    """
    standing, after = results[0], 0
    for result in results[1:]:
        if result.tenths - standing.tenths >= NOISE_TENTHS:
            standing, after = result, 0
        else:
            after += 1
    days = (results[-1].on - standing.on).days
    return Plateau(standing, after, days) if after >= PLATEAU_RESULTS and days >= PLATEAU_DAYS else None


def reach_of(trend: Trend, target_tenths: int, today: date) -> Reach | None:
    """Return when the line meets a target that no result has met; None, not in sight, unless it surely rises.

    The steepest and the flattest line of the interval go through the middle of the results. Neither day lies before
    today: a line that is there already says that the next try may be it.
    """
    if trend.direction != "longer" or trend.slope.low <= 0:
        return None
    lacking = target_tenths / 10 - trend.slope.middle_s
    return Reach(
        _day_ahead(trend, lacking / trend.slope.high, today), _day_ahead(trend, lacking / trend.slope.low, today)
    )


def _day_ahead(trend: Trend, days_from_middle: float, today: date) -> date | None:
    ahead = trend.slope.middle_on + days_from_middle - (today - trend.first_on).days
    return None if ahead > FAR_DAYS else today + timedelta(days=max(0, round(ahead)))
