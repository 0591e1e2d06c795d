"""The account library's forms, in the words of the other pages."""

from __future__ import annotations

from typing import Any

from allauth.account.forms import AddEmailForm, LoginForm, ResetPasswordForm
from allauth.account.internal.flows.email_verification import send_verification_email_to_address
from allauth.account.models import EmailAddress
from django.db import transaction
from django.http import HttpRequest


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

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "E-mail address"
        self.fields["email"].widget.attrs.pop("placeholder", None)


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
