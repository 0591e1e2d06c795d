"""Tablets by their keys, and who holds them."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from uuid import UUID

from django.db.models import BooleanField, ExpressionWrapper, Q, QuerySet

from athletes.models import CoachCode, Gym, HandOver, Membership, Tablet

Role = Membership.Role


def tablet_of_digest(digest: str) -> Tablet | None:
    """Return the enrolled tablet whose key has that digest, with its gym, unless it was revoked."""
    return Tablet.objects.select_related("gym").filter(key_digest=digest, revoked_at=None).first()


def hand_over_in_force(tablet: Tablet, coach_id: UUID, now: datetime) -> HandOver | None:
    """Return the hand-over by which a coach holds a tablet, with the coach and the gym; one query."""
    related = ("coach__gym", "coach__person", "coach__account")
    return in_force(tablet.gym_id, now).filter(tablet=tablet, coach=coach_id).select_related(*related).first()


def has_left(gym_id: UUID, coach_id: UUID) -> bool:
    """Whether that was a membership of the gym, and has ended."""
    return Membership.objects.filter(gym=gym_id, pk=coach_id).exclude(ended_at=None).exists()


def in_force(gym_id: UUID, now: datetime) -> QuerySet[HandOver]:
    """Return the hand-overs of a gym's tablets that hold at that moment, the one that lasts longest first."""
    return HandOver.objects.filter(gym=gym_id, ended_at=None, until_at__gt=now).order_by("-until_at", "-pk")


def holders_of(tablet: Tablet, now: datetime) -> list[HandOver]:
    """Return one hand-over for each coach who holds a tablet and may log, with the name, by who took over first."""
    rows = in_force(tablet.gym_id, now).filter(tablet=tablet, coach__in=loggers_of(tablet.gym))
    return list({row.coach_id: row for row in reversed(rows.select_related("coach__person"))}.values())


def names_of_holders(gym: Gym, now: datetime) -> dict[UUID, list[str]]:
    """Return the names of the coaches who hold each tablet of a gym and may log, by the tablet's id."""
    names: defaultdict[UUID, list[str]] = defaultdict(list)
    rows = in_force(gym.id, now).filter(coach__in=loggers_of(gym)).reverse()
    for tablet, name in rows.values_list("tablet", "coach__person__full_name"):
        if name not in names[tablet]:
            names[tablet].append(name)
    return names


def loggers_of(gym: Gym) -> QuerySet[Membership]:
    """Return the staff of a gym who may log, with their names, in the order of coming."""
    may_log = Q(role=Role.OWNER) | Q(role=Role.COACH, may_log=True)
    staff = Membership.objects.filter(may_log, gym=gym, ended_at=None, account__is_active=True)
    return staff.select_related("person").order_by("started_at", "pk")


def loggers_with_codes(gym: Gym) -> list[tuple[Membership, bool]]:
    """Return the staff of a gym who may log, each with whether a code is set."""
    has_code = ExpressionWrapper(Q(coach_code__isnull=False), output_field=BooleanField())
    return [(member, member.has_code) for member in loggers_of(gym).annotate(has_code=has_code)]


def code_of(member: Membership) -> CoachCode | None:
    """Return a coach's code, as far as it is kept, or None where none was set."""
    return CoachCode.objects.filter(gym=member.gym_id, membership=member).first()


def staff_member(gym: Gym, membership_id: UUID) -> Membership | None:
    """Return that owner or coach of the gym, also one who has left, or None."""
    staff = Membership.objects.filter(gym=gym, pk=membership_id, role__in=(Role.OWNER, Role.COACH))
    return staff.select_related("gym", "person", "account").first()


def hand_over_of_id(hand_over_id: UUID) -> HandOver | None:
    """Return the hand-over with that id, of whatever gym."""
    return HandOver.objects.filter(pk=hand_over_id).first()
