"""Joining by an invitation: no code in an address for long, no word about who has an account."""

import re
from zoneinfo import ZoneInfo

import pytest
from allauth.account.models import EmailAddress
from django.contrib.messages import get_messages
from django.core import mail
from django.test import Client
from django.urls import reverse

from athletes.models import Account, Invitation, Membership
from athletes.services.accounts import is_taken
from athletes.services.invitations import (
    invite_athlete,
    invite_guardian,
    invite_staff,
    renew_invitation,
    revoke_invitation,
)
from athletes.services.joining import letter_for
from tests.factories.athletes import PASSWORD, make_login

ACCEPT, SIGN_IN = "/join/accept/", "/account/sign-in/?next=%2Fjoin%2Faccept%2F"
NEW = {"email": "nils@harbour.example", "password": PASSWORD}
OPENS_NOTHING = (
    "This code opens nothing: it may be mistyped, used, taken back, or have run out. "
    "Ask the gym that gave it to you for a new one."
)


def told(response) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


def text(response) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


@pytest.fixture
def made(owner):
    rights = frozenset({"may_log"})
    return invite_staff(by=owner, full_name="Nils Aho", email="nils@harbour.example", role="coach", rights=rights)


@pytest.fixture
def holder(made) -> Client:
    """A browser in which the code was typed."""
    client = Client()
    assert client.post(reverse("join"), {"code": made.code}).headers["Location"] == ACCEPT
    return client


@pytest.fixture
def reader_of_mail(made) -> Client:
    """A browser in which the mail's link was opened."""
    client = Client()
    assert (
        client.get(reverse("join_code", args=[letter_for(made.invitation, "nils@harbour.example")])).headers["Location"]
        == ACCEPT
    )
    return client


@pytest.fixture
def strict(settings):
    """A site whose mail goes out, and that asks that addresses are shown to be one's own."""
    settings.ACCOUNT_EMAIL_VERIFICATION = "mandatory"


# ---- The code -----------------------------------------------------------------------------------------------------


def test_a_code_in_an_address_is_exchanged_at_once(made):
    client = Client()
    response = client.get(reverse("join_code", args=[made.code]))
    assert (response.status_code, response.headers["Location"]) == (303, ACCEPT)
    assert (response.headers["Referrer-Policy"], response.headers["Cache-Control"]) == ("no-referrer", "no-store")
    page = client.get(ACCEPT)
    assert page.status_code == 200
    assert page.headers["Cache-Control"] == "no-store"
    assert made.code not in page.content.decode()
    assert made.code.replace("-", "") not in page.content.decode()


def test_looking_uses_nothing_up(made):
    """A reader of mails that opens links beforehand takes nothing from who they are for."""
    for client in (Client(), Client()):
        address = reverse("join_code", args=[letter_for(made.invitation, "nils@harbour.example")])
        assert client.head(address).headers["Location"] == ACCEPT
        assert client.get(address).headers["Location"] == ACCEPT
        assert client.get(ACCEPT).status_code == 200
    assert Invitation.objects.get().used_at is None
    assert not Account.objects.filter(email="nils@harbour.example").exists()


def test_without_a_code_there_is_nothing_to_accept(client, db):
    assert client.get(ACCEPT).headers["Location"] == "/join/"
    assert client.post(ACCEPT, NEW).headers["Location"] == "/join/"
    assert not Account.objects.exists()


@pytest.mark.parametrize("how", ["unknown", "used", "renewed", "revoked", "forged"])
def test_codes_that_open_nothing_are_told_of_alike(client, owner, coach, made, how):
    code = {"unknown": "ABCD-EFGH-JKMN", "forged": "a:b:c"}.get(how, made.code)
    if how == "used":
        invite_use = Client()
        invite_use.force_login(Account.objects.create_user("nora@harbour.example", PASSWORD))
        invite_use.post(reverse("join"), {"code": made.code})
        assert invite_use.post(ACCEPT).headers["Location"] == "/"
    elif how == "renewed":
        renew_invitation(by=owner, invitation=made.invitation)
    elif how == "revoked":
        revoke_invitation(by=owner, invitation=made.invitation)
    typed = client.post(reverse("join"), {"code": code})
    assert (typed.status_code, typed.context["form"].errors["code"]) == (422, [OPENS_NOTHING])
    opened = client.get(reverse("join_code", args=[code]))
    assert (opened.status_code, opened.headers["Location"], told(opened)) == (303, "/join/", [OPENS_NOTHING])
    assert opened.headers["Referrer-Policy"] == "no-referrer"


def test_a_code_that_ends_while_the_page_is_open_opens_nothing(owner, made, holder):
    revoke_invitation(by=owner, invitation=made.invitation)
    response = holder.post(ACCEPT, NEW)
    assert (response.headers["Location"], told(response)) == ("/join/", [OPENS_NOTHING])
    assert not Account.objects.filter(email=NEW["email"]).exists()


def test_guessing_has_its_limit_and_right_codes_count_for_nothing(client, made, settings):
    settings.ACCOUNT_RATE_LIMITS = {"join_wrong": "3/m/ip"}
    for _ in range(5):
        assert client.post(reverse("join"), {"code": made.code}).status_code == 303
    typed = [client.post(reverse("join"), {"code": "ABCD-EFGH-JKMN"}).status_code for _ in range(2)]
    opened = [client.get(reverse("join_code", args=["ABCD-EFGH-JKMN"])).status_code for _ in range(2)]
    assert (typed, opened) == ([422, 422], [303, 429])
    assert client.post(reverse("join"), {"code": made.code}).status_code == 429


# ---- With an account ----------------------------------------------------------------------------------------------


def test_who_is_signed_in_joins_by_a_button_that_says_as_whom(client_of, other_coach, made):
    client = client_of(other_coach)
    client.post(reverse("join"), {"code": made.code})
    page = client.get(ACCEPT)
    assert "Join Harbour Hall as coach, with the account otis@uptown.example" in text(page)
    assert not Membership.objects.filter(account=other_coach.account, gym=made.invitation.gym).exists()
    response = client.post(ACCEPT)
    assert (response.status_code, response.headers["Location"]) == (303, "/")
    member = Membership.objects.get(account=other_coach.account, gym=made.invitation.gym)
    assert (member.role, member.may_log) == ("coach", True)
    assert client.get("/", follow=True).context["member"] == member
    assert client.post(ACCEPT).headers["Location"] == "/"
    assert Membership.objects.filter(account=other_coach.account).count() == 2


def test_a_refusal_to_who_is_signed_in_is_told_and_the_code_stays(client_of, coach, made):
    client = client_of(coach)
    client.post(reverse("join"), {"code": made.code})
    response = client.post(ACCEPT)
    assert response.status_code == 422
    assert response.context["form"].non_field_errors() == ["cleo@harbour.example is coach here already."]
    assert Invitation.objects.get().used_at is None


def test_signing_in_on_the_way_keeps_the_invitation(other_coach, made, holder):
    page = holder.get(ACCEPT)
    assert f'href="{SIGN_IN}"' in page.content.decode()
    sent = holder.post(SIGN_IN, {"login": other_coach.account.email, "password": PASSWORD})
    assert sent.headers["Location"] == ACCEPT
    assert holder.post(ACCEPT).headers["Location"] == "/"
    assert Membership.objects.filter(account=other_coach.account).count() == 2


def test_who_reads_the_mail_of_an_account_is_led_to_sign_in(other_coach, made):
    client = Client()
    client.get(reverse("join_code", args=[letter_for(made.invitation, other_coach.account.email)]))
    for page in (client.get(ACCEPT), client.post(ACCEPT, {"password": "not the old one at all"})):
        assert "You have an account with the address otis@uptown.example" in text(page)
        assert 'type="password"' not in page.content.decode()
    other_coach.account.refresh_from_db()
    assert other_coach.account.check_password(PASSWORD)
    assert Membership.objects.filter(account=other_coach.account).count() == 1


# ---- With a new account -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("verification", ["mandatory", "optional"])
def test_who_reads_the_mail_chooses_a_password_and_is_in(reader_of_mail, settings, verification):
    settings.ACCOUNT_EMAIL_VERIFICATION = verification
    page = reader_of_mail.get(ACCEPT)
    assert [*page.context["form"].fields] == ["password"]
    response = reader_of_mail.post(ACCEPT, {"password": PASSWORD})
    assert (response.status_code, response.headers["Location"]) == (302, "/")
    member = Membership.objects.get(account__email="nils@harbour.example")
    assert reader_of_mail.get("/", follow=True).context["member"] == member
    assert EmailAddress.objects.get(user=member.account).verified
    assert Client().post(SIGN_IN, {"login": "nils@harbour.example", "password": PASSWORD}).status_code == 302


def test_a_mails_reader_cannot_slip_in_another_address(reader_of_mail):
    reader_of_mail.post(ACCEPT, {"password": PASSWORD, "email": "victim@harbour.example", "role": "owner"})
    assert Membership.objects.get(role="coach").account.email == "nils@harbour.example"
    assert not Account.objects.filter(email="victim@harbour.example").exists()


@pytest.mark.parametrize("password", ["short", "nils@harbour.example", "password123"])
def test_a_weak_password_is_told_of_beside_its_field(reader_of_mail, password):
    response = reader_of_mail.post(ACCEPT, {"password": password})
    assert (response.status_code, [*response.context["form"].errors]) == (422, ["password"])
    assert not Account.objects.filter(email="nils@harbour.example").exists()


def test_on_a_laptop_the_code_is_enough_and_the_address_stays_unproved(holder):
    page = holder.get(ACCEPT)
    assert [*page.context["form"].fields] == ["email", "password"]
    assert holder.post(ACCEPT, NEW).headers["Location"] == SIGN_IN
    account = Account.objects.get(email=NEW["email"])
    assert not EmailAddress.objects.get(user=account).verified
    assert account.memberships.get().role == "coach"
    assert holder.post(SIGN_IN, {"login": NEW["email"], "password": PASSWORD}).headers["Location"] == ACCEPT
    assert holder.get(ACCEPT).headers["Location"] == "/"


def test_on_a_laptop_an_address_in_use_gets_the_same_answer_and_its_owner_a_mail(made, other_coach):
    answers = []
    for email in (other_coach.account.email, "free@harbour.example"):
        client = Client()
        client.post(reverse("join"), {"code": made.code})
        response = client.post(ACCEPT, {"email": email, "password": "not the old one at all"})
        answers.append((response.status_code, response.headers["Location"], told(response), [*response.headers]))
        if email == other_coach.account.email:
            (letter,) = mail.outbox
            assert letter.to == [email]
            assert "If it was not you, do nothing" in letter.body
    assert answers[0] == answers[1]
    other_coach.account.refresh_from_db()
    assert other_coach.account.check_password(PASSWORD)
    assert Membership.objects.filter(account=other_coach.account).count() == 1


@pytest.mark.usefixtures("strict")
def test_where_mail_goes_out_no_account_is_made_before_its_address_is_proved(holder):
    page = holder.get(ACCEPT)
    assert [*page.context["form"].fields] == ["email"]
    assert holder.post(ACCEPT, NEW).headers["Location"] == "/join/sent/"
    assert not is_taken(NEW["email"])
    (letter,) = mail.outbox
    (link,) = re.findall(r"http://testserver(/join/\S+)", str(letter.body))
    last = Invitation.objects.get().until_at.astimezone(ZoneInfo("Europe/Berlin"))
    assert f"by {last.day} {last:%B %Y, %H:%M}:" in letter.body
    there = Client()
    assert there.get(link).headers["Location"] == ACCEPT
    assert there.post(ACCEPT, {"password": PASSWORD}).headers["Location"] == "/"
    assert EmailAddress.objects.get(email=NEW["email"]).verified


@pytest.mark.usefixtures("strict")
def test_where_mail_goes_out_nobody_learns_who_has_an_account(made, other_coach):
    """Answers, pages and mails are the same to the letter but for the address and its token."""
    seen = []
    for email in (other_coach.account.email, "free@harbour.example"):
        client = Client()
        client.post(reverse("join"), {"code": made.code})
        response = client.post(ACCEPT, {"email": email})
        page = re.sub(r"\w{64}", "", client.get(response.headers["Location"]).content.decode())
        seen.append((response.status_code, response.headers["Location"], [*response.headers], page))
    assert seen[0] == seen[1]
    bodies = [re.sub(r"/join/\S+", "", str(letter.body)) for letter in mail.outbox]
    assert bodies[0] == bodies[1]
    assert [letter.to for letter in mail.outbox] == [[other_coach.account.email], ["free@harbour.example"]]


@pytest.mark.usefixtures("strict")
def test_mail_to_one_address_has_its_limit(holder, settings):
    settings.ACCOUNT_RATE_LIMITS = {"join_mail": "2/h/key"}
    told_of = [holder.post(ACCEPT, {"email": NEW["email"]}).status_code for _ in range(3)]
    assert told_of == [303, 303, 429]
    assert holder.post(ACCEPT, {"email": "other@harbour.example"}).status_code == 303
    assert len(mail.outbox) == 3


@pytest.mark.usefixtures("strict")
def test_what_is_no_address_is_told_of_and_stays(holder):
    response = holder.post(ACCEPT, {"email": "nils@"})
    assert (response.status_code, [*response.context["form"].errors]) == (422, ["email"])
    assert 'value="nils@"' in response.content.decode()
    assert mail.outbox == []


def test_tries_with_one_invitation_have_their_limit(holder, settings):
    settings.ACCOUNT_RATE_LIMITS = {"join": "2/h/key"}
    weak = {**NEW, "password": "short"}
    assert [holder.post(ACCEPT, weak).status_code for _ in range(3)] == [422, 422, 429]


# ---- What the page says -------------------------------------------------------------------------------------------


def test_the_page_says_what_somebody_joins_as(coach, athlete, minor, made, holder):
    invitations = {
        "You are invited as a coach": made,
        "You are invited as number 1, A. L.": invite_athlete(by=coach, athlete=athlete, email=""),
        "You are invited as the guardian of number 2, M. O.": invite_guardian(
            by=coach, athlete=minor, full_name="Gus Okafor", email=""
        ),
    }
    for words, one in invitations.items():
        client = Client()
        client.post(reverse("join"), {"code": one.code})
        page = text(client.get(ACCEPT))
        assert words in page
        assert "Okafor" not in page
        assert "Lindqvist" not in page


def test_a_minors_own_account_is_told_why_it_is_no_guardians(client_of, coach, minor):
    own = make_login(minor)
    made = invite_guardian(by=coach, athlete=minor, full_name="Gus Okafor", email="")
    client = client_of(own)
    client.post(reverse("join"), {"code": made.code})
    response = client.post(ACCEPT)
    assert response.context["form"].non_field_errors() == [
        "mia@harbour.example is the own account of number 1: a guardian needs another."
    ]
