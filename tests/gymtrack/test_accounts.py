"""Signing in and out, and passwords: the account library behind our addresses, pages and words."""

import re
import runpy
from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.test import Client
from django.urls import path

from athletes.access.rules import EVERYBODY, MemberRequest, allow
from athletes.models import Account, Membership
from gymtrack.lib.http import render_page
from gymtrack.urls import urlpatterns as site_patterns
from tests.factories.athletes import PASSWORD
from tests.helpers.html import elements, words_of

SignIn = Callable[[Membership | Account], Client]
NEW_PASSWORD = "thumbs around the bar"
SIGN_IN, FORGOTTEN = "/account/sign-in/", "/account/password/forgotten/"


@allow(*EVERYBODY)
def home(request: MemberRequest) -> HttpResponse:
    return render_page(request, "base.html")


urlpatterns = [path("", home, name="home"), *site_patterns]
pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gymtrack.test_accounts")]


def sign_in(client: Client, who: Membership, password: str = PASSWORD):
    return client.post(SIGN_IN, {"login": who.account.email, "password": password})


def test_page_for_members_leads_to_sign_in_and_back(client: Client, coach: Membership):
    response = client.get("/")
    assert (response.status_code, response["Location"]) == (302, "/account/sign-in/?next=/")
    page = client.get(response["Location"]).content.decode()
    assert {field.attrs["value"] for field in elements(page, "input", name="next")} == {"/"}


def test_right_password_signs_in(client: Client, coach: Membership):
    response = sign_in(client, coach)
    assert (response.status_code, response["Location"]) == (302, "/")
    assert client.get("/").status_code == 200


def test_address_in_other_letters_signs_in(client: Client, coach: Membership):
    response = client.post(SIGN_IN, {"login": coach.account.email.upper(), "password": PASSWORD})
    assert response.status_code == 302


def test_sign_in_ends_with_the_browser(client: Client, coach: Membership):
    assert sign_in(client, coach).cookies["sessionid"]["expires"] == ""


def test_wrong_password_says_so_and_keeps_the_address(client: Client, coach: Membership):
    response = sign_in(client, coach, "wrong")
    assert "You are not signed in yet." in words_of(response)
    page = response.content.decode()
    assert [field.attrs["value"] for field in elements(page, "input", name="login")] == [coach.account.email]


def test_unknown_address_gets_the_same_words_as_a_wrong_password(client: Client, coach: Membership):
    known = words_of(sign_in(client, coach, "wrong"))
    unknown = words_of(client.post(SIGN_IN, {"login": "nobody@harbour.example", "password": "wrong"}))
    assert unknown == known


def test_next_page_on_another_host_is_not_followed(client: Client, coach: Membership):
    form = {"login": coach.account.email, "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert client.post(SIGN_IN, form)["Location"] == "/"


def test_sixth_wrong_password_is_not_looked_at(client: Client, coach: Membership):
    for _ in range(5):
        sign_in(client, coach, "wrong")
    response = sign_in(client, coach)
    assert response.status_code == 200
    assert "That was wrong too often. Nothing more is looked at for five minutes." in words_of(response)


def test_account_that_is_switched_off_cannot_sign_in(client: Client, coach: Membership):
    coach.account.is_active = False
    coach.account.save(update_fields=["is_active"])
    response = client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD}, follow=True)
    assert "This account is switched off" in words_of(response)
    assert client.get("/").status_code == 302


def test_nobody_signs_up_alone(client: Client):
    form = {"email": "new@harbour.example", "password1": NEW_PASSWORD, "password2": NEW_PASSWORD}
    response = client.post("/account/sign-up/", form)
    assert "Nobody signs up here by themselves." in words_of(response)
    assert not Account.objects.filter(email="new@harbour.example").exists()


# ---- Out -------------------------------------------------------------------------------------------------------
def test_signing_out_needs_a_post(client_of: SignIn, coach: Membership):
    client = client_of(coach)
    assert client.get("/account/sign-out/").status_code == 200
    assert client.get("/").status_code == 200


def test_signed_out_is_signed_out(client_of: SignIn, coach: Membership):
    client = client_of(coach)
    response = client.post("/account/sign-out/", follow=True)
    assert response.redirect_chain == [(SIGN_IN, 302)]
    assert "You are signed out." in words_of(response)
    assert client.get("/").status_code == 302


# ---- Passwords ---------------------------------------------------------------------------------------------------
@pytest.fixture
def mail(settings, tmp_path: Path) -> Callable[[], str]:
    """Mail goes to files, as on a gym's laptop: the text of the one that was written last."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"

    def last() -> str:
        return max((tmp_path / "mail").iterdir(), key=lambda file: file.stat().st_mtime_ns).read_text("utf-8")

    return last


def test_forgotten_password_is_replaced_through_the_link_in_a_file(
    client: Client, coach: Membership, mail: Callable[[], str]
):
    assert client.post(FORGOTTEN, {"email": coach.account.email})["Location"] == f"{FORGOTTEN}sent/"
    message = mail()
    assert "Subject: [testserver] Choose a new password" in message
    link = re.search(r"http://testserver(/account/password/new/\S+)", message)[1]  # type: ignore[index]
    form_page = client.get(link, follow=True)
    assert "Choose a new password" in words_of(form_page)
    form = {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD}
    done = client.post(form_page.redirect_chain[-1][0], form, follow=True)
    assert "Your new password works from now on" in words_of(done)
    assert sign_in(client, coach, NEW_PASSWORD).status_code == 302
    assert client.get("/").status_code == 200


def test_link_works_once(client: Client, coach: Membership, mail: Callable[[], str]):
    client.post(FORGOTTEN, {"email": coach.account.email})
    link = re.search(r"http://testserver(/account/password/new/\S+)", mail())[1]  # type: ignore[index]
    coach.account.set_password(NEW_PASSWORD)
    coach.account.save(update_fields=["password"])
    assert "This link no longer works" in words_of(client.get(link, follow=True))


def test_unknown_address_is_told_so_by_mail_alone(client: Client, mail: Callable[[], str]):
    response = client.post(FORGOTTEN, {"email": "nobody@harbour.example"})
    assert response["Location"] == f"{FORGOTTEN}sent/"
    assert "There is no account with this address." in mail()
    assert "sign-up" not in mail()


def test_sixth_link_in_a_minute_for_one_address_is_refused_in_words(
    client: Client, coach: Membership, mail: Callable[[], str]
):
    for _ in range(5):
        client.post(FORGOTTEN, {"email": coach.account.email})
    response = client.post(FORGOTTEN, {"email": coach.account.email})
    assert response.status_code == 429
    assert "That was too often" in words_of(response)


def test_what_a_password_may_be_stands_beside_it_in_our_words(client: Client, coach: Membership):
    sign_in(client, coach)
    page = words_of(client.get("/account/password/"))
    assert "Password of until now New password 10 to 128 characters of any kind." in page
    assert "Three or four words that belong to nobody else are good" in page


def test_changed_password_signs_in_and_the_session_goes_on(client: Client, coach: Membership):
    sign_in(client, coach)
    form = {"oldpassword": PASSWORD, "password1": NEW_PASSWORD, "password2": NEW_PASSWORD}
    assert "Your password is changed." in words_of(client.post("/account/password/", form, follow=True))
    assert client.get("/").status_code == 200
    assert sign_in(Client(), coach, NEW_PASSWORD).status_code == 302


@pytest.mark.parametrize(
    ("password", "sentence"),
    [("short", "at least 10 characters"), ("password123", "too common"), ("cleo@harbour.example", "too similar")],
)
def test_weak_password_is_refused_in_words(client: Client, coach: Membership, password: str, sentence: str):
    sign_in(client, coach)
    form = {"oldpassword": PASSWORD, "password1": password, "password2": password}
    response = client.post("/account/password/", form)
    assert sentence in words_of(response)
    assert "Your password is still the old one." in words_of(response)


@pytest.mark.parametrize(("word", "proxies"), [("yes", 1), ("no", 0)])
def test_behind_a_proxy_wrong_passwords_are_counted_by_the_address_that_it_names(
    monkeypatch: pytest.MonkeyPatch, word: str, proxies: int
):
    monkeypatch.setenv("GYMTRACK_BEHIND_PROXY", word)
    read = runpy.run_path(str(settings.BASE_DIR / "gymtrack" / "settings.py"))
    assert read["ALLAUTH_TRUSTED_PROXY_COUNT"] == proxies
    assert bool(read["SECURE_PROXY_SSL_HEADER"]) is bool(proxies)
