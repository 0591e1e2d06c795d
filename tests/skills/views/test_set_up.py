"""The founding page: once, with mistakes beside their fields, and never a second time."""

import re
from threading import Barrier, Thread

import pytest
from allauth.account.models import EmailAddress
from django.core import mail
from django.db import connection
from django.test import Client
from django.urls import reverse

from athletes.models import Account, AuditEntry, Gym, Membership
from skills.models import Step
from skills.services.founding import AlreadyFounded, found_first_gym
from tests.factories.athletes import PASSWORD, make_account

ENTRY = {
    "name": "Harbour Hall",
    "time_zone": "Europe/Berlin",
    "units": "metric",
    "owner_name": "Olga Brandt",
    "owner_email": "olga@harbour.example",
    "password": PASSWORD,
    "password_again": PASSWORD,
}
FOUNDING = {name: value for name, value in ENTRY.items() if name != "password_again"}


@pytest.fixture
def visitor(db):
    return Client()


def set_up(visitor: Client, **changes: str):
    return visitor.post("/set-up/", ENTRY | changes)


def test_the_page_asks_for_the_gym_and_its_owner(visitor):
    page = visitor.get("/set-up/")
    assert page.status_code == 200
    assert page["Cache-Control"] == "no-store"
    assert all(f'name="{field}"' in page.text for field in ENTRY)


def test_founding_makes_the_gym_its_owner_and_its_skills(visitor):
    set_up(visitor)
    gym = Gym.objects.get()
    assert (gym.name, gym.time_zone, gym.units) == ("Harbour Hall", "Europe/Berlin", "metric")
    owner = Membership.objects.get()
    assert (owner.role, owner.account.email) == ("owner", "olga@harbour.example")
    assert Step.objects.filter(gym=gym).count() == 49
    acts = AuditEntry.objects.filter(gym=gym, actor=owner).values_list("act", flat=True)
    assert list(acts) == ["gym_founded", "skills_installed"]


def test_the_founder_is_signed_in_and_told_what_comes_next(visitor):
    response = set_up(visitor)
    assert response["Location"] == reverse("roster")
    page = visitor.get(reverse("roster"))
    assert page.status_code == 200
    assert "add your athletes here, add coaches under Gym, then open Today" in page.text


def test_the_founder_gets_a_link_to_confirm_the_address(visitor):
    set_up(visitor)
    (message,) = mail.outbox
    assert (message.to, "/account/address/confirm/" in message.body) == (["olga@harbour.example"], True)
    assert [*EmailAddress.objects.values_list("verified", "primary")] == [(False, True)]


def test_where_addresses_must_be_confirmed_the_link_stands_before_the_first_page(visitor, settings):
    settings.ACCOUNT_EMAIL_VERIFICATION = "mandatory"
    assert set_up(visitor)["Location"] == "/account/address/sent/"
    assert visitor.get(reverse("roster")).status_code == 302
    visitor.post(re.search(r"http://testserver(/account/address/confirm/\S+)", str(mail.outbox[0].body))[1])  # type: ignore[index]
    entered = visitor.post("/account/sign-in/", {"login": "olga@harbour.example", "password": PASSWORD})
    assert entered["Location"] == "/"
    assert visitor.get(reverse("roster")).status_code == 200


def test_a_gym_is_founded_where_no_mail_can_be_sent(visitor, settings):
    settings.EMAIL_BACKEND = "tests.gymtrack.test_addresses.NoMail"
    assert set_up(visitor)["Location"] == reverse("roster")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"password_again": "long arms, noisy lats"}, "The two passwords differ: type the same one twice."),
        ({"password": "short", "password_again": "short"}, "too short"),
        ({"time_zone": "Europe/Atlantis"}, "Europe/Atlantis is not one of the available choices."),
        ({"owner_email": "olga at harbour"}, "olga at harbour"),
        ({"name": ""}, "Name of the gym is missing."),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_typed_is_lost(visitor, changes, sentence):
    page = set_up(visitor, **changes)
    assert page.status_code == 422
    assert sentence in page.text
    kept = ENTRY | changes
    assert f'value="{kept["owner_name"]}"' in page.text
    assert f'value="{kept["password"]}"' in page.text
    assert not Gym.objects.exists()
    assert not Account.objects.exists()


def test_with_a_gym_the_page_is_gone(gym):
    visitor = Client()
    assert visitor.get("/set-up/")["Location"] == reverse("home")
    assert set_up(visitor)["Location"] == reverse("home")
    assert Gym.objects.get() == gym


def test_an_account_from_before_is_not_signed_in_without_its_own_password(visitor):
    make_account("olga@harbour.example", password="an older password")
    response = set_up(visitor)
    assert response["Location"] == reverse("account_login")
    assert "_auth_user_id" not in visitor.session


def test_a_second_gym_is_refused_inside_the_transaction(gym):
    with pytest.raises(AlreadyFounded, match="A gym was set up here before"):
        found_first_gym(**FOUNDING)
    assert Gym.objects.get() == gym


@pytest.mark.postgresql_only  # SQLite lets one write transaction in at a time, and its tests share one connection
@pytest.mark.django_db(transaction=True)
def test_of_two_founders_at_once_one_wins():
    start, refused = Barrier(2), []

    def found(name: str) -> None:
        start.wait()
        try:
            found_first_gym(**FOUNDING | {"name": name, "owner_email": f"{name}@harbour.example"})
        except AlreadyFounded as refusal:
            refused.append(refusal)
        finally:
            connection.close()

    founders = [Thread(target=found, args=(name,)) for name in ("one", "two")]
    for founder in founders:
        founder.start()
    for founder in founders:
        founder.join()
    assert Gym.objects.count() == 1
    assert len(refused) == 1
