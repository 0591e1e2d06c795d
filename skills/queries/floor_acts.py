"""What the answer to acts of a tablet has to show: the classes, athletes and attempts that they were about."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from uuid import UUID

from athletes.models import Gym
from skills.models import Attempt, TrainingSession
from skills.queries.books import Book
from skills.queries.logs import Choice, News, news_of
from skills.queries.timelines import kept_timelines


def attempts_by_id(gym: Gym, attempt_ids: Collection[UUID]) -> Mapping[UUID, Attempt]:
    """Return those attempts of the gym; one query."""
    return Attempt.objects.filter(gym=gym).in_bulk([*attempt_ids]) if attempt_ids else {}


def sessions_by_id(gym: Gym, session_ids: Collection[UUID]) -> list[TrainingSession]:
    """Return those sessions of the gym, the newest first; one query."""
    rows = TrainingSession.objects.filter(gym=gym, pk__in=session_ids).select_related("gym", "focus")
    return list(rows.order_by("-starts_at", "pk")) if session_ids else []


def news_of_all(book: Book, attempts: Collection[Attempt], now_us: int) -> Mapping[UUID, News]:
    """Return what each attempt passed, opened or brought before a coach, as it still stands; one query."""
    kept = kept_timelines(book, {attempt.athlete_id for attempt in attempts}) if attempts else {}
    choices = {
        athlete: tuple(Choice.at(page, timelines[code], now_us) for code, page in book.steps.items())
        for athlete, timelines in kept.items()
    }
    return {attempt.id: news_of(book, attempt, choices[attempt.athlete_id]) for attempt in attempts}
