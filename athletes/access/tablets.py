"""Tablets, as their gym's owner sees them, and who may act by one."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar, Final
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from athletes.access.rules import STAFF, AccessRule
from athletes.core.refusal import Refusal
from athletes.models import HandOver, Membership, Tablet
from athletes.queries.tablets import hand_over_in_force, has_left

MAY_LOG = AccessRule(STAFF, "may_log")
_NO_RIGHT: Final = "This coach may not log in this gym, or not any more."


class FloorRefusal(Refusal):
    """A tablet may not do what it asked for; `code` tells its program which kind of no it is."""

    code: ClassVar[str]


class NoHandOver(FloorRefusal):
    """Nobody holds the tablet under that name now: the coach's code is needed."""

    code = "hand_over"


class NoRight(FloorRefusal):
    """The coach has left, or may not log any more."""

    code = "right"


def holder_of(tablet: Tablet, coach_id: UUID, now: datetime) -> tuple[Membership, HandOver]:
    """Return the coach, who holds the tablet now and may log, and the hand-over. Raises NoHandOver, NoRight."""
    hand_over = hand_over_in_force(tablet, coach_id, now)
    if hand_over is None:
        if has_left(tablet.gym_id, coach_id):
            raise NoRight(_NO_RIGHT)
        raise NoHandOver("This coach does not hold the tablet now: the coach's code is needed.")
    check_may_log(hand_over.coach)
    return hand_over.coach, hand_over


def check_may_log(coach: Membership) -> None:
    """Raise NoRight unless the membership still stands and holds the right to log."""
    if coach.ended_at or not coach.account.is_active or not MAY_LOG.admits(coach):
        raise NoRight(_NO_RIGHT)


def tablets_in_sight(member: Membership) -> QuerySet[Tablet]:
    """Return the gym's tablets, the newest first; none for who is no owner."""
    if not member.is_owner:
        return Tablet.objects.none()
    return Tablet.objects.filter(gym=member.gym_id).order_by("-pk")


def access_tablet(member: Membership, tablet_id: UUID) -> Tablet:
    """Return that tablet if the member may see it; Http404 otherwise."""
    found = tablets_in_sight(member).filter(pk=tablet_id).first()
    if found is None:
        raise Http404
    return found
