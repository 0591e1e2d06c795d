"""Draws the best clean hold of each day with the robust line through them, its interval, and what is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Final

from django.utils.safestring import SafeString

from gymtrack.lib.charts import Axis, Chart, Frame, Point, draw
from skills import wording
from skills.core.trend import DayBest, Slope, Trend
from skills.queries.books import StepPage

_LABELS: Final = 4  # dates below the picture that a phone has room for


def trend_chart(results: Sequence[DayBest], trend: Trend | None, target_tenths: int, page: StepPage) -> Chart:
    """Draw results (one at least, the oldest first); the line only where there is a trend."""
    first = results[0].on
    points = [((result.on - first).days, result.tenths / 10) for result in results]
    highest = [0.0, *(height for _, height in points), *([target_tenths / 10] if target_tenths else [])]
    frame = Frame(_days(first, results[-1].on), Axis.over("seconds", highest))
    return draw(
        frame,
        [
            *_lines(frame, trend, target_tenths, points[-1][0]),
            frame.dots(points, "dot", [_told(each) for each in results]),
        ],
        name=f"trend-{page.code}",
        title=f"Best clean hold of each day: {page.label} {page.name}",
        description=_described(results, trend, target_tenths),
        columns=("Day", "Best clean hold", *(("By the line",) if trend else ())),
        rows=[_row(result, trend) for result in reversed(results)],
    )


def _days(first: date, last: date) -> Axis:
    span = max((last - first).days, 1)
    count = min(_LABELS, span)
    at = [round(place * span / count) for place in range(count + 1)]
    return Axis("day", at, lambda days: f"{(day := first + timedelta(days=int(days))).day} {day:%b}", inset=span / 40)


def _lines(frame: Frame, trend: Trend | None, target_tenths: int, last: float) -> Iterator[SafeString]:
    if target_tenths:
        yield frame.line([(0, target_tenths / 10), (max(last, 1), target_tenths / 10)], "target")
    if trend and last:
        yield frame.band(*_band(trend.slope, last, frame.y.at[-1]))
        yield frame.line([(day, trend.slope.at(day)) for day in (0, last)])


def _band(slope: Slope, last: float, top: float) -> tuple[list[Point], list[Point]]:
    """Return the lower and the upper edge of all lines of the interval, which meet in the middle; inside the frame."""
    low: list[Point] = []
    high: list[Point] = []
    for day in (0.0, slope.middle_on, last):
        heights = [slope.middle_s + each * (day - slope.middle_on) for each in (slope.low, slope.high)]
        low.append((day, min(max(min(heights), 0.0), top)))
        high.append((day, min(max(*heights, 0.0), top)))
    return low, high


def _described(results: Sequence[DayBest], trend: Trend | None, target_tenths: int) -> str:
    shortest, longest = (wording.seconds(end([each.tenths for each in results])) for end in (min, max))
    words = f"{wording.counted(len(results), 'day')}, from {shortest} to {longest}"
    words += f"; the criterion asks for {wording.seconds(target_tenths)}" if target_tenths else ""
    return words + (f". The line changes by {trend.slope.a_day * 7:+.2f} s a week." if trend else ". No line is drawn.")


def _told(result: DayBest) -> str:
    return f"{wording.seconds(result.tenths)} on {_day(result.on)}"


def _row(result: DayBest, trend: Trend | None) -> tuple[str, ...]:
    by_line = (f"{trend.height_on(result.on):.1f} s",) if trend else ()
    return (_day(result.on), wording.seconds(result.tenths), *by_line)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
