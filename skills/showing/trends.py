"""How an athlete's holds at a step went, told: the slope, when the target would be met, plateaus, and the curve."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final

from gymtrack.lib.charts import Chart
from skills import wording
from skills.core.conditions import AngleTarget, HoldTarget, attempt_leaves, target_of
from skills.core.days import moment_us
from skills.core.figures import Figure
from skills.core.trend import (
    FAR_DAYS,
    LEAST_RESULTS,
    PERCENT,
    PLATEAU_DAYS,
    PLATEAU_RESULTS,
    WINDOW_DAYS,
    DayBest,
    Plateau,
    Reach,
    Trend,
    reach_of,
    trend_of,
)
from skills.queries.books import Book, StepPage, book_of
from skills.queries.clean_holds import day_bests
from skills.showing.trend_chart import trend_chart

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import Step

_WEEKS: Final = WINDOW_DAYS // 7
_FAR_YEARS: Final = FAR_DAYS // 365
_SLOPE: Final = (
    "The median of the slopes between all pairs of days (Theil and Sen), from the best clean hold of each day; its "
    "interval is Sen’s. One odd day moves it little."
)
_REACH: Final = (
    "The steepest and the flattest line of the slope’s interval, both through the median day and hold, up to the "
    "target. It takes for granted that it goes on like this, which nobody knows."
)
_CAUTION: Final = "An estimate counts as no evidence; a hold that was ended at its count cannot show more."


@dataclass(frozen=True, slots=True)
class TrendsPanel:
    """What the last half year of holds at a step says; `why_none` is the sentence where it says nothing."""

    why_none: str
    said: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    chart: Chart | None = None
    is_empty: bool = False  # a step of which a trend is never told


def trends_panel(*, athlete: Athlete, step: StepPage | Step, now: datetime) -> TrendsPanel:
    """Return the trend of an athlete's holds at a step; one query beside the gym's book."""
    book = book_of(athlete.gym)
    page = book.steps[step.code]
    if not page.form.is_hold:
        return TrendsPanel("This step is counted in reps; a trend is told of holds.", is_empty=True)
    results = day_bests(athlete=athlete, step_id=page.id, now=now)
    target = _target_tenths(book, page.code, now)
    trend = trend_of(results)
    if trend is None:
        return TrendsPanel(_too_few(results), chart=trend_chart(results, None, target, page) if results else None)
    reach = reach_of(trend, target, today := now.astimezone(athlete.gym.zone).date()) if target else None
    return TrendsPanel(
        why_none="",
        said=tuple(_said(trend, target, reach)),
        figures=(_slope_figure(trend), *_reach_figures(trend, target, reach, today)),
        chart=trend_chart(trend.results, trend, target, page),
    )


def _target_tenths(book: Book, code: str, now: datetime) -> int:
    """Return the longest hold that the criterion in force asks for, in tenths; 0 where it asks for none."""
    in_force = book.rules.steps[code].in_force_at(moment_us(now))
    aims = [target_of(leaf) for leaf in attempt_leaves(in_force.criterion)] if in_force else []
    return max((aim.tenths for aim in aims if isinstance(aim, (HoldTarget, AngleTarget))), default=0)


def _too_few(results: Sequence[DayBest]) -> str:
    days = wording.counted(len(results), "day")
    return f"No trend shown: clean judged holds on {days} of the last {_WEEKS} weeks; a trend takes {LEAST_RESULTS}."


def _said(trend: Trend, target_tenths: int, reach: Reach | None) -> Iterator[str]:
    yield _direction(trend)
    if trend.plateau and not 0 < target_tenths <= trend.plateau.since.tenths:
        yield _plateau(trend.plateau)  # who holds what is asked ends there, and cannot show more
    asked = f"The {wording.seconds(target_tenths)} that the criterion asks for"
    if target_tenths and trend.best.tenths >= target_tenths:
        yield f"{asked} were held on {_day(_first(trend, target_tenths))}."
    elif target_tenths and reach is None:
        yield f"{asked} are not in sight at this rate."


def _direction(trend: Trend) -> str:
    days = wording.counted(len(trend.results), "day")
    span = f"over {days} of practice from {_day(trend.first_on)} to {_day(trend.results[-1].on)}"
    if trend.direction == "none":
        return f"Neither longer nor shorter {span}, as far as can be told. Changes under 0.3 s are no progress."
    return f"The holds became {trend.direction} {span}."


def _plateau(plateau: Plateau) -> str:
    return (
        f"A plateau: since {wording.seconds(plateau.since.tenths)} on {_day(plateau.since.on)} no hold was longer by "
        f"0.3 s or more, on {plateau.results} days of practice over {plateau.days} days. (A plateau is told from "
        f"{PLATEAU_RESULTS} such days and {PLATEAU_DAYS} days on.)"
    )


def _first(trend: Trend, target_tenths: int) -> date:
    return next(result.on for result in trend.results if result.tenths >= target_tenths)


def _slope_figure(trend: Trend) -> Figure:
    slope = trend.slope
    return Figure(
        label="Change of the best hold",
        value=f"{slope.a_day * 7:+.2f} s a week",
        kind="estimate",
        inputs=(
            ("Results", f"{len(trend.results)}, the best clean judged hold of each day in {_WEEKS} weeks"),
            ("From", f"{wording.seconds(trend.results[0].tenths)} on {_day(trend.first_on)}"),
            ("To", f"{wording.seconds(trend.results[-1].tenths)} on {_day(trend.results[-1].on)}"),
            ("Error of one reading", "0.10 s (standard deviation)"),
        ),
        formula=_SLOPE,
        sources=("sen-1968", "faux-godolphin-2019"),
        interval=f"{slope.low * 7:+.2f} to {slope.high * 7:+.2f} s a week, {PERCENT} of 100",
    )


def _reach_figures(trend: Trend, target_tenths: int, reach: Reach | None, today: date) -> Iterator[Figure]:
    if reach is None or trend.best.tenths >= target_tenths:
        return
    yield Figure(
        label=f"{wording.seconds(target_tenths)} would be met",
        value=_when(reach, today),
        kind="estimate",
        inputs=(
            ("Asked by the criterion", wording.seconds(target_tenths)),
            ("Height of the line today", f"{trend.height_on(today):.1f} s"),
            ("Slope", f"{trend.slope.low * 7:+.2f} to {trend.slope.high * 7:+.2f} s a week"),
        ),
        formula=_REACH,
        sources=("sen-1968", "ours"),
        interval=_how_sure(reach),
        caution=_CAUTION,
    )


def _when(reach: Reach, today: date) -> str:
    if reach.earliest is None:
        return f"not within {_FAR_YEARS} years"
    first = "from now on" if reach.earliest <= today + timedelta(days=1) else _day(reach.earliest)
    if reach.latest is None:
        return f"not before {_day(reach.earliest)}"
    return f"{first} to {_day(reach.latest)}" if reach.latest > reach.earliest else f"about {_day(reach.latest)}"


def _how_sure(reach: Reach) -> str:
    sure = f"if it goes on like this; {PERCENT} of 100 for the slope"
    far = reach.earliest is not None and reach.latest is None
    return f"{sure}, whose slow end takes more than {_FAR_YEARS} years" if far else sure


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
