"""Passkeys in Chromium: made, used, and refused."""

from collections.abc import Callable
from http import HTTPStatus

import pytest
from allauth.mfa.models import Authenticator
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Gym, Membership
from tests.browser.devices import PHONE
from tests.browser.passkeys import Device, add_passkey, confirm, sign_out, type_password

pytestmark = pytest.mark.browser

Open = Callable[..., Page]


def test_a_passkey_is_made_and_signs_in_without_a_password(open_page: Open, coach: Membership) -> None:
    page = open_page(PHONE)
    device = Device(page)
    add_passkey(page, coach)
    (key,) = device.held()
    assert (key["isResidentCredential"], key["rpId"]) == (True, "localhost")
    page.goto(reverse("mfa_list_webauthn"))
    expect(page.get_by_text("Signs you in alone.")).to_be_visible()
    sign_out(page)
    page.goto(f"{reverse('account_login')}?next={reverse('skills')}")
    page.get_by_role("button", name="Sign in with a passkey").tap()
    expect(page).to_have_url(reverse("skills"))
    assert Authenticator.objects.get(type="webauthn").last_used_at


def test_one_beside_the_password_is_asked_for_after_it(open_page: Open, coach: Membership) -> None:
    page = open_page(PHONE)
    device = Device(page)
    add_passkey(page, coach, alone=False)
    assert [key["isResidentCredential"] for key in device.held()] == [False]
    sign_out(page)
    type_password(page, coach)
    expect(page.get_by_role("heading", name="Second factor")).to_be_visible()
    page.get_by_role("button", name="Use a passkey").tap()
    expect(page).to_have_url(reverse("today"))


def test_the_staff_of_a_strict_gym_come_to_their_pages_by_adding_one(
    open_page: Open, gym: Gym, coach: Membership
) -> None:
    Gym.objects.update(staff_need_second_factor=True)
    page = open_page(PHONE)
    Device(page)
    page.goto(reverse("today"))
    type_password(page, coach)
    expect(page.get_by_text("the gym's pages stay shut to you")).to_be_visible()
    page.get_by_role("link", name="Add a passkey").tap()
    confirm(page)
    page.get_by_role("button", name="Make the passkey").tap()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    page.goto(reverse("today"))
    expect(page).to_have_url(reverse("today"))


def test_a_device_that_cannot_tell_its_owner_signs_nobody_in_alone(open_page: Open, coach: Membership) -> None:
    page = open_page(PHONE)
    device = Device(page)
    add_passkey(page, coach)
    sign_out(page)
    device.lock()
    page.get_by_role("button", name="Sign in with a passkey").tap()
    expect(page.get_by_text("No passkey was used")).to_be_visible()
    expect(page.get_by_role("button", name="Sign in with a passkey")).to_be_enabled()
    device.forget()
    page.goto(reverse("today"))
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_the_same_device_is_not_added_twice(open_page: Open, coach: Membership) -> None:
    page = open_page(PHONE)
    device = Device(page)
    add_passkey(page, coach)
    page.goto(reverse("mfa_add_webauthn"))
    page.get_by_role("button", name="Make the passkey").tap()
    expect(page.get_by_text("This device has a passkey for your account already.")).to_be_visible()
    assert len(device.held()) == Authenticator.objects.filter(type="webauthn").count() == 1


def test_an_answer_to_another_question_signs_nobody_in(open_page: Open, coach: Membership) -> None:
    """What was said once is worth nothing later: the server asks with a new challenge each time."""
    page = open_page(PHONE)
    Device(page)
    add_passkey(page, coach)
    sign_out(page)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.post_data or "") if request.method == "POST" else None)
    page.get_by_role("button", name="Sign in with a passkey").tap()
    expect(page).to_have_url(reverse("today"))
    sign_out(page)
    said = next(body for body in sent if "credential=" in body)
    page.evaluate("() => fetch('/account/safety/passkeys/sign-in/', { headers: { Accept: 'application/json' } })")
    status = page.evaluate(
        """async (said) => {
          const form = new URLSearchParams(said);
          form.set("csrfmiddlewaretoken", document.querySelector("[name=csrfmiddlewaretoken]").value);
          const answer = await fetch("/account/safety/passkeys/sign-in/", { method: "POST", body: form });
          return [answer.status, new URL(answer.url).pathname];
        }""",
        said,
    )
    assert status == [HTTPStatus.OK, reverse("account_login")]
    page.goto(reverse("today"))
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
