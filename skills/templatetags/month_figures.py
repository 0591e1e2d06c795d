"""The figures of a month in words, and its days as a chart."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django import template
from django.utils.formats import date_format

from gymtrack.lib.charts import Axis, Chart, Frame, draw
from skills.core.month import DayFigures, Month, percent
from skills.wording import counted

register = template.Library()

WEEKS = (1, 8, 15, 22)
LEAST_TOP = 4  # a scale of fewer attempts would have ticks at halves of one


@register.filter
def month_name(month: Month) -> str:
    """Return 'October 2026'."""
    return date_format(month.first_on, "F Y")


@register.filter
def hold_time(tenths: int) -> str:
    """Return a time held as '1 h 23 min', '12 min 34 s' or '45.3 s': cut, like every hold."""
    seconds, tenth = divmod(tenths, 10)
    minutes, seconds_left = divmod(seconds, 60)
    hours, minutes_left = divmod(minutes, 60)
    if hours:
        return f"{hours:,} h {minutes_left} min"
    if minutes:
        return f"{minutes} min {seconds_left} s"
    return f"{seconds}.{tenth} s" if tenth else f"{seconds} s"


@register.filter
def clean_rate(rate: Fraction | None) -> str:
    """Return '66.7 %', or what there is to say without attempts."""
    return "no attempts" if rate is None else f"{_plain(percent(rate))} %"


def _plain(number: Decimal) -> str:
    return f"{number:f}".removesuffix(".0")


@register.inclusion_tag("includes/chart.html")
def days_chart(month: Month, days: Sequence[DayFigures]) -> dict[str, Chart]:
    """Draw the attempts of each day (one day at least), the clean ones filled."""
    last = len(month.days)
    most = max(day.attempts for day in days)
    axis = Axis(f"day of {month_name(month)}", (*WEEKS, last), inset=0.6)
    frame = Frame(axis, Axis.over("attempts", [0, max(most, LEAST_TOP)]))
    chart = draw(
        frame,
        [
            frame.bars([(day.day.day, day.attempts) for day in days], breadth=0.7, kind="bar-other"),
            frame.bars([(day.day.day, day.clean_attempts) for day in days], breadth=0.7),
        ],
        name="days",
        title="Attempts by day, clean ones filled",
        description=_description(days),
        columns=("Day", "Active athletes", "Attempts", "Clean", "Hold time"),
        rows=[_row(day) for day in days],
    )
    return {"chart": chart}


def _description(days: Sequence[DayFigures]) -> str:
    busiest = max(days, key=lambda day: day.attempts)
    return (
        f"{counted(len(days), 'day')} with attempts; most on {_day(busiest.day)}, "
        f"with {counted(busiest.attempts, 'attempt')}, {busiest.clean_attempts} of them clean."
    )


def _row(day: DayFigures) -> tuple[str, ...]:
    return (
        _day(day.day),
        str(day.active_athletes),
        str(day.attempts),
        str(day.clean_attempts),
        hold_time(day.hold_tenths),
    )


def _day(day: date) -> str:
    return date_format(day, "D j M")
