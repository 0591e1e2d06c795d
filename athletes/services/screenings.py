"""Noting that a readiness screening was done elsewhere. An entry is never changed: a newer one takes its place."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import Athlete, Membership, Screening
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id


class DoneInFuture(Refusal):
    """Nobody was screened on a day that has not come."""

    field = "done_on"


class EndsBeforeItBegins(Refusal):
    """A screening counts from its day on."""

    field = "expires_on"


@transaction.atomic
def enter_screening(
    *, by: Membership, athlete: Athlete, done_on: date, expires_on: date | None, screening_id: UUID | None = None
) -> Screening:
    """Note the day of a screening and the last one on which it counts, or None; the same id twice is one entry.

    Raises DoneInFuture, EndsBeforeItBegins.
    """
    now = timezone.now()
    if done_on > now.astimezone(by.gym.zone).date():
        raise DoneInFuture("This day has not come yet.")
    if expires_on is not None and expires_on < done_on:
        raise EndsBeforeItBegins("The last day comes before the day on which it was done.")
    row_id = screening_id or new_id()
    if before := Screening.objects.filter(gym=by.gym_id, athlete=athlete, pk=row_id).first():
        return before
    row = Screening(id=row_id, gym=by.gym, athlete=athlete, entered_by=by, done_on=done_on, expires_on=expires_on)
    row.happened_at = row.recorded_at = now
    row.save(force_insert=True)
    days = {"done_on": done_on.isoformat(), "expires_on": expires_on.isoformat() if expires_on else ""}
    record_act(gym=by.gym, actor=by, act="screening_entered", about=row.id, content={"athlete": athlete.id, **days})
    return row
