"""The pages on which one signs in and keeps one's account safe can be used by everybody, as `test_accessible` looks."""

import time
from collections.abc import Callable

import pytest
from allauth.account.models import EmailAddress, EmailConfirmationHMAC
from allauth.mfa.models import Authenticator
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Account, Gym, Membership
from tests.architecture.routes import PAGES, SIGNED_IN, account_patterns
from tests.browser.devices import TABLET
from tests.browser.passkeys import Device, add_passkey, confirm, sign_out, type_password
from tests.browser.test_accessible import judged, looked_at
from tests.factories.athletes import make_account
from tests.helpers.totp import code_at

pytestmark = pytest.mark.browser

Open = Callable[..., Page]

LEAD_ON = {"account_set_password", "mfa_login_webauthn", "account_reset_password_from_key"}  # the last one by a letter
OPEN_TO_ALL = {
    "account_login",
    "account_signup",
    "account_inactive",
    "account_reset_password",
    "account_reset_password_done",
    "account_reset_password_from_key_done",
    "account_email_verification_sent",
    "account_confirm_email",
}
SIGNED_IN_PAGES = {"account_change_password", "account_logout", "account_reauthenticate", "account_email"}
BEFORE_A_FACTOR = {"mfa_index", "mfa_activate_totp", "mfa_add_webauthn", "usersessions_list"}
WITH_A_FACTOR = {
    "mfa_index",
    "mfa_list_webauthn",
    "mfa_edit_webauthn",
    "mfa_remove_webauthn",
    "mfa_view_recovery_codes",
    "mfa_generate_recovery_codes",
    "mfa_deactivate_totp",
    "mfa_reauthenticate",
    "mfa_reauthenticate_webauthn",
}
HALF_SIGNED_IN = {"mfa_authenticate"}


def test_every_account_page_is_visited() -> None:
    visited = OPEN_TO_ALL | SIGNED_IN_PAGES | BEFORE_A_FACTOR | WITH_A_FACTOR | HALF_SIGNED_IN
    ours = {name for name, page in PAGES.items() if page.may == SIGNED_IN and page.method == "get"}
    assert visited == account_patterns().keys() - LEAD_ON | ours


def all_of(page: Page, names: set[str], arguments: dict[str, list[object]]) -> list[str]:
    addresses = {name: reverse(name, args=arguments.get(name, [])) for name in sorted(names)}
    return [finding for name, address in addresses.items() for finding in looked_at(page, name, address)]


def test_pages_for_who_is_not_signed_in_keep_nobody_out(open_page: Open, stranger: Account) -> None:
    waiting = EmailAddress.objects.create(user=stranger, email="long.address.that.waits@nowhere.example")
    page = open_page(TABLET)
    found = all_of(page, OPEN_TO_ALL, {"account_confirm_email": [EmailConfirmationHMAC(waiting).key]})
    assert not found, "\n".join(found)


def test_pages_before_a_factor_keep_nobody_out(open_page: Open, gym: Gym, owner: Membership, coach: Membership) -> None:
    Gym.objects.update(staff_need_second_factor=True)
    EmailAddress.objects.create(user=coach.account, email="long.address.that.waits@harbour.example")
    page = open_page(TABLET)
    page.goto(reverse("account_reauthenticate"))
    type_password(page, coach)
    confirm(page)
    expect(page.get_by_role("heading", name="Sign-in and safety")).to_be_visible()
    page.goto(reverse("mfa_activate_totp"))
    expect(page.locator("img.qr")).to_be_visible()
    found = all_of(page, SIGNED_IN_PAGES | BEFORE_A_FACTOR, {})
    assert not found, "\n".join(found)


def test_pages_with_a_factor_keep_nobody_out(open_page: Open, coach: Membership) -> None:
    page = open_page(TABLET)
    Device(page)
    add_passkey(page, coach)
    found = [*judged(page, "recovery codes, shown once")]
    page.goto(reverse("mfa_activate_totp"))
    page.get_by_label("Code").fill(code_at(page.locator("code.key").inner_text(), time.time()))
    page.get_by_role("button", name="Take the app into use").tap()
    expect(page.get_by_text("In use.")).to_be_visible()
    (passkey,) = Authenticator.objects.filter(type="webauthn")
    found += all_of(page, WITH_A_FACTOR, {name: [passkey.pk] for name in ("mfa_edit_webauthn", "mfa_remove_webauthn")})
    sign_out(page)
    type_password(page, coach)
    expect(page.get_by_role("heading", name="Second factor")).to_be_visible()
    found += all_of(page, HALF_SIGNED_IN, {})
    assert not found, "\n".join(found)


def test_taking_a_lost_factor_away_keeps_nobody_out(open_page: Open, owner: Membership, coach: Membership) -> None:
    Authenticator.objects.create(user=coach.account, type="webauthn", data={"name": "phone"})
    page, address = open_page(TABLET, owner), reverse("factor_reset", args=[coach.id])
    page.goto(address)
    confirm(page)
    expect(page.get_by_role("button", name="Take it away")).to_be_visible()
    found = [*looked_at(page, "factor_reset", address)]
    assert not found, "\n".join(found)


def test_forms_that_come_back_keep_nobody_out(open_page: Open, db: None) -> None:
    make_account("sam@harbour.example")
    page = open_page(TABLET)
    page.goto(reverse("account_login"))
    page.get_by_label("E-mail address").fill("sam@harbour.example")
    page.get_by_label("Password", exact=True).fill("wrong")
    page.get_by_role("button", name="Sign in", exact=True).tap()
    expect(page.get_by_role("alert")).to_be_visible()
    found = [*judged(page, "account_login")]
    assert not found, "\n".join(found)
