"""Days and months of the calendar."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

D = TypeVar("D", bound=date)


def months_before(day: D, months: int) -> D:
    """Return the same day so many months earlier, the month's last where it has none of that number."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return day.replace(year=year, month=month + 1, day=min(day.day, monthrange(year, month + 1)[1]))


def month_bounds(name: str, zone: ZoneInfo) -> tuple[datetime, datetime] | None:
    """Return the first moment of a month like '2026-11' and the first after it, or None for what names no month."""
    try:
        first = datetime.strptime(name, "%Y-%m").replace(tzinfo=zone)
        after = months_before(first, -1)
    except ValueError:
        return None
    return first, after
