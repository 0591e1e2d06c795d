"""Joining a gym by an invitation: once, by the own act of whoever holds its code, under a password of their own."""

from __future__ import annotations

from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from allauth.account.models import EmailAddress
from django.core import signing
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.core.rights import RIGHTS
from athletes.core.tablets import typed_code
from athletes.models import Account, Athlete, Guardianship, Gym, Invitation, Membership, Person
from athletes.services.accounts import draft_account, is_taken, stored_account
from athletes.services.audit import record_act
from athletes.services.invitations import (
    STAFF_ROLES,
    AlreadyGuardian,
    AlreadyOnStaff,
    LoginTaken,
    check_is_minor,
    check_login_is_agreed,
    check_login_is_free,
    code_digest,
)
from athletes.services.rights import note_rights

Role = Membership.Role
_SALT: Final = "athletes.invitations.address"
_DIGEST_SIGNS: Final = 16  # enough to tell a code from the one that took its place


class UnknownInvitation(Refusal):
    """The code is not known, was used, taken back, or has run out: which of them is nobody's business."""

    field = "code"

    def __init__(self) -> None:
        super().__init__(
            "This code opens nothing: it may be mistyped, used, taken back, or have run out. "
            "Ask the gym that gave it to you for a new one."
        )


class OwnGuardian(Refusal):
    """Nobody consents for themselves in a guardian's place: a minor's log-in and a guardian's are two accounts."""


class StaffAccount(Refusal):
    """Who is on the staff speaks for an athlete only as an owner had it, or coaches could consent in their names."""


class Offer(NamedTuple):
    """An invitation as somebody holds it: which one, with which code, and the address that they showed to be theirs.

    `address` is '' where they only know the code. It goes into a browser's session as a list of texts.
    """

    invitation: str
    code: str
    address: str


def offer_of_code(code: str) -> Offer:
    """Return what a typed code offers. Raises UnknownInvitation."""
    invitation = _open(timezone.now()).filter(digest=code_digest(typed_code(code))).first()
    if invitation is None:
        raise UnknownInvitation
    return Offer(str(invitation.id), invitation.digest[:_DIGEST_SIGNS], "")


def offer_of_letter(token: str) -> Offer:
    """Return what the link of a mail offers to who can read that address's mail. Raises UnknownInvitation."""
    try:
        offer = Offer(*signing.loads(token, salt=_SALT))
    except (signing.BadSignature, TypeError) as error:
        raise UnknownInvitation from error
    open_invitation(offer)
    return offer


def letter_for(invitation: Invitation, address: str) -> str:
    """Return the token for a mail to that address: who opens it shows that the address is theirs.

    It is made of this code of the invitation, and ends with it. Whoever made the invitation never sees it.
    """
    return signing.dumps(Offer(str(invitation.id), invitation.digest[:_DIGEST_SIGNS], address), salt=_SALT)


def open_invitation(offer: Offer) -> Invitation:
    """Return the invitation as long as it can be used. Raises UnknownInvitation."""
    found = _open(timezone.now()).filter(pk=UUID(offer.invitation)).first()
    if found is None or not found.digest.startswith(offer.code):
        raise UnknownInvitation
    return found


def joined_by(offer: Offer, account: Account) -> Membership | None:
    """Return what the account became by this invitation, as long as it lasts: who asks twice is let in once."""
    used = Invitation.objects.filter(pk=UUID(offer.invitation), became__account=account, became__ended_at=None)
    found = used.select_related("became").first()
    return found.became if found else None


@transaction.atomic
def join(*, offer: Offer, account: Account) -> Membership:
    """Make an account a member as it was invited, once; return the membership.

    Raises UnknownInvitation, AlreadyOnStaff, AlreadyHasLogin, LoginTaken, NotAMinor, AlreadyGuardian, OwnGuardian,
    StaffAccount, LoginNotAgreed.
    """
    Gym.objects.select_for_update(no_key=True).get(pk=open_invitation(offer).gym_id)
    invitation = open_invitation(offer)  # as it is now: of two at the same instant, the second finds it used
    member = _MAKERS[Role(invitation.role)](invitation, account)
    waiting = Invitation.objects.filter(pk=invitation.pk, digest=invitation.digest, used_at=None, revoked_at=None)
    if not waiting.update(used_at=timezone.now(), became=member, person=member.person):
        raise UnknownInvitation  # taken back or renewed in this very moment
    _forget(invitation.person, but=member.person)
    content = {"role": str(member.role), "membership": member.id, "athlete": invitation.athlete_id}
    record_act(
        gym=member.gym,
        actor=member,
        act="invitation_used",
        about=invitation.id,
        content={name: value for name, value in content.items() if value},
    )
    return member


def join_anew(*, offer: Offer, email: str, password: str) -> Membership | None:
    """Join with a new account under that address; None where it is somebody's already, of whom nothing is told.

    The address counts as shown where it is the offer's own. Raises BadEmail, WeakPassword, and what `join` raises.
    """
    gym_name = open_invitation(offer).gym.name
    # Slow on purpose, whoever's the address is.
    draft = draft_account(email=email, password=password, gym_name=gym_name)
    with transaction.atomic():
        if is_taken(draft.email) or stored_account(draft).pk != draft.pk:
            return None
        shown = draft.email == offer.address
        EmailAddress.objects.create(user_id=draft.pk, email=draft.email, primary=True, verified=shown)
        return join(offer=offer, account=Account.objects.get(pk=draft.pk))


def _open(now: datetime) -> QuerySet[Invitation]:
    waiting = Invitation.objects.filter(used_at=None, revoked_at=None, until_at__gt=now, person__erased_at=None)
    return waiting.select_related("gym", "person", "athlete__person", "athlete__gym")


def _join_staff(invitation: Invitation, account: Account) -> Membership:
    if _current(invitation, account, invitation.role):
        raise AlreadyOnStaff(f"{account.email} is {invitation.get_role_display().lower()} here already.")
    member = Membership.objects.create(
        gym=invitation.gym,
        account=account,
        person=_own_person(invitation, account),
        role=invitation.role,
        sign_off_skills=invitation.sign_off_skills,
        **{right: right in invitation.rights for right in RIGHTS},
    )
    rights = RIGHTS if member.is_owner else invitation.rights
    note_rights(membership=member, rights=rights, sign_off_skills=invitation.sign_off_skills, at=member.started_at)
    return member


def _join_as_athlete(invitation: Invitation, account: Account) -> Membership:
    athlete = invitation.athlete
    if athlete is None:
        raise UnknownInvitation
    check_login_is_free(athlete)
    check_login_is_agreed(athlete)
    _refuse_staff(invitation, account)
    if _current(invitation, account, Role.ATHLETE):
        raise LoginTaken(f"{account.email} is the log-in of somebody else here.")
    if athlete.guardianships.filter(guardian__account=account, ended_at=None).exists():
        raise OwnGuardian(f"{account.email} is the guardian’s account of number {athlete.number}: use another one.")
    return Membership.objects.create(
        gym=invitation.gym, account=account, person=athlete.person, role=Role.ATHLETE, athlete=athlete
    )


def _join_as_guardian(invitation: Invitation, account: Account) -> Membership:
    athlete = invitation.athlete
    if athlete is None:
        raise UnknownInvitation
    check_is_minor(athlete)
    _refuse_staff(invitation, account)
    if athlete.memberships.filter(account=account, ended_at=None).exists():
        raise OwnGuardian(f"{account.email} is the own account of number {athlete.number}: a guardian needs another.")
    # Locked, so that the end of their last other link does not end the membership meanwhile.
    guardian = _current(invitation, account, Role.GUARDIAN) or Membership.objects.create(
        gym=invitation.gym, account=account, person=_own_person(invitation, account), role=Role.GUARDIAN
    )
    if guardian.wards.filter(athlete=athlete, ended_at=None).exists():
        raise AlreadyGuardian(f"{account.email} is their guardian already.")
    Guardianship.objects.create(gym=invitation.gym, guardian=guardian, athlete=athlete)
    return guardian


_MAKERS: Final = {
    Role.OWNER: _join_staff,
    Role.COACH: _join_staff,
    Role.ATHLETE: _join_as_athlete,
    Role.GUARDIAN: _join_as_guardian,
}


def _refuse_staff(invitation: Invitation, account: Account) -> None:
    """Raise StaffAccount where a coach's account would become an athlete's or a guardian's by a coach's invitation.

    A coach who practises here, or whose child does, is invited by an owner, as the audit chain shows.
    """
    staff = Membership.objects.filter(gym=invitation.gym_id, account=account, ended_at=None, role__in=STAFF_ROLES)
    if staff.exists() and not invitation.made_by.is_owner:
        raise StaffAccount(
            f"{account.email} is on the staff here: an owner of the gym has to make this invitation. "
            "With it somebody consents for the athlete, which no coach does by an invitation of their own."
        )


def _current(invitation: Invitation, account: Account, role: str) -> Membership | None:
    current = Membership.objects.filter(gym=invitation.gym_id, account=account, role=role, ended_at=None)
    return current.select_for_update(no_key=True, of=("self",)).select_related("person").first()


def _own_person(invitation: Invitation, account: Account) -> Person:
    """Return who the account is in this gym already, in whatever role, else who was invited."""
    members = Membership.objects.filter(gym=invitation.gym_id, account=account).select_related("person")
    latest_first = F("ended_at").desc(nulls_first=True)  # those that last stand before all that ended
    if member := members.order_by(latest_first, "started_at", "pk").first():
        return member.person
    invited = invitation.person
    if not invited.email:
        invited.email = account.email
        invited.save(update_fields=["email"])
    return invited


def _forget(invited: Person, *, but: Person) -> None:
    """Remove who was written down for an invitation and turned out to be somebody whom the gym knew already."""
    known = (invited.memberships, invited.invitations, Athlete.objects.filter(person=invited))
    if invited != but and not any(rows.exists() for rows in known):
        invited.delete()
