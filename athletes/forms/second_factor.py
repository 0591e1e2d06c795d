"""The account library's forms for the second factor, in the words of the other pages.

What a browser's passkey answers comes as JSON; whatever else is sent there gets the same sentence as a wrong code.
"""

from __future__ import annotations

from typing import Any, cast

from allauth.core import context
from allauth.mfa.adapter import get_adapter
from allauth.mfa.base.forms import AuthenticateForm, ReauthenticateForm
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    EditWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from django import forms
from django.conf import settings
from django.core.cache import cache

from athletes.access.security_log import note_refused

NAME_LENGTH = 60
_HALF_MINUTES = 2 * settings.MFA_TOTP_TOLERANCE + 1
_PERIOD_SECONDS = 30
_BROKEN = (ValueError, TypeError, KeyError, AttributeError, IndexError)


def use_up(user_id: object, code: str) -> bool:
    """Take a one-time code; return whether it was not taken before, for as long as it could be typed again.

    RFC 6238, 5.2: a code is accepted once. The library remembers it for half a minute, and it is good for three.
    """
    key = f"one-time-code:{user_id}:{''.join(code.split())}"
    return bool(cache.add(key, "used", timeout=_HALF_MINUTES * _PERIOD_SECONDS))


class _Code:
    """The field for a code, and its use once."""

    fields: dict[str, forms.Field]
    user: Any

    def _say(self, label: str, help_text: str) -> None:
        field = self.fields["code"]
        field.label, field.help_text = label, help_text
        field.widget.attrs = {"autocomplete": "one-time-code", "inputmode": "numeric", "autocapitalize": "off"}

    def _taken(self, code: str) -> str:
        if not use_up(self.user.pk, code):
            raise get_adapter().validation_error("incorrect_code")
        return code


class CodeForm(_Code, AuthenticateForm):  # type: ignore[misc]
    """Asks for a code after the password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say("Code", "Six digits from the app, or one of your recovery codes.")

    def clean_code(self) -> str:
        """Return the code if it is right and was not used."""
        return self._taken(super().clean_code())


class CodeAgainForm(_Code, ReauthenticateForm):  # type: ignore[misc]
    """Asks for a code again before something that changes how one signs in."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say("Code", "Six digits from the app, or one of your recovery codes.")

    def clean_code(self) -> str:
        """Return the code if it is right and was not used."""
        return self._taken(super().clean_code())


class FirstCodeForm(_Code, ActivateTOTPForm):  # type: ignore[misc]
    """Asks for the first code of an app, which shows that it has the secret."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say("Code", "The six digits that the app shows now.")

    def clean_code(self) -> str:
        """Return the code if it is right and was not used."""
        return self._taken(super().clean_code())


class PasskeyForm(AddWebAuthnForm):  # type: ignore[misc]
    """Takes a new passkey from the browser."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.order_fields(["name", "passwordless", "credential"])
        name = self.fields["name"] = forms.CharField(
            label="What you call it",
            required=False,
            max_length=NAME_LENGTH,
            help_text="The device that it lives on, say.",
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )
        name.initial = self.initial.get("name")
        alone = self.fields["passwordless"]
        alone.label, alone.initial = "Sign in with it alone, without the password", True
        alone.help_text = "The device then asks for its own lock: finger, face or PIN."

    def clean(self) -> dict[str, Any]:
        """Check the browser's answer; raises ValidationError for anything but a passkey made for this page."""
        try:
            return cast("dict[str, Any]", super().clean())
        except _BROKEN as error:
            raise get_adapter().validation_error("incorrect_code") from error


class PasskeyNameForm(EditWebAuthnForm):  # type: ignore[misc]
    """Gives a passkey another name."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["name"] = forms.CharField(
            label="What you call it", max_length=NAME_LENGTH, widget=forms.TextInput(attrs={"autocomplete": "off"})
        )


class _Answer:
    """What a passkey answers: checked by the library, and by us where it would break."""

    def clean_credential(self) -> Authenticator:
        """Return the passkey that answered; raises ValidationError for any other answer."""
        try:
            return super().clean_credential()  # type: ignore[misc]
        except (forms.ValidationError, *_BROKEN) as error:
            note_refused("second factor failed", context.request, getattr(getattr(self, "user", None), "pk", None))
            if isinstance(error, forms.ValidationError):
                raise
            raise get_adapter().validation_error("incorrect_code") from error


class PasskeyAnswerForm(_Answer, AuthenticateWebAuthnForm):  # type: ignore[misc]
    """Takes a passkey's answer after the password."""


class PasskeyAgainForm(_Answer, ReauthenticateWebAuthnForm):  # type: ignore[misc]
    """Takes a passkey's answer again before something that changes how one signs in."""


class PasskeySignInForm(_Answer, LoginWebAuthnForm):  # type: ignore[misc]
    """Takes a passkey's answer instead of a password."""
