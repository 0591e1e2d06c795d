"""An athlete's own entry of practice: which days it may be for, and how many sets."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from skills.core.days import day_starts_us
from skills.core.dose_portions import stays_in_class
from skills.core.entries import Mistake
from skills.core.timeline import Timeline

OLDEST_DAYS: Final = 14  # memory fades: ours
MOST_SETS: Final = 20
_SECOND_US: Final = 1_000_000


def mistakes_in_day(practised_on: date, today: date) -> Iterator[Mistake]:
    """Yield what is wrong with the day of an own entry; both days are of the gym's calendar."""
    if practised_on > today:
        yield Mistake("practised_on", "That day lies ahead: enter practice when it is done.")
    elif (today - practised_on).days > OLDEST_DAYS:
        yield Mistake("practised_on", f"That is more than {OLDEST_DAYS} days ago: tell a coach instead.")


def moments_of_sets(practised_on: date, zone: str, now_us: int, sets: int) -> tuple[int, ...]:
    """Return the moments, in microseconds, that stand for the sets of a day of which nobody said the hour.

    A second apart, up to now or up to the end of the day, and never before it begins.
    """
    begins_us = day_starts_us(practised_on, zone)
    last_us = min(now_us, day_starts_us(practised_on + timedelta(days=1), zone) - _SECOND_US)
    return tuple(max(begins_us, last_us - left * _SECOND_US) for left in range(sets - 1, -1, -1))


def mistakes_in_standing(
    timeline: Timeline, day_us: int, moments_us: tuple[int, ...], *, asks_clearance: bool, low_bar: bool
) -> Iterator[Mistake]:
    """Yield why the step was not the athlete's to practise on a day that begins at `day_us`, at these moments.

    It has to be open at each of them. What stays in class is entered by a coach, so the clearance has to be *alone*
    from the beginning of the day on.
    """
    there = [timeline.at(us) for us in moments_us]
    if any(each.base == "closed" for each in there):
        yield Mistake("step", "This step was not open on that day.")
    elif any(
        stays_in_class(each.clearance, asks=asks_clearance, low_bar=low_bar) for each in (timeline.at(day_us), *there)
    ):
        yield Mistake("step", "This step is practised in class only, until a coach gives the clearance “alone”.")
