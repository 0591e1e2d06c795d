"""An account under an address that was never shown: its owner's new password leaves nobody else a way in."""

import re
from collections.abc import Callable

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.core import mail
from django.test import Client
from django.urls import reverse

from athletes.models import Account, ApiToken, AuditEntry, CoachCode, Membership
from athletes.services.audit import first_broken_link
from athletes.services.coach_codes import set_code
from athletes.services.invitations import invite_staff
from athletes.services.tokens import make_token
from tests.factories.athletes import PASSWORD, make_account
from tests.helpers.api import Api

pytestmark = pytest.mark.django_db

NEW_PASSWORD = "thumbs around the bar"
VICTIM = "vera@harbour.example"
SIGN_IN = "/account/sign-in/"


@pytest.fixture
def squatter(owner: Membership, settings) -> tuple[Client, Account]:
    """Somebody who held a code for a coach, and used another person's address; with all that opens a door later."""
    settings.ACCOUNT_EMAIL_VERIFICATION = "optional"
    made = invite_staff(by=owner, full_name="Nils Aho", email="", role="coach", rights=frozenset({"may_log"}))
    client = Client()
    client.post(reverse("join"), {"code": made.code})
    client.post(reverse("join_accept"), {"email": VICTIM, "password": PASSWORD})
    client.post(SIGN_IN, {"login": VICTIM, "password": PASSWORD})
    return client, Account.objects.get(email=VICTIM)


def chosen_anew(address: str) -> None:
    """Choose a new password, as who reads that address's mail."""
    reader = Client()
    reader.post("/account/password/forgotten/", {"email": address})
    link = re.search(r"http://testserver(/account/password/new/\S+)", str(mail.outbox[-1].body))
    assert link
    page = reader.get(link[1], follow=True).redirect_chain[-1][0]
    reader.post(page, {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD})


def test_nothing_that_was_set_up_before_opens_the_account(squatter: tuple[Client, Account]) -> None:
    client, account = squatter
    membership = account.memberships.get()
    for kind in ("webauthn", "totp", "recovery_codes"):
        Authenticator.objects.create(user=account, type=kind, data={})
    key = make_token(by=membership, name="kept").key
    set_code(by=membership, code="294173")
    assert (client.get("/skills/").status_code, Api(key).get("skills/").status_code) == (200, 200)
    chosen_anew(VICTIM)
    assert not Authenticator.objects.filter(user=account).exists()
    assert not UserSession.objects.filter(user=account).exists()
    assert (client.get("/skills/").status_code, Api(key).get("skills/").status_code) == (302, 401)
    assert not ApiToken.objects.filter(revoked_at=None).exists()
    assert not CoachCode.objects.exists()
    assert EmailAddress.objects.get(user=account).verified
    assert Client().post(SIGN_IN, {"login": VICTIM, "password": PASSWORD}).status_code == 200
    mine = Client().post(SIGN_IN, {"login": VICTIM, "password": NEW_PASSWORD})
    assert (mine.status_code, mine["Location"]) == (302, "/")
    assert AuditEntry.objects.filter(act="account_reclaimed", about=membership.id).count() == 1
    assert first_broken_link(membership.gym) is None


def test_the_second_factor_of_who_has_shown_their_address_stays(coach: Membership) -> None:
    """Or whoever reads the mail alone would be past it."""
    Authenticator.objects.create(user=coach.account, type="webauthn", data={})
    key = make_token(by=coach, name="kept").key
    chosen_anew(coach.account.email)
    assert Authenticator.objects.filter(user=coach.account).count() == 1
    assert Api(key).get("skills/").status_code == 200
    assert not AuditEntry.objects.filter(act="account_reclaimed").exists()


def test_every_sign_in_ends_with_the_old_password(client: Client, coach: Membership) -> None:
    client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD})
    assert UserSession.objects.filter(user=coach.account).count() == 1
    chosen_anew(coach.account.email)
    assert not UserSession.objects.filter(user=coach.account).exists()
    assert client.get("/skills/").status_code == 302


@pytest.mark.parametrize("verified", [True, False])
def test_no_password_is_chosen_by_a_mail_to_an_address_that_waits(verified: bool) -> None:  # noqa: FBT001
    """It may be mistyped, and its reader a stranger."""
    account = make_account("nina@harbour.example", verified=verified)
    EmailAddress.objects.create(user=account, email="waits@harbour.example")
    Client().post("/account/password/forgotten/", {"email": "waits@harbour.example"})
    assert not [message for message in mail.outbox if "/account/password/new/" in str(message.body)]
    chosen_anew("Nina@Harbour.Example")
    rows = {row.email: row.verified for row in EmailAddress.objects.filter(user=account)}
    assert rows == {"nina@harbour.example": True} | ({"waits@harbour.example": False} if verified else {})


def test_an_address_that_somebody_else_set_to_wait_opens_the_account_no_more(squatter: tuple[Client, Account]) -> None:
    """Or they would choose the next password by a mail to their own address, after its owner has."""
    client, account = squatter
    client.post("/account/confirm/", {"password": PASSWORD})
    client.post("/account/address/", {"action_add": "", "email": "own@squatter.example"})
    assert EmailAddress.objects.filter(user=account, email="own@squatter.example", verified=False).exists()
    chosen_anew(VICTIM)
    sent = len(mail.outbox)
    Client().post("/account/password/forgotten/", {"email": "own@squatter.example"})
    assert not [message for message in mail.outbox[sent:] if "/account/password/new/" in str(message.body)]
    assert [(row.email, row.verified) for row in EmailAddress.objects.filter(user=account)] == [(VICTIM, True)]


def test_the_page_of_second_factors_says_what_an_unproved_address_means(
    squatter: tuple[Client, Account], coach: Membership, client_of: Callable[[Membership], Client]
) -> None:
    client, account = squatter
    sentence = "choosing a new password by mail would take the second factor away"
    assert sentence not in client.get("/account/safety/").content.decode()
    Authenticator.objects.create(user=account, type="webauthn", data={"name": "phone"})
    assert sentence in client.get("/account/safety/").content.decode()
    Authenticator.objects.create(user=coach.account, type="webauthn", data={"name": "phone"})
    assert sentence not in client_of(coach).get("/account/safety/").content.decode()
