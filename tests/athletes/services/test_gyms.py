from typing import Any

import pytest

from athletes.core.refusal import Refusal
from athletes.models import Account, AuditEntry, Gym, Membership
from athletes.services.accounts import BadEmail, WeakPassword
from athletes.services.audit import first_broken_link
from athletes.services.gyms import (
    BadGymName,
    BadOwnerName,
    SlugTaken,
    UnknownTimeZone,
    UnknownUnits,
    change_gym,
    found_gym,
)
from tests.factories.athletes import PASSWORD, make_account

pytestmark = pytest.mark.django_db

FOUNDING: dict[str, Any] = {
    "name": "Mill Hall",
    "time_zone": "Europe/Berlin",
    "units": "metric",
    "owner_name": "Rosa  Lenk",
    "owner_email": "Rosa@Mill.Example",
    "password": PASSWORD,
}


def test_founding_makes_gym_owner_log_in_and_chain():
    owner = found_gym(**FOUNDING)
    assert owner.role == Membership.Role.OWNER
    assert owner.person.full_name == "Rosa Lenk"
    assert owner.account.email == "rosa@mill.example"
    assert owner.account.check_password(PASSWORD)
    assert owner.gym.slug == "mill-hall"
    assert first_broken_link(owner.gym) is None
    (entry,) = AuditEntry.objects.filter(gym=owner.gym)
    assert (entry.act, entry.actor, entry.about) == ("gym_founded", owner, owner.gym.id)
    assert "Rosa" not in entry.content


def test_a_new_gym_asks_for_consents_until_its_owner_says_otherwise():
    owner = found_gym(**FOUNDING)
    said = []
    for asks in (None, False, None, True):
        change_gym(member=owner, name="Mill Hall", time_zone="Europe/Berlin", units="metric", asks_consent=asks)
        said.append(Gym.objects.get(pk=owner.gym_id).asks_consent)
    assert said == [True, False, False, True]


def test_founding_takes_the_next_short_name_that_is_free():
    slugs = [found_gym(**{**FOUNDING, "owner_email": f"r{n}@mill.example"}).gym.slug for n in range(3)]
    assert slugs == ["mill-hall", "mill-hall-2", "mill-hall-3"]


def test_a_name_without_latin_letters_still_gives_a_short_name():
    assert found_gym(**{**FOUNDING, "name": "体操館"}).gym.slug == "gym"


def test_an_account_that_exists_keeps_its_password():
    account = make_account("rosa@mill.example", password="another one, kept")
    owner = found_gym(**FOUNDING)
    assert owner.account == account
    account.refresh_from_db()
    assert account.check_password("another one, kept")


@pytest.mark.parametrize(
    ("changed", "refusal", "field", "word"),
    [
        ({"name": "  "}, BadGymName, "name", "missing"),
        ({"name": "x" * 121}, BadGymName, "name", "120"),
        ({"owner_name": ""}, BadOwnerName, "owner_name", "missing"),
        ({"time_zone": "Mars/Olympus"}, UnknownTimeZone, "time_zone", "Mars/Olympus"),
        ({"units": "cubits"}, UnknownUnits, "units", "metric or imperial"),
        ({"owner_email": "rosa"}, BadEmail, "email", "no e-mail address"),
        ({"password": "short"}, WeakPassword, "password", "too short"),
        ({"password": "rosa@mill.example"}, WeakPassword, "password", "similar"),
        ({"slug": "harbour"}, SlugTaken, "slug", "harbour"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_stored(gym, changed, refusal, field, word):
    with pytest.raises(Refusal, match=word) as caught:
        found_gym(**{**FOUNDING, **changed})
    assert type(caught.value) is refusal
    assert caught.value.field == field
    assert list(Gym.objects.all()) == [gym]
    assert not Account.objects.exists()


def test_changing_a_gym(owner):
    change_gym(member=owner, name="Harbour  East", time_zone="Europe/Berlin", units="imperial")
    owner.gym.refresh_from_db()
    assert (owner.gym.name, owner.gym.units) == ("Harbour East", "imperial")
    assert AuditEntry.objects.get().act == "gym_changed"


def test_another_time_zone_makes_what_was_derived_stale_and_another_name_does_not(owner):
    before = owner.gym.rules_stamp
    change_gym(member=owner, name="East", time_zone="Europe/Berlin", units="metric")
    assert Gym.objects.get().rules_stamp == before
    change_gym(member=owner, name="East", time_zone="Europe/Lisbon", units="metric")
    assert Gym.objects.get().rules_stamp != before


def test_a_bad_change_is_refused(owner):
    with pytest.raises(UnknownTimeZone):
        change_gym(member=owner, name="East", time_zone="Berlin", units="metric")
    owner.gym.refresh_from_db()
    assert owner.gym.name == "Harbour Hall"
