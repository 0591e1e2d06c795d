"""Who is here for a plan and what it leaves out: who came or went, whose height is missing, what is not planned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from skills.core.plan_asks import without_height
from skills.models import TrainingSession
from skills.queries.books import Book
from skills.queries.class_plans import Crowd, crowd_of, stands_of
from skills.queries.kept_plans import WholePlan
from skills.showing.class_plans import Names, names_in, step_words
from skills.showing.plan_words import left_out_words, listed


@dataclass(frozen=True, slots=True)
class Unmeasured:
    """Somebody who would have a place at a bar that is set, if their height were known."""

    id: UUID
    label: str


@dataclass(frozen=True, slots=True)
class PlanNews:
    """What a coach has to know beside a plan. `changed` says who came and who went since it was made."""

    names: Names
    here: int
    stations: int
    changed: str
    left_out: tuple[str, ...]
    unmeasured: tuple[Unmeasured, ...]


def plan_news(book: Book, session: TrainingSession, whole: WholePlan | None, now: datetime) -> PlanNews:
    """Return what is to be said of a class that is, or will be, planned; a number of queries that does not grow."""
    crowd, stands = crowd_of(book, session, now), stands_of(session.gym, now)
    names = names_in(whole, session.gym, now, crowd.athletes)
    missing = without_height(crowd.people, stands)
    return PlanNews(
        names=names,
        here=len(crowd.people),
        stations=len(stands),
        changed=_changed(crowd, whole, names) if whole else "",
        left_out=tuple(_left_out(book, crowd, names)),
        unmeasured=tuple(Unmeasured(UUID(key), names.labels[key]) for key in missing),
    )


def _changed(crowd: Crowd, whole: WholePlan, names: Names) -> str:
    planned = [person.key for person in whole.last.ask.people]
    here = [person.key for person in crowd.people]
    came = [names.labels[key] for key in here if key not in planned]
    went = [names.labels[key] for key in planned if key not in here]
    parts = [f"{listed(who)} {verb}" for who, verb in ((came, "came"), (went, "went")) if who]
    return f"Since it was planned {'; '.join(parts)}: plan again." if parts else ""


def _left_out(book: Book, crowd: Crowd, names: Names) -> Iterator[str]:
    for left in crowd.left_out:
        paused, stopped = ([step_words(book, code) for code in codes] for codes in (left.paused, left.stopped))
        yield left_out_words(names.labels[str(left.athlete.id)], paused, stopped, left.lacking)
