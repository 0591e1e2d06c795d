"""Lists cost as many queries however long they are."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from allauth.usersessions.models import UserSession
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import Athlete, Guardianship, Gym, Membership
from athletes.services.contacts import save_contact
from athletes.services.erasure import erase_person
from athletes.services.erasure_requests import ask_erasure
from athletes.services.invitations import invite_guardian, invite_staff
from athletes.services.private_links import make_link
from athletes.services.screenings import enter_screening
from athletes.services.tokens import make_token
from gymtrack.lib.ids import new_id
from skills.services.safety import CheckEntry, check_equipment
from tests.factories.athletes import (
    PASSWORD,
    Role,
    make_athlete,
    make_consent,
    make_guardian,
    make_member,
    years_before_today,
)

SignIn = Callable[[Membership], Client]
Grow = Callable[[int], None]


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Any, settings: Any) -> None:
    """A list of erasures of each test's own."""
    settings.DATA_DIR, settings.EMAIL_FILE_PATH = tmp_path, tmp_path / "mail"


def queries(client: Client, address: str) -> int:
    client.get(address)  # what is worked out once and kept
    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200
    return len(seen)


def costs_the_same(client: Client, address: str, grow: Grow) -> None:
    for number in (0, 1):
        grow(number)
    few = queries(client, address)
    for number in range(2, 5):
        grow(number)
    assert queries(client, address) == few


def test_of_staff_and_who_is_invited_to_it(client_of: SignIn, owner: Membership) -> None:
    def grow(number: int) -> None:
        make_member(owner.gym, Role.COACH, f"Coach{number} Berg", rights=("may_log", "may_sign_off"))
        invite_staff(by=owner, full_name=f"New {number}", email="", role="coach", rights=frozenset({"may_log"}))

    costs_the_same(client_of(owner), reverse("staff"), grow)


def test_of_guardians_and_who_is_invited_as_one(client_of: SignIn, coach: Membership, minor: Athlete) -> None:
    def grow(number: int) -> None:
        make_guardian(minor, f"Guardian{number} Okafor")
        invite_guardian(by=coach, athlete=minor, full_name=f"Gus {number}", email="")

    costs_the_same(client_of(coach), reverse("athlete_change", args=[minor.id]), grow)


def test_of_wards(client_of: SignIn, guardian: Membership, gym: Gym) -> None:
    def grow(number: int) -> None:
        ward = make_athlete(gym, f"Child{number} Okafor", birth_on=years_before_today(12))
        Guardianship.objects.create(gym=gym, guardian=guardian, athlete=ward)

    costs_the_same(client_of(guardian), reverse("wards"), grow)


def test_of_whom_to_call(client_of: SignIn, coach: Membership, minor: Athlete) -> None:
    def grow(number: int) -> None:
        told = {"name": f"Ida {number}", "relation": "aunt", "phone": "+49 30 1234567"}
        save_contact(by=coach, athlete=minor, contact_id=new_id(), **told)

    costs_the_same(client_of(coach), reverse("contacts", args=[minor.id]), grow)


def test_of_screenings(client_of: SignIn, coach: Membership, minor: Athlete) -> None:
    def grow(number: int) -> None:
        enter_screening(by=coach, athlete=minor, done_on=date(2025, 1, 1 + number), expires_on=None)

    costs_the_same(client_of(coach), reverse("screenings", args=[minor.id]), grow)


def test_of_private_links(client_of: SignIn, coach: Membership, minor: Athlete) -> None:
    make_consent(minor, by=coach, kind="link")

    def grow(_number: int) -> None:
        make_link(by=coach, athlete=minor)

    costs_the_same(client_of(coach), reverse("private_links", args=[minor.id]), grow)


def test_of_keys(client_of: SignIn, owner: Membership) -> None:
    def grow(number: int) -> None:
        make_token(by=owner, name=f"door {number}")

    costs_the_same(client_of(owner), reverse("tokens"), grow)


def test_of_erasures_asked_for_and_answered(client_of: SignIn, owner: Membership, gym: Gym) -> None:
    def grow(number: int) -> None:
        make_athlete(gym, f"Asks{number} Falk")
        asking, gone = (make_member(gym, Role.GUARDIAN, f"{word}{number} Roth") for word in ("Asks", "Gone"))
        for member in (asking, gone):
            ask_erasure(by=member, person=member.person)
        erase_person(person=gone.person, by=owner)

    costs_the_same(client_of(owner), f"{reverse('erasures')}?q=a", grow)


def test_of_equipment(client_of: SignIn, coach: Membership) -> None:
    def grow(number: int) -> None:
        check_equipment(by=coach, entry=CheckEntry(f"Rings {number}", fit=bool(number % 2), reason="A worn strap."))

    costs_the_same(client_of(coach), reverse("equipment"), grow)


def test_of_where_somebody_is_signed_in(coach: Membership) -> None:
    """The library looks at each session, to leave out those that have ended: two queries for each."""
    browsers = [Client() for _ in range(4)]
    for browser in browsers:
        browser.post("/account/sign-in/", {"login": coach.account.email, "password": PASSWORD})
    counts = []
    for kept in (4, 3):
        while UserSession.objects.count() > kept:
            UserSession.objects.exclude(session_key=browsers[0].session.session_key).first().end()
        counts.append(queries(browsers[0], reverse("usersessions_list")))
    assert counts[0] - counts[1] <= 4
