"""What concerns security is in the log, with ids alone (OWASP ASVS 5.0, 16.2.1, 16.3.1, 16.3.2)."""

import logging
import re
from collections.abc import Callable

import pytest
from allauth.account.models import EmailAddress, EmailConfirmationHMAC
from django.core import mail
from django.test import Client

from athletes.access.security_log import LOG
from athletes.models import Account, ApiToken, Athlete, Membership
from athletes.services.tokens import make_token, revoke_token
from tests.factories.athletes import PASSWORD
from tests.gymtrack.test_second_factor import with_app
from tests.helpers.api import Api, api_of
from tests.helpers.floor import enrolled, hand_over_body

pytestmark = pytest.mark.django_db

SignIn = Callable[[Membership | Account], Client]
SIGN_IN = "/account/sign-in/"


class Noted(logging.Handler):
    """Keeps what was noted, as (level, line)."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[tuple[str, str]] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append((record.levelname, record.getMessage()))

    @property
    def events(self) -> list[str]:
        return [line.partition(" account=")[0] for _, line in self.lines]


@pytest.fixture
def noted():
    handler = Noted()
    LOG.addHandler(handler)
    yield handler
    LOG.removeHandler(handler)


def sign_in(client: Client, who: Membership, password: str = PASSWORD) -> None:
    client.post(SIGN_IN, {"login": who.account.email, "password": password})


def test_signing_in_and_out_is_noted_with_the_account(client: Client, coach: Membership, noted: Noted) -> None:
    sign_in(client, coach)
    client.post("/account/sign-out/")
    assert noted.lines == [
        ("INFO", f"signed in account={coach.account_id} member=- key=- POST account_login"),
        ("INFO", f"signed out account={coach.account_id} member={coach.id} key=- POST account_logout"),
    ]


def test_a_wrong_password_is_noted_and_what_was_typed_is_not(client: Client, coach: Membership, noted: Noted) -> None:
    sign_in(client, coach, "not the password")
    assert noted.lines == [("WARNING", "sign-in failed account=- member=- key=- POST account_login")]


def test_too_many_tries_are_noted_where_the_page_is_a_usual_one(
    client: Client, coach: Membership, noted: Noted
) -> None:
    for _ in range(6):
        sign_in(client, coach, "not the password")
    assert noted.events == [*["sign-in failed"] * 5, "too many tries"]


def test_too_many_mails_asked_for_are_noted(client: Client, coach: Membership, noted: Noted) -> None:
    for _ in range(6):
        client.post("/account/password/forgotten/", {"email": coach.account.email})
    assert noted.lines == [
        ("WARNING", "too many tries account=- member=- key=- POST account_reset_password"),
    ]


def test_a_page_that_is_refused_is_noted_with_the_membership(
    client_of: SignIn, reader: Membership, noted: Noted
) -> None:
    client_of(reader).get("/gym/")
    noted.lines[:] = noted.lines[-1:]  # the test's own way of signing in is noted, too
    assert noted.lines == [("WARNING", f"refused account={reader.account_id} member={reader.id} key=- GET gym")]


def test_a_form_without_its_token_is_noted(coach: Membership, noted: Noted) -> None:
    Client(enforce_csrf_checks=True).post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD})
    assert noted.events == ["refused"]


def test_a_revoked_key_and_a_right_that_a_key_lacks_are_noted(
    owner: Membership, reader: Membership, noted: Noted
) -> None:
    made = make_token(by=owner, name="door")
    revoke_token(by=owner, token=made.token)
    Api(made.key).get("athletes/")
    api_of(reader).post("sessions/", {"name": "Tuesday"})
    key = ApiToken.objects.get(membership=reader)
    assert noted.lines == [
        ("WARNING", "not signed in account=- member=- key=- GET api_athletes"),
        ("WARNING", f"refused account={reader.account_id} member={reader.id} key={key.id} POST api_sessions"),
    ]


def test_a_wrong_code_on_a_tablet_is_noted_with_the_tablet(owner: Membership, coach: Membership, noted: Noted) -> None:
    device = enrolled(owner)
    answer = device.post("hand-over/", hand_over_body(coach, code="000000"))
    assert answer.status_code == 403
    assert noted.lines == [
        ("WARNING", f"refused account=- member=- key={device.tablet.id} POST floor_hand_over"),
    ]


def test_a_code_that_opens_no_gym_is_noted_without_the_code(client: Client, noted: Noted) -> None:
    client.get("/join/K7QM2XHV9PTR/")
    client.post("/join/", {"code": "K7QM-2XHV-9PTR"})
    assert noted.lines == [
        ("WARNING", "code of an invitation refused account=- member=- key=- GET join_code"),
        ("WARNING", "code of an invitation refused account=- member=- key=- POST join"),
    ]


@pytest.mark.django_db(transaction=True)
def test_a_second_factor_is_noted_when_it_is_made_fails_and_goes(owner: Membership, noted: Noted) -> None:
    browser, _ = with_app(owner)
    assert [event for event in noted.events if "factor" in event] == ["second factor added"] * 2  # and recovery codes
    other = Client()
    sign_in(other, owner)
    noted.lines.clear()
    other.post("/account/safety/code/", {"code": "000000"})
    other.post("/account/safety/code/", {"credential": '{"id": "x"}'})
    assert [line for line in noted.events if line == "second factor failed"] != []
    assert all(f"account={owner.account_id}" in line for _, line in noted.lines if line.startswith("second"))
    noted.lines.clear()
    browser.post("/account/safety/app/remove/")
    assert "second factor removed" in noted.events


def test_a_passkey_that_is_none_is_noted(client: Client, db: None, noted: Noted) -> None:
    client.get("/account/safety/passkeys/sign-in/")
    client.post("/account/safety/passkeys/sign-in/", {"credential": '{"id": "x"}'})
    assert noted.events == ["second factor failed"]


def test_changed_passwords_and_addresses_are_noted(client: Client, coach: Membership, noted: Noted) -> None:
    sign_in(client, coach)
    new = "thumbs around the bar"
    client.post("/account/password/", {"oldpassword": PASSWORD, "password1": new, "password2": new})
    client.post("/account/confirm/", {"password": new})
    client.post("/account/address/", {"action_add": "", "email": "cleo.new@harbour.example"})
    waiting = EmailAddress.objects.get(user=coach.account, primary=False)
    client.post(f"/account/address/confirm/{EmailConfirmationHMAC(waiting).key}/")
    assert {"password changed", "address changed", "address confirmed"} <= {*noted.events}


def test_a_password_chosen_anew_by_mail_is_noted(client: Client, coach: Membership, noted: Noted) -> None:
    client.post("/account/password/forgotten/", {"email": coach.account.email})
    link = re.search(r"http://testserver(/account/password/new/\S+)", str(mail.outbox[-1].body))
    assert link
    page = client.get(link[1], follow=True).redirect_chain[-1][0]
    client.post(page, {"password1": "thumbs around the bar", "password2": "thumbs around the bar"})
    assert "password reset" in noted.events


def test_what_went_well_is_not_noted(client_of: SignIn, coach: Membership, athlete: Athlete, noted: Noted) -> None:
    client = client_of(coach)
    noted.lines.clear()
    client.get(f"/athletes/{athlete.id}/")
    assert noted.lines == []
