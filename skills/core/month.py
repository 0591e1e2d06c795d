"""A gym's month: its name, its bounds in the gym's time zone, and the figures of what happened in it."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Final
from uuid import UUID

from skills.core.days import day_starts_us, local_date, moment_of, moment_us

# From 1900 on: no gym's books are older, and no time zone leads out of the calendar.
_NAME = re.compile(r"(?P<year>(19|[2-9][0-9])[0-9]{2})-(?P<number>0[1-9]|1[0-2])")
_SHOWN: Final = 20


class NoSuchMonthError(ValueError):
    """A name that is no month, or one that has not begun; the message is a sentence for who typed it."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """From the first moment (in) to the first one afterwards (out), both in UTC."""

    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A month of the calendar; `number` is 1 to 12."""

    year: int
    number: int

    def __str__(self) -> str:
        return f"{self.year:04}-{self.number:02}"

    @classmethod
    def at(cls, moment: datetime, zone: str) -> Month:
        """Return the month that the gym's calendar shows at a moment."""
        day = local_date(moment_us(moment), zone)
        return cls(day.year, day.month)

    @property
    def first_on(self) -> date:
        """The first day."""
        return date(self.year, self.number, 1)

    @property
    def before(self) -> Month:
        """The month before."""
        return self._moved(-1)

    @property
    def after(self) -> Month:
        """The month after."""
        return self._moved(1)

    def _moved(self, months: int) -> Month:
        years, place = divmod(self.number - 1 + months, 12)
        return Month(self.year + years, place + 1)

    @property
    def days(self) -> tuple[date, ...]:
        """All days, the first one first."""
        length = monthrange(self.year, self.number)[1]
        return tuple(self.first_on + timedelta(days=place) for place in range(length))

    def bounds(self, zone: str) -> Bounds:
        """Return when the month begins and ends in a time zone."""
        return Bounds(_starts_at(self.first_on, zone), _starts_at(self.after.first_on, zone))

    def day_ends(self, zone: str) -> tuple[tuple[date, datetime], ...]:
        """Return each day with the first moment after it, in UTC."""
        return tuple((day, _starts_at(day + timedelta(days=1), zone)) for day in self.days)


def _starts_at(day: date, zone: str) -> datetime:
    return moment_of(day_starts_us(day, zone))


def month_named(name: str, *, this: Month) -> Month:
    """Return the month of a name such as 2026-10; raises NoSuchMonthError, for one after `this` too."""
    found = _NAME.fullmatch(name)
    if not found:
        shown = name if len(name) <= _SHOWN else f"{name[:_SHOWN]}…"
        raise NoSuchMonthError(f"“{shown}” is no month: write it like {this}.")
    month = Month(int(found["year"]), int(found["number"]))
    if month > this:
        raise NoSuchMonthError(f"{month} has not begun yet: this month is {this}.")
    return month


@dataclass(frozen=True, slots=True)
class Counts:
    """What adds up: over skills, over coaches, over both. `hold_tenths` is the time held, all reps together."""

    attempts: int = 0
    clean_attempts: int = 0
    hold_tenths: int = 0
    steps_opened: int = 0
    signed_off: int = 0
    not_yet: int = 0
    revoked: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(*(getattr(self, field.name) + getattr(other, field.name) for field in fields(Counts)))


@dataclass(frozen=True, slots=True)
class Share:
    """What one skill and one coach had of a month; `coach` None = logged or opened by nobody on the staff.

    `athlete` is whose attempts are counted, None for a share without attempts.
    """

    skill: UUID
    coach: UUID | None
    counts: Counts
    athlete: UUID | None = None


@dataclass(frozen=True, slots=True)
class Sessions:
    """Numbers of training sessions that began in the month, by who ran them and by the skills tried in them."""

    coaches: Mapping[UUID | None, int]
    skills: Mapping[UUID, int]


@dataclass(frozen=True, slots=True)
class Figures:
    """A month in numbers: of the whole gym, of one skill or of one coach."""

    active_athletes: int
    sessions: int
    counts: Counts

    @property
    def clean_rate(self) -> Fraction | None:
        """Clean attempts of all attempts; None where there are none."""
        return Fraction(self.counts.clean_attempts, self.counts.attempts) if self.counts.attempts else None


@dataclass(frozen=True, slots=True)
class Tally:
    """The figures of a gym, and of each skill and coach that had anything in the month."""

    gym: Figures
    skills: Mapping[UUID, Figures]
    coaches: Mapping[UUID | None, Figures]


def tally(shares: Sequence[Share], sessions: Sessions) -> Tally:
    """Add shares up. An athlete counts once in each scope, however many of its shares they have a part in."""
    skills = {share.skill for share in shares} | sessions.skills.keys()
    coaches = {share.coach for share in shares} | sessions.coaches.keys()
    return Tally(
        gym=_figures(shares, sum(sessions.coaches.values())),
        skills={
            key: _figures((share for share in shares if share.skill == key), sessions.skills.get(key, 0))
            for key in skills
        },
        coaches={
            key: _figures((share for share in shares if share.coach == key), sessions.coaches.get(key, 0))
            for key in coaches
        },
    )


def _figures(shares: Iterable[Share], sessions: int) -> Figures:
    mine = list(shares)
    athletes = {share.athlete for share in mine} - {None}
    return Figures(len(athletes), sessions, sum((share.counts for share in mine), Counts()))


@dataclass(frozen=True, slots=True)
class Line:
    """The figures of a skill or a coach under its name."""

    name: str
    figures: Figures


@dataclass(frozen=True, slots=True)
class Report:
    """A month of a gym, as it is read and exported. Holds no athlete's name."""

    month: Month
    gym: Line
    skills: tuple[Line, ...]
    coaches: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class DayFigures:
    """One day of a gym."""

    day: date
    active_athletes: int
    attempts: int
    clean_attempts: int
    hold_tenths: int


def percent(rate: Fraction) -> Decimal:
    """Return a rate in per cent to one decimal, half of the last place rounded up."""
    return Decimal(floor(rate * 1000 + Fraction(1, 2))).scaleb(-1)


COLUMNS: Final = (
    "month",
    "scope",
    "name",
    "active_athletes",
    "sessions",
    "attempts",
    "hold_seconds",
    "clean_attempts",
    "clean_rate_percent",
    "steps_opened",
    "signed_off",
    "not_yet",
    "revoked",
)


def table(report: Report) -> Iterator[tuple[str | int | Decimal, ...]]:
    """Give the report as rows under `COLUMNS`: the gym, then its skills, then its coaches.

    `hold_seconds` has one decimal, `clean_rate_percent` too; the latter is empty where there are no attempts.
    """
    yield _row(report.month, "gym", report.gym)
    for line in report.skills:
        yield _row(report.month, "skill", line)
    for line in report.coaches:
        yield _row(report.month, "coach", line)


def chain_row(month: Month, length: int, seal: str) -> tuple[str | int | Decimal, ...]:
    """Return the last row of the file: how many acts the gym's audit chain had when it was written, and its head.

    Whoever keeps the file can show afterwards that a chain was cut short.
    """
    cells = (str(month), "audit_chain", f"{length} {seal}".rstrip())
    return (*cells, *[""] * (len(COLUMNS) - len(cells)))


def _row(month: Month, scope: str, line: Line) -> tuple[str | int | Decimal, ...]:
    figures, counts = line.figures, line.figures.counts
    return (
        str(month),
        scope,
        line.name,
        figures.active_athletes,
        figures.sessions,
        counts.attempts,
        Decimal(counts.hold_tenths).scaleb(-1),
        counts.clean_attempts,
        "" if figures.clean_rate is None else percent(figures.clean_rate),
        counts.steps_opened,
        counts.signed_off,
        counts.not_yet,
        counts.revoked,
    )
