"""The classes of a month as they would be asked to be planned: with who was there, and what was open to them then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from athletes.models import Gym
from skills.core.class_shape import MOST_MINUTES, MOST_ROTATIONS, Shape
from skills.core.month import Month
from skills.core.plan_asks import Limits, Stand, ask_of
from skills.core.rotation.asks import Ask
from skills.models import TrainingSession
from skills.queries.books import Book, book_of
from skills.queries.class_plans import crowd_of, stands_of

MOST_CLASSES: Final = 20
USUAL: Final = Shape()


@dataclass(frozen=True, slots=True)
class PastClass:
    """A class that is over. People in `ask` are numbered, not named: nothing of it tells who they were."""

    name: str
    on: date
    ask: Ask


@dataclass(frozen=True, slots=True)
class PastClasses:
    """The last MOST_CLASSES classes of a month, the first one first, and how many there were in all.

    `bar` is the key of the station that one more low bar would be like; None where no station is a low bar.
    """

    month: Month
    classes: tuple[PastClass, ...]
    found: int
    stations: int
    bar: str | None


def past_classes(gym: Gym, month: Month) -> PastClasses:
    """Read the classes of a month that are over and had somebody in them; a fixed number of queries for each.

    What was open to people is as it was when their class began, with what is known of that today. Stations are those
    in use now, their bars free to be set before the class; one coach, who judges.
    """
    book = book_of(gym)
    sessions = _sessions(gym, month)
    latest = sessions[-MOST_CLASSES:]
    # Where bars stood at the time is not kept for every class: each is planned as if they were set for it beforehand.
    stands = [replace(stand, hole=None) for stand in (stands_of(gym, latest[-1].starts_at) if latest else [])]
    classes = tuple(_class(book, session, stands) for session in latest)
    return PastClasses(month, classes, len(sessions), len(stands), _bar(stands))


def _sessions(gym: Gym, month: Month) -> list[TrainingSession]:
    span = month.bounds(gym.time_zone)
    rows = TrainingSession.objects.filter(gym=gym, starts_at__gte=span.starts_at, starts_at__lt=span.ends_at)
    over = rows.exclude(ended_at=None).exclude(attendances=None).select_related("gym", "focus", "coach__person")
    return list(over.distinct().order_by("starts_at", "pk"))


def _bar(stands: Sequence[Stand]) -> str | None:
    """Return the first low bar, one that is set to people's height before one that is not."""
    low = sorted((stand for stand in stands if stand.kind == "low_bar"), key=lambda stand: not stand.adjustable)
    return low[0].key if low else None


def _class(book: Book, session: TrainingSession, stands: Sequence[Stand]) -> PastClass:
    people = crowd_of(book, session, session.starts_at).people
    numbered = [replace(somebody, key=f"{number:02}") for number, somebody in enumerate(people, 1)]
    on = session.starts_at.astimezone(session.gym.zone).date()
    return PastClass(session.name, on, ask_of(numbered, stands, _limits(session)))


def _limits(session: TrainingSession) -> Limits:
    ended_at = session.ended_at or session.starts_at
    minutes = min(int((ended_at - session.starts_at).total_seconds()) // 60, MOST_MINUTES)
    rotations = min(max(replace(USUAL, minutes=minutes).rotations, 1), MOST_ROTATIONS)
    return Limits(rotations, USUAL.coaches, USUAL.judges, USUAL.most_resets)
