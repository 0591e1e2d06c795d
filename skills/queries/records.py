"""Records of practice as lists, and what one attempt opened."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Min, QuerySet

from athletes.models import Athlete, Gym
from skills.models import Attempt, AttemptVoid, Opening, SignOff, TrainingSession
from skills.queries.books import Book


def attempts_of(gym: Gym, athletes: QuerySet[Athlete]) -> QuerySet[Attempt]:
    """Return the attempts of these athletes of a gym, those taken back included."""
    return Attempt.objects.filter(gym=gym, athlete__in=athletes).select_related("step", "void")


def sign_offs_of(gym: Gym, athletes: QuerySet[Athlete]) -> QuerySet[SignOff]:
    """Return the decisions about these athletes of a gym."""
    return SignOff.objects.filter(gym=gym, athlete__in=athletes).select_related("step", "criterion")


def sessions_of(gym: Gym) -> QuerySet[TrainingSession]:
    """Return the training sessions of a gym."""
    return TrainingSession.objects.filter(gym=gym).select_related("coach__person", "focus")


def opened_with(book: Book, attempt: Attempt) -> frozenset[str]:
    """Return the codes of the steps that opened by themselves when the attempt was stored.

    The facts of one athlete are recorded one after another, so these are the openings that were recorded
    between the attempt and the next fact.
    """
    mine = {"gym": attempt.gym_id, "athlete": attempt.athlete_id}
    opened = Opening.objects.filter(**mine, sign_off=None, recorded_at__gte=attempt.recorded_at)
    if until := _next_fact_at(attempt):
        opened = opened.filter(recorded_at__lt=until)
    return frozenset(book.codes[step_id] for step_id in opened.values_list("step_id", flat=True))


def _next_fact_at(attempt: Attempt) -> datetime | None:
    mine, athlete_id = {"gym": attempt.gym_id, "recorded_at__gt": attempt.recorded_at}, attempt.athlete_id
    later = (
        Attempt.objects.filter(athlete=athlete_id, **mine),
        AttemptVoid.objects.filter(attempt__gym=attempt.gym_id, attempt__athlete=athlete_id, **mine),
        SignOff.objects.filter(athlete=athlete_id, **mine),
    )
    found = [rows.aggregate(first=Min("recorded_at"))["first"] for rows in later]
    return min((moment for moment in found if moment), default=None)
