"""Hand-overs: a coach takes a tablet over by a code, and the tablet is left again."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.access.tablets import NoRight, check_may_log
from athletes.core.refusal import Refusal
from athletes.core.tablets import HAND_OVER_HOLDS
from athletes.models import HandOver, Membership, Tablet
from athletes.queries.tablets import hand_over_of_id, staff_member
from athletes.services.audit import record_act
from athletes.services.coach_codes import WrongCode, check_code, forgive


class HandOverTaken(Refusal):
    """The id stands for another hand-over."""

    field = "id"


def take_over(
    *, tablet: Tablet, hand_over_id: UUID, coach_id: UUID, code: str, claimed_at: datetime | None = None
) -> HandOver:
    """Let a coach hold the tablet for twelve hours; the same id a second time gives the same hand-over.

    `claimed_at`, by the server's clock, is when the coach took over without a network. Raises HandOverTaken, NoRight,
    NoCode, CodeLocked, WrongCode.
    """
    coach = staff_member(tablet.gym, coach_id)
    if coach is None:
        raise NoRight("There is no such coach in this gym.")
    check_may_log(coach)
    if before := hand_over_of_id(hand_over_id):
        return _same(before, tablet, coach)
    kept = check_code(coach=coach, code=code)
    with transaction.atomic():
        if not forgive(kept):  # locks the code, so that two equal requests at once come one after the other
            raise WrongCode("The code was changed a moment ago: type the new one.")
        now = timezone.now()
        row, is_new = HandOver.objects.get_or_create(
            pk=hand_over_id,
            defaults={
                "gym": tablet.gym,
                "tablet": tablet,
                "coach": coach,
                "claimed_at": min(claimed_at, now) if claimed_at else None,
                "confirmed_at": now,
                "until_at": now + HAND_OVER_HOLDS,
            },
        )
        if is_new:
            content = {"tablet": tablet.id, "claimed": row.claimed_at}
            record_act(gym=tablet.gym, actor=coach, act="handed_over", about=row.id, content=content)
    return _same(row, tablet, coach)


@transaction.atomic
def leave(*, tablet: Tablet) -> int:
    """End all hand-overs of a tablet; return how many were in force."""
    now = timezone.now()
    ended = HandOver.objects.filter(gym=tablet.gym_id, tablet=tablet, ended_at=None, until_at__gt=now).update(
        ended_at=now
    )
    if ended:
        record_act(gym=tablet.gym, actor=None, act="tablet_left", about=tablet.id, content={"hand_overs": ended})
    return ended


def _same(row: HandOver, tablet: Tablet, coach: Membership) -> HandOver:
    """Return a hand-over with its coach, if it is that coach's at that tablet."""
    if (row.tablet_id, row.coach_id) != (tablet.id, coach.id):
        raise HandOverTaken("Another hand-over has this id.")
    row.coach = coach
    return row
