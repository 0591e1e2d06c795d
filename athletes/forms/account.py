"""The account library's forms, in the words of the other pages."""

from __future__ import annotations

from typing import Any

from allauth.account.forms import LoginForm, ResetPasswordForm


class SignInForm(LoginForm):  # type: ignore[misc]
    """Signs somebody in."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail address"
        self.fields["login"].widget.attrs.pop("placeholder", None)
        self.fields["password"].widget.attrs.pop("placeholder", None)


class ForgottenPasswordForm(ResetPasswordForm):  # type: ignore[misc]
    """Asks for the link with which to choose a new password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's own)
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "E-mail address"
        self.fields["email"].widget.attrs.pop("placeholder", None)
