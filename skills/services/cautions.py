"""Cautions pause steps at once, so entering and lifting one brings readiness up to date in the same act."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Caution, CautionLift, Membership
from athletes.services import cautions
from skills.queries.books import book_of
from skills.services.attempts import steps_with_loads
from skills.services.readiness import lock_athlete, settle


def enter_caution(
    *,
    by: Membership,
    athlete: Athlete,
    loads: frozenset[str],
    from_at: datetime,
    until_at: datetime | None,
    reason: str,
    caution_id: UUID | None = None,
) -> Caution:
    """Enter a caution and pause the steps with those loads; the same id twice is one caution."""
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        if caution_id and (before := Caution.objects.filter(athlete=locked, pk=caution_id).first()):
            return before
        caution = cautions.enter_caution(
            by=by, athlete=locked, loads=loads, from_at=from_at, until_at=until_at, reason=reason, caution_id=caution_id
        )
        _settle(locked, loads)
    return caution


def lift_caution(*, by: Membership, caution: Caution) -> CautionLift:
    """Lift a caution and let its steps go on."""
    with transaction.atomic():
        locked = lock_athlete(caution.athlete_id)
        lift = cautions.lift_caution(by=by, caution=caution)
        _settle(locked, frozenset(caution.loads))
    return lift


def _settle(athlete: Athlete, loads: frozenset[str]) -> None:
    book = book_of(athlete.gym)
    settle(book=book, athlete=athlete, touched=steps_with_loads(book, loads), now=timezone.now())
