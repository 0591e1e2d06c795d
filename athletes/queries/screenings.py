"""Readiness screenings as they were entered."""

from __future__ import annotations

from django.utils import timezone

from athletes.core.screenings import ScreeningLine, screening_wanting
from athletes.models import Athlete, Screening


def screening_of(athlete: Athlete) -> ScreeningLine | None:
    """Return the screening that was entered last, or None; one query."""
    return next(iter(screening_history(athlete)), None)


def screening_history(athlete: Athlete) -> list[ScreeningLine]:
    """Return everything that was entered, what was entered last in front; one query."""
    rows = Screening.objects.filter(gym=athlete.gym_id, athlete=athlete).select_related("entered_by__person")
    return [
        ScreeningLine(row.done_on, row.expires_on, row.entered_by.person.full_name)
        for row in rows.order_by("-recorded_at", "-pk")
    ]


def screening_notice(athlete: Athlete) -> str:
    """Return what a coach is told beside a step where no screening counts today; '' where one does.

    A gym that never noted one is told nothing. One query, two where the athlete has none.
    """
    line = screening_of(athlete)
    if line is None and not Screening.objects.filter(gym=athlete.gym_id).exists():
        return ""
    return screening_wanting(line, timezone.localdate(timezone=athlete.gym.zone))
