"""The weeks of a gym: each begins on a Monday, at the first moment of that day in the gym's time zone."""

from __future__ import annotations

from datetime import date, timedelta

from skills.core.days import day_starts_us, local_date

WEEK = timedelta(weeks=1)


def monday_of(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def week_on(us: int, zone: str) -> date:
    """Return the Monday of the week that lies around a moment in the zone (an IANA name)."""
    return monday_of(local_date(us, zone))


def week_starts_us(monday: date, zone: str) -> int:
    """Return the first moment of the week that begins on that Monday, also where the clock changes in it."""
    return day_starts_us(monday, zone)
