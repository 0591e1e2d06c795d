"""Coaches and owners: who belongs to the staff, and with which rights."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.core.rights import RIGHTS
from athletes.models import Membership
from athletes.services.audit import record_act
from athletes.services.endings import end_at_once
from athletes.services.invitations import revoke_made_by
from athletes.services.private_links import revoke_links_of_maker
from athletes.services.rights import checked_skills, note_rights

Role = Membership.Role


class NotACoach(Refusal):
    """Rights are a coach's; an owner has them all, an athlete or a guardian none. Nor has who left any."""


class LastOwner(Refusal):
    """A gym without an owner could never be changed again."""


class NotInThisGym(Refusal):
    """The membership is another gym's, or has ended."""


@transaction.atomic
def change_rights(
    *, by: Membership, coach: Membership, rights: frozenset[str], sign_off_skills: Collection[str] | None = None
) -> Membership:
    """Give a coach these rights and no others; the one to sign off for these skills by slug, None for every skill.

    Raises NotACoach, NotInThisGym, UnknownSkill, NoSkillChosen, and ValueError for a right that does not exist.
    """
    _check_rights(rights)
    _check_current(by, coach)
    if coach.role != Role.COACH:
        raise NotACoach("Only a coach's rights can be changed; an owner has them all.")
    skills = checked_skills(by.gym, rights, sign_off_skills)
    changed_at = _locked_at(coach)
    for right in RIGHTS:
        setattr(coach, right, right in rights)
    coach.sign_off_skills = skills
    coach.save(update_fields=[*RIGHTS, "sign_off_skills"])
    note_rights(membership=coach, rights=rights, sign_off_skills=skills, at=changed_at)
    if not coach.may_log:
        revoke_made_by(maker=coach, roles=(Role.ATHLETE, Role.GUARDIAN), at=changed_at)
        revoke_links_of_maker(maker=coach, at=changed_at)
    content = {"rights": rights} if skills is None else {"rights": rights, "sign_off_skills": skills}
    record_act(gym=by.gym, actor=by, act="rights_changed", about=coach.id, content=content)
    return coach


@transaction.atomic
def end_membership(*, by: Membership, membership: Membership) -> Membership:
    """End a membership now, and with it its keys, the tablets that it holds and the invitations that it made.

    Who belongs to no gym any more is signed out everywhere. Raises LastOwner, NotInThisGym.
    """
    _check_current(by, membership)
    if membership.is_owner and not _other_owner(membership):
        raise LastOwner("This is the gym's only owner. A gym cannot be without one.")
    membership.ended_at = _locked_at(membership)
    membership.save(update_fields=["ended_at"])
    if membership.is_staff_member:
        note_rights(membership=membership, rights=(), at=membership.ended_at)
    end_at_once(membership=membership, at=membership.ended_at)
    content = {"role": str(membership.role)}
    record_act(gym=by.gym, actor=by, act="membership_ended", about=membership.id, content=content)
    return membership


def _check_rights(rights: frozenset[str]) -> None:
    if unknown := rights.difference(RIGHTS):
        raise ValueError(f"There is no such right: {', '.join(sorted(unknown))}.")


def _check_current(by: Membership, membership: Membership) -> None:
    if membership.gym_id != by.gym_id or membership.ended_at:
        raise NotInThisGym("This person does not belong to the gym, or not any more.")


def _locked_at(membership: Membership) -> datetime:
    """Lock a membership and return the moment, later than every change that had the lock before.

    Raises NotInThisGym where it has ended since it was read.
    """
    current = Membership.objects.select_for_update(no_key=True).filter(pk=membership.pk, ended_at=None)
    if not current.exists():
        raise NotInThisGym("This membership ended a moment ago.")
    return timezone.now()


def _other_owner(membership: Membership) -> bool:
    owners = Membership.objects.filter(gym=membership.gym_id, role=Role.OWNER, ended_at=None)
    # Locks them, so that two owners who end each other at once do not both succeed.
    return any(owner.pk != membership.pk for owner in owners.select_for_update())
