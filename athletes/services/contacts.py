"""Whom to call when something has happened. Kept to be right, so it is changed in place; erasure deletes it."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.access.rules import holds
from athletes.core.phones import MOST_DIGITS, tidy_phone
from athletes.core.refusal import Refusal
from athletes.models import Athlete, EmergencyContact, Guardianship, Membership
from athletes.services.audit import record_act

MOST_CONTACTS: Final = 6
NAME_LENGTH: Final = 120
RELATION_LENGTH: Final = 60


class NotTheirs(Refusal):
    """Staff who may log, the guardian of a minor and the athlete themselves say whom to call."""


class NoName(Refusal):
    """A number without a name helps nobody."""

    field = "name"


class TooLong(Refusal):
    """A relation is a word or two."""

    field = "relation"


class BadPhone(Refusal):
    """What was typed is no telephone number."""

    field = "phone"


class TooMany(Refusal):
    """A few are enough, and read at a glance."""


@transaction.atomic
def save_contact(
    *, by: Membership, athlete: Athlete, contact_id: UUID, name: str, relation: str, phone: str
) -> EmergencyContact:
    """Store somebody to call, or change what is known of them: the same id is the same contact.

    Raises NotTheirs, NoName, TooLong, BadPhone, TooMany.
    """
    _check_who(by, athlete)
    told = {"name": _name(name), "relation": _relation(relation), "phone": _phone(phone)}
    Athlete.objects.select_for_update().only("pk").get(pk=athlete.pk)  # two forms at once are one after the other
    mine = EmergencyContact.objects.filter(gym=by.gym_id, athlete=athlete)
    row = mine.filter(pk=contact_id).first()
    if row is None and mine.count() >= MOST_CONTACTS:
        raise TooMany(f"There are {MOST_CONTACTS} to call: remove one first.")
    if row and all(getattr(row, field) == value for field, value in told.items()):
        return row  # the same form a second time
    what = "changed" if row else "added"
    row = row or EmergencyContact(id=contact_id, gym=by.gym, athlete=athlete)
    for field, value in told.items():
        setattr(row, field, value)
    row.entered_by, row.entered_at = by, timezone.now()
    row.save()
    _record(by, athlete, row.id, what)
    return row


@transaction.atomic
def remove_contact(*, by: Membership, athlete: Athlete, contact_id: UUID) -> bool:
    """Delete somebody to call; whether there was one. Raises NotTheirs."""
    _check_who(by, athlete)
    number, _ = EmergencyContact.objects.filter(gym=by.gym_id, athlete=athlete, pk=contact_id).delete()
    if number:
        _record(by, athlete, contact_id, "removed")
    return number > 0


def may_say_contacts(member: Membership, athlete: Athlete) -> bool:
    """Whether a member may say whom to call: staff who may log, a minor's guardian, who decides about own data."""
    if member.gym_id != athlete.gym_id or member.ended_at:
        return False
    if member.is_staff_member:
        return holds(member, "may_log")
    if member.role == Membership.Role.GUARDIAN:
        links = Guardianship.objects.filter(gym=member.gym_id, guardian=member, athlete=athlete, ended_at=None)
        return athlete.is_minor() and links.exists()
    return member.athlete_id == athlete.id and athlete.standing().own_data


def _check_who(by: Membership, athlete: Athlete) -> None:
    if not may_say_contacts(by, athlete):
        raise NotTheirs("Whom to call is said by the athlete, a minor's guardian, or a coach who may log.")


def _name(text: str) -> str:
    name = " ".join(text.split())
    if not name:
        raise NoName("Say whom to call.")
    if len(name) > NAME_LENGTH:
        raise NoName(f"The name has {len(name)} characters; {NAME_LENGTH} is the most.")
    return name


def _relation(text: str) -> str:
    relation = " ".join(text.split())
    if len(relation) > RELATION_LENGTH:
        raise TooLong(f"The relation has {len(relation)} characters; {RELATION_LENGTH} is the most.")
    return relation


def _phone(text: str) -> str:
    phone = tidy_phone(text)
    if not phone:
        raise BadPhone(f"Write the number in digits, {MOST_DIGITS} at the most, like +49 30 1234567.")
    return phone


def _record(by: Membership, athlete: Athlete, contact_id: UUID, what: str) -> None:
    content = {"athlete": athlete.id, "what": what}
    record_act(gym=by.gym, actor=by, act="contact_changed", about=contact_id, content=content)
