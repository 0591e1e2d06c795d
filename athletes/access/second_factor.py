"""The second factor at sign-in: passkeys, one-time codes, recovery codes; who must have one, and what keeps it.

A one-time code's secret and the seed of the recovery codes are stored encrypted (Fernet: AES-128-CBC with
HMAC-SHA-256) under a key that is derived from SECRET_KEY, so that a copy of the database alone is no second factor.
"""

from __future__ import annotations

import base64
import logging
import secrets
from uuid import UUID

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from allauth.mfa.signals import authenticator_used
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.urls import reverse

from athletes.models import Account, Membership
from gymtrack.lib.qr import qr_svg

logger = logging.getLogger(__name__)

STAFF_ROLES = (Membership.Role.OWNER, Membership.Role.COACH)
_SECOND = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)
FEW_CODES = 3  # from so few on, somebody is told to make new ones
_PASSKEY_NAMES = ("My first passkey", "My spare passkey")


class SecondFactorAdapter(DefaultMFAAdapter):  # type: ignore[misc]
    """How the account library's second factor behaves here."""

    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": "That is not the code. A code of the app is good for half a minute and once.",
        "cannot_delete_authenticator": (
            "This is your last second factor, and your gym asks its staff for one. Add another one first."
        ),
        "cannot_generate_recovery_codes": "Recovery codes stand in for a passkey or an app: set one of them up first.",
    }

    def encrypt(self, text: str) -> str:
        """Return a secret as it is stored."""
        return _cipher().encrypt(text.encode()).decode("ascii")

    def decrypt(self, encrypted_text: str) -> str:
        """Return a stored secret. One that was stored under another key is lost: no code is right then."""
        try:
            return _cipher().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            logger.error("A second factor was stored under another SECRET_KEY and cannot be read.")  # noqa: TRY400
            return base64.b32encode(secrets.token_bytes(20)).decode("ascii")

    def build_totp_svg(self, url: str) -> str:
        """Return the QR code of a secret."""
        return qr_svg(url)

    def get_totp_issuer(self) -> str:
        """Return what the app on the phone calls this site."""
        return f"Gym skills {self._get_site_name().partition(':')[0]}"

    def generate_authenticator_name(self, user: Account, type: str) -> str:  # noqa: A002 (the library's name)
        """Return a name for the next passkey, for who does not think of one."""
        held = Authenticator.objects.filter(user=user, type=type).count()
        return _PASSKEY_NAMES[held] if held < len(_PASSKEY_NAMES) else f"Passkey {held + 1}"

    def can_delete_authenticator(self, authenticator: Authenticator) -> bool:
        """Whether a factor may go: not the last one of somebody whose gym asks for one."""
        others = Authenticator.objects.filter(user=authenticator.user_id, type__in=_SECOND).exclude(pk=authenticator.pk)
        return others.exists() or not is_asked_of(authenticator.user_id)


def watch_recovery_codes() -> None:
    """Have who signs in by one of their last recovery codes told so."""
    authenticator_used.connect(_tell_of_last_codes, dispatch_uid="last recovery codes")


def _tell_of_last_codes(request: HttpRequest, authenticator: Authenticator, **_more: object) -> None:
    if authenticator.type != Authenticator.Type.RECOVERY_CODES:
        return
    authenticator.refresh_from_db()  # it was read before the code was marked as used
    left = len(authenticator.wrap().get_unused_codes())
    if left <= FEW_CODES:
        words = {0: "That was your last recovery code.", 1: "You have one recovery code left."}
        told = words.get(left, f"You have {left} recovery codes left.")
        messages.warning(request, f"{told} Make new ones under “Sign-in and safety”.")


def is_needed_passkey(account_id: UUID | None, passkey_id: int) -> bool:
    """Whether that passkey is the account's own and may not go."""
    mine = Authenticator.objects.filter(user=account_id, type=Authenticator.Type.WEBAUTHN, pk=passkey_id).first()
    return mine is not None and not SecondFactorAdapter().can_delete_authenticator(mine)


def has_second_factor(account_id: UUID) -> bool:
    """Whether the account has a passkey or an app for one-time codes; recovery codes alone are none."""
    return bool(Authenticator.objects.filter(user=account_id, type__in=_SECOND).exists())


def is_asked_of(account_id: UUID) -> bool:
    """Whether any gym in whose staff the account is asks for a second factor."""
    staff = Membership.objects.filter(account=account_id, ended_at=None, role__in=STAFF_ROLES)
    return staff.filter(gym__staff_need_second_factor=True).exists()


def lacks_factor(member: Membership | None) -> bool:
    """Whether somebody acts for a gym that asks its staff for a second factor, and has none."""
    if member is None or not member.is_staff_member or not member.gym.staff_need_second_factor:
        return False
    return not has_second_factor(member.account_id)


def to_set_up(request: HttpRequest) -> HttpResponseBase:
    """Lead to the page where a second factor is set up, out of a fragment too."""
    address = reverse("mfa_index")
    if request.headers.get("HX-Request") == "true":
        return HttpResponse(headers={"HX-Redirect": address})
    return HttpResponseRedirect(address)


def _cipher() -> MultiFernet:
    """Return the cipher: new secrets go under the key of today, older ones are read under those before it too."""
    return MultiFernet([Fernet(_key(secret)) for secret in _secrets()])


def _secrets() -> list[str]:
    return [str(secret) for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)]


def _key(secret: str) -> bytes:
    derived = HKDF(SHA256(), length=32, salt=None, info=b"gymtrack second factor").derive(secret.encode())
    return base64.urlsafe_b64encode(derived)
