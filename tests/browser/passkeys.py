"""A browser's own passkeys, as hands use them: the authenticator of Chromium's tests (Chrome DevTools Protocol)."""

from typing import Any

from django.urls import reverse
from playwright.sync_api import CDPSession, Page, expect

from athletes.models import Membership
from tests.factories.athletes import PASSWORD


class Device:
    """What holds the passkeys of one browser."""

    def __init__(self, page: Page, **more: Any) -> None:
        self._wire: CDPSession = page.context.new_cdp_session(page)
        self._wire.send("WebAuthn.enable")
        options = {
            "protocol": "ctap2",
            "transport": "internal",
            "hasResidentKey": True,
            "hasUserVerification": True,
            "isUserVerified": True,
            "automaticPresenceSimulation": True,
        }
        added = self._wire.send("WebAuthn.addVirtualAuthenticator", {"options": options | more})
        self._id = added["authenticatorId"]

    def held(self) -> list[dict[str, Any]]:
        found = self._wire.send("WebAuthn.getCredentials", {"authenticatorId": self._id})
        keys: list[dict[str, Any]] = found["credentials"]
        return keys

    def lock(self) -> None:
        """From now on the owner's finger is another's."""
        self._wire.send("WebAuthn.setUserVerified", {"authenticatorId": self._id, "isUserVerified": False})

    def forget(self) -> None:
        self._wire.send("WebAuthn.clearCredentials", {"authenticatorId": self._id})


def type_password(page: Page, who: Membership) -> None:
    page.get_by_label("E-mail address").fill(who.account.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).tap()


def add_passkey(page: Page, who: Membership, *, alone: bool = True) -> None:
    """From anywhere, signed in or not: the password stands before it, once more."""
    page.goto(reverse("mfa_add_webauthn"))
    if page.get_by_label("E-mail address").count():
        type_password(page, who)
    confirm(page)
    page.get_by_label("What you call it").fill("My phone")
    page.get_by_label("Sign in with it alone").set_checked(alone)
    page.get_by_role("button", name="Make the passkey").tap()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()


def sign_out(page: Page) -> None:
    page.goto(reverse("account_logout"))
    page.get_by_role("main").get_by_role("button", name="Sign out").tap()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def confirm(page: Page) -> None:
    """Type the password once more, before a page that changes how one signs in."""
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Go on").tap()
