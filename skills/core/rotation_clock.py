"""Which rotation a class is in, and when the next one begins: from the plan's lengths and the coach's marks.

Rotations are numbered from 0. WARM_UP stands for the time before the first one; the number of rotations, which none of
them has, for a class that is through. Moments are aware, and minutes are added to them in UTC, so that a class across
midnight or a change of the clocks lasts as long as any other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

WARM_UP: Final = -1


@dataclass(frozen=True, slots=True)
class Lengths:
    """When the first rotation begins where nobody says anything else, and how many minutes each rotation lasts."""

    first_at: datetime
    minutes: tuple[int, ...]

    @property
    def rotations(self) -> int:
        """How many rotations the class has."""
        return len(self.minutes)


@dataclass(frozen=True, slots=True)
class Mark:
    """A coach's word: from this moment on the class is in this rotation, or through where it has no such one."""

    at: datetime
    rotation: int


@dataclass(frozen=True, slots=True)
class Turn:
    """A rotation, or the end (`rotation` is then their number), and when it begins."""

    at: datetime
    rotation: int


@dataclass(frozen=True, slots=True)
class Clock:
    """Where a class is at a moment: since when, and the turn that comes next; None after the last one.

    `turns` are all that were known then, from the one that the last mark began.
    """

    rotation: int
    since: datetime | None
    next: Turn | None
    turns: tuple[Turn, ...]
    rotations: int

    @property
    def is_warm_up(self) -> bool:
        """Whether the first rotation has not begun."""
        return self.rotation == WARM_UP

    @property
    def is_over(self) -> bool:
        """Whether the last rotation is over."""
        return self.rotation == self.rotations

    @property
    def running(self) -> int | None:
        """The rotation that runs, None in the warm-up and after the last one."""
        return None if self.is_warm_up or self.is_over else self.rotation

    def turned(self, turn: Turn) -> Clock:
        """Return the clock as it will be when one of its turns begins, where nobody marks anything else."""
        after = next((each for each in self.turns if each.rotation == turn.rotation + 1), None)
        return Clock(turn.rotation, turn.at, after, self.turns, self.rotations)


def first_turn_at(starts_at: datetime, warm_up_minutes: int, planned_at: datetime) -> datetime:
    """Return when the first rotation begins: after the warm-up, and never before there is a plan to follow."""
    return max(_utc(starts_at) + timedelta(minutes=warm_up_minutes), _utc(planned_at))


def turns_of(lengths: Lengths, marks: Sequence[Mark], now: datetime) -> tuple[Turn, ...]:
    """Return when each rotation begins, from the last mark's on, and the end; as it is known at `now`.

    Marks come in the order in which they were recorded: of two with one moment the later word holds. A mark that
    lies ahead, by a device's clock, counts from its moment on.
    """
    return tuple(_turns(lengths, _start(lengths, marks, now)))


def _start(lengths: Lengths, marks: Sequence[Mark], now: datetime) -> Turn:
    told = [mark for mark in marks if mark.at <= now]
    if not told:
        return Turn(_utc(lengths.first_at), 0)
    at = max(mark.at for mark in told)
    last = [mark for mark in told if mark.at == at][-1]
    return Turn(_utc(at), max(0, min(last.rotation, lengths.rotations)))


def _turns(lengths: Lengths, start: Turn) -> Iterator[Turn]:
    yield start
    at = start.at
    for rotation in range(start.rotation, lengths.rotations):
        at += timedelta(minutes=lengths.minutes[rotation])
        yield Turn(at, rotation + 1)


def clock_at(lengths: Lengths, marks: Sequence[Mark], now: datetime) -> Clock:
    """Return where the class is at a moment."""
    turns = turns_of(lengths, marks, now)
    begun = [turn for turn in turns if turn.at <= now]
    ahead = next((turn for turn in turns if turn.at > now), None)
    if not begun:
        return Clock(WARM_UP, None, ahead, turns, lengths.rotations)
    return Clock(begun[-1].rotation, begun[-1].at, ahead, turns, lengths.rotations)


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
