"""Invitations: made for somebody by the staff, renewed, taken back. How they are used stands in `joining`."""

from __future__ import annotations

import secrets
from collections.abc import Collection
from datetime import datetime, timedelta
from typing import NamedTuple

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.crypto import salted_hmac

from athletes.core.consents import WORDS
from athletes.core.invitations import CODE_LENGTH, shown_code
from athletes.core.refusal import Refusal
from athletes.core.rights import RIGHTS
from athletes.core.roster import name_problem, tidy_name
from athletes.core.tablets import LETTERS
from athletes.models import Athlete, Guardianship, Gym, Invitation, Membership, Person
from athletes.queries.consents import has_consent
from athletes.services.accounts import checked_address
from athletes.services.audit import record_act
from athletes.services.rights import checked_skills

Role = Membership.Role
STAFF_ROLES = (Role.COACH, Role.OWNER)


class BadName(Refusal):
    """The name is missing, too long or cannot be printed."""

    field = "full_name"


class AlreadyOnStaff(Refusal):
    """The account has that role in this gym already."""

    field = "email"


class AlreadyHasLogin(Refusal):
    """An athlete has one log-in."""


class LoginTaken(Refusal):
    """The account is another athlete's of this gym."""

    field = "email"


class LoginNotAgreed(Refusal):
    """Nobody who decides agreed to a log-in, or somebody said no."""


class NotAMinor(Refusal):
    """Only minors have guardians."""


class AlreadyGuardian(Refusal):
    """The account is that athlete's guardian already."""

    field = "email"


class NotWaiting(Refusal):
    """The invitation was used or taken back meanwhile."""


class MadeInvitation(NamedTuple):
    """An invitation, and its code as it is read out, which is nowhere to be read again."""

    invitation: Invitation
    code: str


def invite_staff(
    *,
    by: Membership,
    full_name: str,
    email: str,
    role: str,
    rights: frozenset[str],
    sign_off_skills: Collection[str] | None = None,
) -> MadeInvitation:
    """Invite a coach with these rights, or another owner, who has them all.

    `sign_off_skills` are the slugs for which the right to sign off is to hold, None for every skill. Without an
    address the code is for printing. Raises BadName, BadEmail, AlreadyOnStaff, UnknownSkill, NoSkillChosen, and
    ValueError for a role or a right that does not exist.
    """
    if role not in STAFF_ROLES or rights.difference(RIGHTS):
        raise ValueError(f"There is no such role or right: {role}, {', '.join(sorted(rights))}.")
    name, address = _checked_name(full_name), (checked_address(email) if email.strip() else "")
    if _has_role(by.gym, role, address):
        raise AlreadyOnStaff(f"{address} belongs to the staff already.")
    held = frozenset() if role == Role.OWNER else rights
    skills = checked_skills(by.gym, held, sign_off_skills)
    invitation = Invitation(gym=by.gym, role=role, rights=sorted(held), sign_off_skills=skills)
    return _made(by, invitation, name, address)


def invite_athlete(*, by: Membership, athlete: Athlete, email: str) -> MadeInvitation:
    """Invite an athlete to a log-in of their own. An address that is given becomes the roster's.

    Raises BadEmail, AlreadyHasLogin, LoginNotAgreed, LoginTaken.
    """
    address = checked_address(email) if email.strip() else ""
    check_login_is_free(athlete)
    check_login_is_agreed(athlete)
    if _has_role(by.gym, Role.ATHLETE, address):
        raise LoginTaken(f"{address} is the log-in of somebody else here.")
    invitation = Invitation(gym=by.gym, role=Role.ATHLETE, athlete=athlete)
    return _made(by, invitation, athlete.person.full_name, address)


def invite_guardian(*, by: Membership, athlete: Athlete, full_name: str, email: str) -> MadeInvitation:
    """Invite a guardian to see a minor's progress. Raises NotAMinor, AlreadyGuardian, BadName, BadEmail."""
    check_is_minor(athlete)
    name, address = _checked_name(full_name), (checked_address(email) if email.strip() else "")
    links = Guardianship.objects.filter(athlete=athlete, ended_at=None, guardian__ended_at=None)
    if address and links.filter(guardian__account__email=address).exists():
        raise AlreadyGuardian(f"{address} is their guardian already.")
    return _made(by, Invitation(gym=by.gym, role=Role.GUARDIAN, athlete=athlete), name, address)


@transaction.atomic
def renew_invitation(*, by: Membership, invitation: Invitation) -> MadeInvitation:
    """Give an invitation that waits, or has run out, a new code and its full time; the old code ends.

    Raises NotWaiting, LoginNotAgreed.
    """
    waiting = Invitation.objects.select_for_update(no_key=True, of=("self",))
    waiting = waiting.select_related("person", "athlete__person", "athlete__gym")
    found = waiting.filter(gym=by.gym_id, pk=invitation.pk, used_at=None, revoked_at=None).first()
    if found is None:
        raise NotWaiting("This invitation was used or taken back a moment ago.")
    if found.role == Role.ATHLETE and found.athlete:
        check_login_is_agreed(found.athlete)
    return _with_new_code(by, found, act="invitation_renewed")


@transaction.atomic
def revoke_invitation(*, by: Membership, invitation: Invitation) -> bool:
    """Take an invitation back; return whether it was waiting until now."""
    waiting = Invitation.objects.filter(gym=by.gym_id, pk=invitation.pk, used_at=None, revoked_at=None)
    if not waiting.update(revoked_at=timezone.now()):
        return False
    record_act(gym=by.gym, actor=by, act="invitation_revoked", about=invitation.id, content={})
    return True


def revoke_made_by(*, maker: Membership, roles: Collection[str], at: datetime) -> int:
    """Take back what somebody invited to these roles, in the transaction in which they lose the right to.

    Or who must go could come back by a code that they kept. Return how many were waiting.
    """
    waiting = Invitation.objects.filter(gym=maker.gym_id, made_by=maker, role__in=roles, used_at=None, revoked_at=None)
    return waiting.update(revoked_at=at)


def code_digest(code: str) -> str:
    """Return what is kept of a code (HMAC-SHA256, 64 hexadecimal digits): the site's own secret goes in."""
    return salted_hmac("athletes.invitations.code", code, algorithm="sha256").hexdigest()


def check_login_is_free(athlete: Athlete) -> None:
    """Raise AlreadyHasLogin where the athlete has a log-in."""
    if Membership.objects.filter(athlete=athlete, role=Role.ATHLETE, ended_at=None).exists():
        raise AlreadyHasLogin(f"Number {athlete.number} has a log-in already.")


def check_login_is_agreed(athlete: Athlete) -> None:
    """Raise LoginNotAgreed where a log-in needs a consent that is not there: below the age for it a guardian's yes."""
    if has_consent(athlete, "login", timezone.now()):
        return
    age = min(athlete.gym.own_data_age_years, athlete.gym.adult_age_years)
    who = "they" if athlete.standing().own_data else f"a guardian, as for everybody below {age},"
    raise LoginNotAgreed(
        f"Number {athlete.number} may have no log-in yet: {who} must agree to “{WORDS['login']}” first. "
        "Write it down under Consents, then invite them."
    )


def check_is_minor(athlete: Athlete) -> None:
    """Raise NotAMinor for an athlete who is of age."""
    if not athlete.is_minor():
        raise NotAMinor(f"Number {athlete.number} is of age.")


@transaction.atomic
def _made(by: Membership, wanted: Invitation, full_name: str, address: str) -> MadeInvitation:
    """Store an invitation; one to the same person for the same thing that waits gets a new code instead."""
    Gym.objects.select_for_update(no_key=True).get(pk=by.gym_id)  # two forms at once: one invitation
    invitation = _same(wanted, full_name, address) or wanted
    invitation.rights, invitation.sign_off_skills = wanted.rights, wanted.sign_off_skills
    invitation.person = _person_for(invitation, full_name, address)
    return _with_new_code(by, invitation, act="invitation_made")


def _same(wanted: Invitation, full_name: str, address: str) -> Invitation | None:
    waiting: QuerySet[Invitation] = Invitation.objects.filter(
        gym=wanted.gym, role=wanted.role, athlete=wanted.athlete, used_at=None, revoked_at=None
    ).select_related("person")
    if wanted.role == Role.ATHLETE:
        return waiting.first()
    return waiting.filter(person__email=address, **({} if address else {"person__full_name": full_name})).first()


def _person_for(invitation: Invitation, full_name: str, address: str) -> Person:
    """Return who is invited, with the address: the athlete, or somebody whom nobody knows better yet."""
    if invitation.role == Role.ATHLETE and invitation.athlete:
        person = invitation.athlete.person
        if address and person.email != address:
            person.email = address
            person.save(update_fields=["email"])
        return person
    if invitation.person_id is None:
        return Person.objects.create(gym=invitation.gym, full_name=full_name, email=address)
    invitation.person.full_name = full_name
    invitation.person.save(update_fields=["full_name"])
    return invitation.person


def _with_new_code(by: Membership, invitation: Invitation, *, act: str) -> MadeInvitation:
    code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
    now = timezone.now()
    invitation.digest, invitation.made_by, invitation.made_at = code_digest(code), by, now
    invitation.until_at, invitation.mailed_at = now + timedelta(days=settings.INVITATION_DAYS), None
    invitation.save()
    content: dict[str, object] = {"role": str(invitation.role), "until": invitation.until_at}
    if invitation.athlete_id:
        content["athlete"] = invitation.athlete_id
    if invitation.role == Role.COACH:
        content |= {"rights": invitation.rights, "sign_off_skills": invitation.sign_off_skills}
    record_act(gym=by.gym, actor=by, act=act, about=invitation.id, content=content)
    return MadeInvitation(invitation, shown_code(code))


def _has_role(gym: Gym, role: str, address: str) -> bool:
    current = Membership.objects.filter(gym=gym, role=role, ended_at=None)
    return bool(address) and current.filter(account__email=address).exists()


def _checked_name(full_name: str) -> str:
    name = tidy_name(full_name)
    if problem := name_problem(name):
        raise BadName(problem)
    return name
