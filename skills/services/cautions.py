"""Cautions pause steps at once, so entering and lifting one brings readiness up to date in the same act.

Torn skin is noted apart: it pauses nothing and needs no lifting.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Caution, CautionLift, Load, Membership, SkinNote
from athletes.services import cautions
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id
from skills.core.days import day_end
from skills.core.pain import DIZZY
from skills.queries.books import book_of
from skills.services.attempts import steps_with_loads
from skills.services.readiness import lock_athlete, settle

SKIN_DAYS: Final = 7  # common practice, no source


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


def end_inversion_today(*, by: Membership, athlete: Athlete, happened_at: datetime) -> Caution:
    """Let an athlete who is dizzy or has a headache go upside down no more until midnight in the gym's zone.

    The second time on a day changes nothing. It lifts itself; it is no judgement of anybody's health.
    """
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        midnight = day_end(happened_at, locked.gym.time_zone)
        said = Caution.objects.filter(athlete=locked, until_at=midnight, happened_at__lte=happened_at, lifts=None)
        before = next((one for one in said if one.loads == [Load.INVERSION]), None)
        return before or enter_caution(
            by=by,
            athlete=locked,
            loads=frozenset({str(Load.INVERSION)}),
            from_at=happened_at,
            until_at=midnight,
            reason=DIZZY,
        )


def note_skin(*, by: Membership, athlete: Athlete, happened_at: datetime, note_id: UUID | None = None) -> SkinNote:
    """Note torn skin, shown for a week; the second time on a day, or the same id twice, is one note."""
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        until_on = happened_at.astimezone(locked.gym.zone).date() + timedelta(days=SKIN_DAYS)
        if before := SkinNote.objects.filter(athlete=locked, until_on=until_on).first():
            return before
        note = SkinNote(id=note_id or new_id(), gym_id=locked.gym_id, athlete=locked, entered_by=by)
        note.until_on, note.happened_at = until_on, happened_at
        note.save(force_insert=True)
        content = {"athlete": locked.id, "until_on": until_on.isoformat()}
        record_act(gym=by.gym, actor=by, act="skin_note_entered", about=note.id, content=content)
    return note


def _settle(athlete: Athlete, loads: frozenset[str]) -> None:
    book = book_of(athlete.gym)
    settle(book=book, athlete=athlete, touched=steps_with_loads(book, loads), now=timezone.now())
