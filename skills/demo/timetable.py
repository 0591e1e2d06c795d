"""The classes of half a year: when they begin, who coaches them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Final

from athletes.core.zones import zone_named
from skills.core.days import moment_us
from skills.demo.cast import COACHES, ZONE, Coach
from skills.demo.seeded import row_id

SECOND: Final = 1_000_000
MINUTE: Final = 60 * SECOND
DAY: Final = 24 * 60 * MINUTE
CLASS_US: Final = 75 * MINUTE
DAYS: Final = 182  # six months
RUNNING_FROM: Final = time(0, 0)  # with the day: the class of the last day runs whenever somebody looks


@dataclass(frozen=True, slots=True)
class Slot:
    """A class of every week, or of every second one."""

    weekday: int  # 0 = Monday
    begins: time
    name: str
    coach: int
    every_weeks: int = 1


SLOTS: Final = (
    Slot(0, time(18, 30), "Monday evening", 0),
    Slot(2, time(18, 30), "Wednesday evening", 1),
    Slot(4, time(17, 0), "Open gym", 2, every_weeks=2),
    Slot(5, time(10, 0), "Saturday morning", 0),
)


@dataclass(frozen=True, slots=True)
class Session:
    """A class on a day; `ends_us` is None for the one that is running."""

    id: str
    name: str
    on: date
    coach: Coach
    starts_us: int
    ends_us: int | None


def local_us(on: date, at: time) -> int:
    """Return the moment of a time of day in the gym, as microseconds since 1970 UTC."""
    return moment_us(datetime.combine(on, at, zone_named(ZONE)))


def timetable(rng: Random, first: date, until: date) -> tuple[Session, ...]:
    """Return the classes from a day on up to the day before `until`, in order."""
    days = (first + timedelta(days=number) for number in range((until - first).days))
    return tuple(_session(rng, slot, day) for day in days if not _closed(day) for slot in _slots_on(day))


def running_session(rng: Random, until: date) -> Session:
    """Return the class of the last day, which nobody has ended yet."""
    starts_us = local_us(until, RUNNING_FROM)
    return Session(str(row_id(rng, starts_us)), "Open gym", until, COACHES[0], starts_us, None)


def _slots_on(day: date) -> Iterator[Slot]:
    week = day.toordinal() // 7
    return (slot for slot in SLOTS if slot.weekday == day.weekday() and week % slot.every_weeks == 0)


def _closed(day: date) -> bool:
    """Nobody trains between Christmas Eve and New Year's Day."""
    return (day.month, day.day) >= (12, 24) or (day.month, day.day) == (1, 1)


def _session(rng: Random, slot: Slot, day: date) -> Session:
    coach = COACHES[slot.coach] if rng.random() < 0.85 else rng.choice(COACHES)
    starts_us = local_us(day, slot.begins)
    return Session(str(row_id(rng, starts_us)), slot.name, day, coach, starts_us, starts_us + CLASS_US)
