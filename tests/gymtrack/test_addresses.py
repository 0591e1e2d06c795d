"""The e-mail address of an account: shown to be one's own, changed, and never a way to find out who has an account."""

import re
import runpy
from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from allauth.account.models import EmailAddress, EmailConfirmationHMAC
from django.conf import settings as site
from django.contrib.auth.hashers import MD5PasswordHasher
from django.core import mail
from django.core.exceptions import ImproperlyConfigured
from django.test import Client

from athletes.models import Account, Membership
from tests.factories.athletes import PASSWORD, make_account
from tests.helpers.html import words_of

pytestmark = pytest.mark.django_db

Answer = Any  # what the test client gives back
SignIn = Callable[[Membership | Account], Client]
SIGN_IN, PAGE, AGAIN = "/account/sign-in/", "/account/address/", "/account/confirm/"
NEW = "cleo.new@harbour.example"


def sign_in(who: Account) -> tuple[Client, Answer]:
    client = Client()
    return client, client.post(SIGN_IN, {"login": who.email, "password": PASSWORD})


def asks_for(who: Account, address: str) -> tuple[Client, Answer]:
    """Somebody who is signed in, types the password again, and asks for another address."""
    client, _ = sign_in(who)
    client.post(AGAIN, {"password": PASSWORD})
    return client, client.post(PAGE, {"action_add": "", "email": address}, follow=True)


def letters(address: str) -> list[str]:
    return [str(message.body) for message in mail.outbox if message.to == [address]]


def link_to(address: str) -> str:
    return str(re.search(r"http://testserver(/account/address/confirm/\S+)", letters(address)[-1])[1])  # type: ignore[index]


def address_of(account: Account) -> str:
    return Account.objects.get(pk=account.pk).email


# ---- Shown to be one's own ---------------------------------------------------------------------------------------
@pytest.fixture
def newcomer(db: None) -> Account:
    return make_account("nina@harbour.example", verified=False)


def test_where_it_is_a_must_the_sign_in_waits_for_the_link(settings, newcomer: Account):
    settings.ACCOUNT_EMAIL_VERIFICATION = "mandatory"
    client, answer = sign_in(newcomer)
    assert answer["Location"] == "/account/address/sent/"
    assert "Confirm your address first" in words_of(client.get(answer["Location"]))
    assert client.get("/skills/").status_code == 302
    link = link_to(newcomer.email)
    assert "you sign in with it from now on?" in words_of(client.get(link))
    assert not EmailAddress.objects.get(user=newcomer).verified
    client.post(link)
    assert EmailAddress.objects.get(user=newcomer).verified
    assert sign_in(newcomer)[1]["Location"] == "/"


def test_where_it_is_not_one_is_in_and_can_have_the_link_mailed(settings, newcomer: Account):
    settings.ACCOUNT_EMAIL_VERIFICATION = "optional"
    client, answer = sign_in(newcomer)
    assert answer["Location"] == "/"
    assert "It was never shown to be yours" in words_of(client.get(PAGE))
    client.post(PAGE, {"action_send": "", "email": newcomer.email})
    client.post(link_to(newcomer.email))
    assert "never shown" not in words_of(client.get(PAGE))


def test_an_account_from_before_addresses_were_shown_is_asked_too(settings, newcomer: Account):
    EmailAddress.objects.all().delete()
    settings.ACCOUNT_EMAIL_VERIFICATION = "mandatory"
    client, answer = sign_in(newcomer)
    assert answer["Location"] == "/account/address/sent/"
    client.post(link_to(newcomer.email))
    assert sign_in(newcomer)[1]["Location"] == "/"


@pytest.mark.parametrize("verification", ["mandatory", "optional"])
def test_who_reads_the_mail_but_does_not_know_the_password_confirms_nothing(
    settings, newcomer: Account, coach: Membership, client_of: SignIn, verification: str
):
    """One click of who was written to must not vouch for who made an account under that address."""
    settings.ACCOUNT_EMAIL_VERIFICATION = verification
    link = f"/account/address/confirm/{EmailConfirmationHMAC(EmailAddress.objects.get(user=newcomer)).key}/"
    for reader in (Client(), client_of(coach)):
        answer = reader.post(link, follow=True)
        assert "Nothing was confirmed: sign in with that account in this browser first" in words_of(answer)
    assert not EmailAddress.objects.get(user=newcomer).verified


@pytest.mark.parametrize("after_days", [3, 4])
def test_a_link_holds_for_three_days(newcomer: Account, after_days: int):
    with time_machine.travel("2026-06-01T12:00:00Z", tick=False) as clock:
        link = f"/account/address/confirm/{EmailConfirmationHMAC(EmailAddress.objects.get(user=newcomer)).key}/"
        clock.shift(after_days * 86_400 - 1)
        assert ("This link no longer works" in words_of(Client().get(link))) is (after_days > 3)


def test_a_made_up_link_confirms_nothing(newcomer: Account):
    for link in ("/account/address/confirm/made-up/", "/account/address/confirm/MQ:1w:x/"):
        assert "This link no longer works" in words_of(Client().get(link))
        assert Client().post(link).status_code == 404
    assert not EmailAddress.objects.get(user=newcomer).verified


@pytest.mark.parametrize(
    ("https", "word", "verification"),
    [
        ("no", "", "optional"),
        ("yes", "", "mandatory"),
        ("yes", "optional", "optional"),
        ("no", "MANDATORY", "mandatory"),
    ],
)
def test_it_is_a_must_over_https_unless_a_setting_says_otherwise(
    monkeypatch: pytest.MonkeyPatch, https: str, word: str, verification: str
):
    monkeypatch.setenv("GYMTRACK_HTTPS", https)
    monkeypatch.setenv("GYMTRACK_EMAIL_VERIFICATION", word)
    read = runpy.run_path(str(site.BASE_DIR / "gymtrack" / "settings.py"))
    assert read["ACCOUNT_EMAIL_VERIFICATION"] == verification


def test_another_word_for_it_is_refused_by_name(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("GYMTRACK_EMAIL_VERIFICATION", "none")
    with pytest.raises(ImproperlyConfigured, match="GYMTRACK_EMAIL_VERIFICATION must be mandatory or optional"):
        runpy.run_path(str(site.BASE_DIR / "gymtrack" / "settings.py"))


@pytest.mark.parametrize(("host", "port", "way", "ssl"), [
    ("", "", "filebased", False), ("mail.example", "", "smtp", False), ("mail.example", "465", "smtp", True),
])  # fmt: skip
def test_mail_goes_to_files_or_to_the_named_server_and_never_without_tls(
    monkeypatch: pytest.MonkeyPatch,
    host: str,
    port: str,
    way: str,
    ssl: bool,  # noqa: FBT001
):
    monkeypatch.setenv("GYMTRACK_SMTP_HOST", host)
    monkeypatch.setenv("GYMTRACK_SMTP_PORT", port)
    read = runpy.run_path(str(site.BASE_DIR / "gymtrack" / "settings.py"))
    assert read["EMAIL_BACKEND"] == f"django.core.mail.backends.{way}.EmailBackend"
    assert (read["EMAIL_USE_SSL"], read["EMAIL_USE_TLS"]) == (ssl, not ssl)


@pytest.mark.parametrize(("https", "prefix"), [("yes", "__Host-"), ("no", "")])
def test_cookies_over_https_are_bound_to_the_host(monkeypatch: pytest.MonkeyPatch, https: str, prefix: str):
    monkeypatch.setenv("GYMTRACK_HTTPS", https)
    read = runpy.run_path(str(site.BASE_DIR / "gymtrack" / "settings.py"))
    assert (read["SESSION_COOKIE_NAME"], read["CSRF_COOKIE_NAME"]) == (f"{prefix}sessionid", f"{prefix}csrftoken")
    assert read["SESSION_COOKIE_SECURE"] is read["CSRF_COOKIE_SECURE"] is bool(prefix)


# ---- Changed -----------------------------------------------------------------------------------------------------
def test_another_address_holds_from_its_link_on_and_the_old_one_is_told(coach: Membership):
    old = coach.account.email
    client, answer = asks_for(coach.account, NEW)
    assert f"A message with a link is on its way to {NEW}." in words_of(answer)
    assert address_of(coach.account) == old
    assert sign_in(coach.account)[1]["Location"] == "/"
    client.post(link_to(NEW))
    assert address_of(coach.account) == NEW
    assert f"was changed from {old} to {NEW}" in letters(old)[-1]
    assert [*EmailAddress.objects.values_list("email", "verified", "primary")] == [(NEW, True, True)]
    assert Client().post(SIGN_IN, {"login": old, "password": PASSWORD}).status_code == 200
    assert Client().post(SIGN_IN, {"login": NEW, "password": PASSWORD})["Location"] == "/"


def test_the_password_is_asked_for_again_before(client_of: SignIn, coach: Membership):
    answer = client_of(coach).post(PAGE, {"action_add": "", "email": NEW})
    assert answer["Location"].startswith(AGAIN)
    assert letters(NEW) == []


def test_who_never_showed_the_old_one_keeps_it_until_the_new_one_is_shown(newcomer: Account):
    """The account must never stand without an address: nobody could sign in with it any more."""
    client, _ = asks_for(newcomer, NEW)
    assert address_of(newcomer) == "nina@harbour.example"
    assert sign_in(newcomer)[1]["Location"] == "/"
    client.post(link_to(NEW))
    assert address_of(newcomer) == NEW


def test_an_address_that_waits_makes_room_for_the_next_and_can_be_given_up(coach: Membership):
    client, _ = asks_for(coach.account, NEW)
    client.post(PAGE, {"action_add": "", "email": "third@harbour.example"})
    waiting = EmailAddress.objects.filter(user=coach.account, verified=False)
    assert [*waiting.values_list("email", flat=True)] == ["third@harbour.example"]
    client.post(PAGE, {"action_remove": "", "email": "third@harbour.example"})
    assert not waiting.exists()
    assert address_of(coach.account) == "cleo@harbour.example"


@pytest.mark.parametrize("way", ["action_primary", "action_remove"])
def test_no_other_button_makes_it_one_s_own_or_takes_the_one_in_use(newcomer: Account, way: str):
    client, _ = asks_for(newcomer, NEW)
    client.post(PAGE, {way: "", "email": NEW if way == "action_primary" else newcomer.email})
    assert address_of(newcomer) == "nina@harbour.example"
    assert EmailAddress.objects.get(user=newcomer, primary=True).email == "nina@harbour.example"


# ---- Never a way to find out ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("verified", [True, False])
def test_an_address_of_another_account_looks_like_any_other_and_its_owner_is_told(
    coach: Membership,
    owner: Membership,
    verified: bool,  # noqa: FBT001
):
    EmailAddress.objects.filter(user=owner.account).update(verified=verified)
    taken, free = owner.account.email, "otto@harbour.example"
    of_free, of_taken = (words_of(asks_for(coach.account, address)[1]) for address in (free, taken))
    assert of_taken.replace(taken, free) == of_free
    assert taken in words_of(sign_in(coach.account)[0].get(PAGE))
    assert "It has an account of its own, so nothing was changed." in letters(taken)[-1]
    assert "/account/address/confirm/" not in letters(taken)[-1]


def test_an_address_that_was_taken_meanwhile_is_not_given(coach: Membership):
    client, _ = asks_for(coach.account, NEW)
    link = link_to(NEW)
    make_account(NEW, verified=False)
    client.post(link)
    assert address_of(coach.account) == "cleo@harbour.example"


@pytest.mark.parametrize("active", [True, False])
def test_a_forgotten_password_tells_nobody_who_has_an_account(coach: Membership, active: bool):  # noqa: FBT001
    Account.objects.filter(pk=coach.account_id).update(is_active=active)
    page = "/account/password/forgotten/"
    known = Client().post(page, {"email": coach.account.email}, follow=True)
    unknown = Client().post(page, {"email": "nobody@harbour.example"}, follow=True)
    assert (known.redirect_chain, words_of(known)) == (unknown.redirect_chain, words_of(unknown))
    assert [message.to for message in mail.outbox] == [[coach.account.email], ["nobody@harbour.example"]]


@pytest.mark.parametrize("address", ["cleo@harbour.example", "nobody@harbour.example", "off@harbour.example"])
def test_a_sign_in_that_fails_hashes_once_whoever_has_an_account(settings, coach: Membership, address: str):
    """Hashing is what takes the time of a sign-in: as often for an address that nobody has (ASVS 5.0, 6.3.8)."""
    Account.objects.filter(pk=make_account("off@harbour.example").pk).update(is_active=False)
    settings.PASSWORD_HASHERS = ["tests.gymtrack.test_addresses.CountingHasher"]
    for account in Account.objects.all():
        account.set_password(PASSWORD)
        account.save(update_fields=["password"])
    CountingHasher.hashed = 0
    assert Client().post(SIGN_IN, {"login": address, "password": "a wrong one"}).status_code == 200
    assert CountingHasher.hashed == 1


class CountingHasher(MD5PasswordHasher):
    """Counts how often somebody's password, or nobody's, is hashed."""

    algorithm = "counting"
    hashed = 0

    def encode(self, password: str, salt: str) -> str:
        type(self).hashed += 1
        return super().encode(password, salt)


def test_no_mail_leads_to_another_host(coach: Membership, newcomer: Account, stranger: Account):
    asks_for(coach.account, NEW)
    asks_for(coach.account, stranger.email)
    sign_in(newcomer)[0].post(PAGE, {"action_send": "", "email": newcomer.email})
    for address in (coach.account.email, "nobody@harbour.example"):
        Client().post("/account/password/forgotten/", {"email": address})
    assert len(mail.outbox) == 5
    hosts = {host for message in mail.outbox for host in re.findall(r"https?://([^/\s]+)", str(message.body))}
    assert hosts == {"testserver"}


def test_a_mail_that_cannot_be_sent_changes_no_answer(settings, caplog, coach: Membership):
    settings.EMAIL_BACKEND = "tests.gymtrack.test_addresses.NoMail"
    page = "/account/password/forgotten/"
    for address in (coach.account.email, "nobody@harbour.example"):
        assert Client().post(page, {"email": address}).status_code == 302
    assert caplog.text.count("A mail could not be sent: ConnectionRefusedError") == 2
    assert "@" not in caplog.text


class NoMail:
    """A mail server that is not there."""

    def __init__(self, **_options: object) -> None:
        pass

    def send_messages(self, _messages: object) -> int:
        raise ConnectionRefusedError


# ---- Where a sign-in leads -----------------------------------------------------------------------------------------
@pytest.mark.parametrize("elsewhere", [
    "https://elsewhere.example/", "//elsewhere.example/", "///elsewhere.example", "/\\elsewhere.example",
    "\\\\elsewhere.example", "http:elsewhere.example", "https:/elsewhere.example", "javascript:alert(1)",
    "data:text/html,x", " //elsewhere.example", "//testserver@elsewhere.example/", "http://localhost/",
    "http://testserver.elsewhere.example/", "\x00//elsewhere.example",
])  # fmt: skip
def test_no_sign_in_leads_off_this_host(coach: Membership, elsewhere: str):
    form = {"login": coach.account.email, "password": PASSWORD, "next": elsewhere}
    assert Client().post(SIGN_IN, form)["Location"] == "/"
    client, _ = sign_in(coach.account)
    assert client.post(AGAIN, {"password": PASSWORD, "next": elsewhere})["Location"] == "/"
    assert client.post("/account/sign-out/", {"next": elsewhere})["Location"] == SIGN_IN


@pytest.mark.parametrize("here", ["/skills/", "/athletes/?q=a%20b", "http://testserver/skills/"])
def test_a_sign_in_leads_anywhere_here(coach: Membership, here: str):
    assert (
        Client().post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD, "next": here})["Location"] == here
    )
