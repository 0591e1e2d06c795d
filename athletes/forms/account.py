"""The account library's forms, in the words of the other pages."""

from __future__ import annotations

from typing import Any

from allauth.account.forms import (
    AddEmailForm,
    ChangePasswordForm,
    LoginForm,
    ReauthenticateForm,
    ResetPasswordForm,
    ResetPasswordKeyForm,
    SetPasswordForm,
)
from allauth.account.internal.flows.email_verification import send_verification_email_to_address
from allauth.account.models import EmailAddress
from django import forms
from django.db import transaction
from django.http import HttpRequest

from athletes.models import Account

WHAT_WILL_DO = (
    "10 to 128 characters of any kind. Three or four words that belong to nobody else are good; one that you use "
    "elsewhere, your gym's name and your address are not."
)


class _Passwords:
    """The fields for passwords, in our words."""

    fields: dict[str, forms.Field]

    def _say(self, **labels: str) -> None:
        for name, label in labels.items():
            self.fields[name].label = label
            self.fields[name].widget.attrs.pop("placeholder", None)
        if "password1" in labels:
            self.fields["password1"].help_text = WHAT_WILL_DO


class SignInForm(LoginForm):  # type: ignore[misc]
    """Signs somebody in."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail address"
        self.fields["login"].widget.attrs.pop("placeholder", None)
        self.fields["login"].widget.attrs["autocomplete"] = "username webauthn"
        self.fields["password"].widget.attrs.pop("placeholder", None)


class ForgottenPasswordForm(ResetPasswordForm):  # type: ignore[misc]
    """Asks for the link with which to choose a new password."""

    users: list[Account]

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "E-mail address"
        self.fields["email"].widget.attrs.pop("placeholder", None)

    def clean_email(self) -> str:
        """Find the account by the address that it signs in with, and by no other.

        One that waits to be confirmed was shown to be nobody's: who reads its mail may be a stranger.
        """
        email: str = super().clean_email()
        self.users = [account for account in self.users if account.email.lower() == email.lower()]
        return email


class NewAddressForm(AddEmailForm):  # type: ignore[misc]
    """Asks for another address, which holds from the moment that it is shown to be one's own."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "New e-mail address"
        self.fields["email"].widget.attrs.pop("placeholder", None)

    def save(self, request: HttpRequest) -> EmailAddress:
        """Store the address as waiting, in the place of one that waited before, and mail to it."""
        with transaction.atomic():
            # The library would take an address in use that was never shown to be one's own for one that waits.
            current, _ = EmailAddress.objects.get_or_create(user=self.user, email=self.user.email.lower())
            EmailAddress.objects.filter(user=self.user).exclude(pk=current.pk).delete()
            EmailAddress.objects.filter(pk=current.pk).update(primary=True)
            waiting: EmailAddress = EmailAddress.objects.create(user=self.user, email=self.cleaned_data["email"])
        send_verification_email_to_address(request, waiting)
        return waiting


class ChangedPasswordForm(_Passwords, ChangePasswordForm):  # type: ignore[misc]
    """Asks for the password of until now and a new one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say(oldpassword="Password of until now", password1="New password", password2="New password again")


class FirstPasswordForm(_Passwords, SetPasswordForm):  # type: ignore[misc]
    """Asks somebody without a password for one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say(password1="Password", password2="Password again")


class NewPasswordForm(_Passwords, ResetPasswordKeyForm):  # type: ignore[misc]
    """Asks who came by the link of a mail for a new password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say(password1="New password", password2="New password again")


class PasswordAgainForm(_Passwords, ReauthenticateForm):  # type: ignore[misc]
    """Asks for the password again before something that changes how one signs in."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self._say(password="Password")  # noqa: S106 (a label)
