"""The founding form of the first gym: the password is typed twice, since nobody else could reset it."""

from __future__ import annotations

from django import forms

from athletes.forms.founding import FoundingForm


class SetUpForm(FoundingForm):
    """What `found_first_gym` asks for, by the same names, once it is valid."""

    password_again = forms.CharField(
        label="Password again",
        strip=False,
        widget=forms.PasswordInput(render_value=True, attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, str]:
        """Refuse two different passwords, and keep the one."""
        given: dict[str, str] = {**(super().clean() or {})}
        again = given.pop("password_again", None)
        if again is not None and "password" in given and given["password"] != again:
            self.add_error("password_again", "The two passwords differ: type the same one twice.")
        return given
