"""Days and months of the calendar."""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from typing import TypeVar

D = TypeVar("D", bound=date)


def months_before(day: D, months: int) -> D:
    """Return the same day so many months earlier, the month's last where it has none of that number."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return day.replace(year=year, month=month + 1, day=min(day.day, monthrange(year, month + 1)[1]))
