"""Who says whom to call, and what is refused."""

from dataclasses import dataclass
from uuid import UUID

import pytest

from athletes.models import Athlete, AuditEntry, EmergencyContact, Membership
from athletes.services.contacts import (
    MOST_CONTACTS,
    BadPhone,
    NoName,
    NotTheirs,
    TooLong,
    TooMany,
    may_say_contacts,
    remove_contact,
    save_contact,
)
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_login, years_before_today


@dataclass(frozen=True)
class Told:
    """What a form says."""

    name: str = "Ruth  Okafor"
    relation: str = "mother"
    phone: str = "+49 30 1234567"

    def save(self, by: Membership, athlete: Athlete, contact_id: UUID | None = None) -> EmergencyContact:
        told = {"name": self.name, "relation": self.relation, "phone": self.phone}
        return save_contact(by=by, athlete=athlete, contact_id=contact_id or new_id(), **told)


def test_a_contact_is_added_changed_and_removed_and_the_chain_names_nobody(coach: Membership, minor: Athlete) -> None:
    row = Told().save(coach, minor)
    assert (row.name, row.relation, row.phone) == ("Ruth Okafor", "mother", "+49 30 1234567")
    Told(phone="030 99").save(coach, minor, row.id)
    assert EmergencyContact.objects.get().phone == "030 99"
    assert remove_contact(by=coach, athlete=minor, contact_id=row.id)
    assert not remove_contact(by=coach, athlete=minor, contact_id=row.id)
    entries = AuditEntry.objects.filter(act="contact_changed").order_by("pk")
    assert [entry.content.split('"what":"')[1].split('"')[0] for entry in entries] == ["added", "changed", "removed"]
    assert not any("Ruth" in entry.content or "1234567" in entry.content for entry in entries)


def test_the_same_form_twice_is_one_contact(coach: Membership, minor: Athlete) -> None:
    contact_id = new_id()
    for _ in range(2):
        Told().save(coach, minor, contact_id)
    assert EmergencyContact.objects.count() == 1
    assert AuditEntry.objects.filter(act="contact_changed").count() == 1


def test_who_says_whom_to_call(
    coach: Membership, reader: Membership, other_coach: Membership, guardian: Membership, minor: Athlete
) -> None:
    own = make_login(minor)
    who = (coach, reader, other_coach, guardian, own)
    assert [may_say_contacts(each, minor) for each in who] == [True, False, False, True, False]
    minor.person.birth_on = years_before_today(16)
    assert [may_say_contacts(each, minor) for each in (guardian, own)] == [True, True]
    minor.person.birth_on = years_before_today(18)
    assert [may_say_contacts(each, minor) for each in (guardian, own)] == [False, True]


def test_an_adult_says_it_and_nobody_else_for_them(
    athlete_member: Membership, reader: Membership, athlete: Athlete, minor: Athlete
) -> None:
    assert may_say_contacts(athlete_member, athlete)
    with pytest.raises(NotTheirs):
        Told().save(athlete_member, minor)
    with pytest.raises(NotTheirs):
        remove_contact(by=reader, athlete=minor, contact_id=new_id())
    assert not EmergencyContact.objects.exists()


@pytest.mark.parametrize(
    ("told", "refusal"),
    [
        (Told(name="  "), NoName),
        (Told(name="x" * 121), NoName),
        (Told(relation="x" * 61), TooLong),
        (Told(phone="call mum"), BadPhone),
        (Told(phone="1234567890123456"), BadPhone),
    ],
)
def test_bad_words_are_refused(coach: Membership, minor: Athlete, told: Told, refusal: type[Exception]) -> None:
    with pytest.raises(refusal):
        told.save(coach, minor)
    assert not EmergencyContact.objects.exists()


def test_there_are_no_more_than_can_be_read_at_a_glance(coach: Membership, minor: Athlete) -> None:
    rows = [Told().save(coach, minor) for _ in range(MOST_CONTACTS)]
    with pytest.raises(TooMany):
        Told().save(coach, minor)
    Told(phone="112").save(coach, minor, rows[0].id)
    assert EmergencyContact.objects.count() == MOST_CONTACTS
