"""People who get a log-in: coaches, guardians, athletes. And a name for a key."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms

from athletes.core.roster import EMAIL_LENGTH, NAME_LENGTH
from athletes.forms.base import RefusableForm

RIGHT_WORDS = (
    ("may_log", "log attempts"),
    ("may_sign_off", "sign off steps and give clearance"),
    ("may_edit_skills", "edit skills"),
    ("may_read_reports", "read the month's report"),
)


def _rights_field() -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        choices=RIGHT_WORDS, required=False, label="May", widget=forms.CheckboxSelectMultiple
    )


class LoginForm(RefusableForm):
    """An address and a first password."""

    email = forms.CharField(
        label="E-mail address",
        max_length=EMAIL_LENGTH,
        help_text="They sign in with it.",
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    password = forms.CharField(
        label="First password",
        strip=False,
        help_text="At least ten characters. Tell it in person; they can change it. An account keeps its own.",
        # Readable, for it is to be passed on.
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )


class NamedLoginForm(LoginForm):
    """A person's name and log-in, as `add_guardian` asks for."""

    full_name = forms.CharField(
        label="Name", max_length=NAME_LENGTH, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    field_order = ("full_name", "email", "password")


class CoachForm(NamedLoginForm):
    """A coach's name, log-in and rights, as `add_coach` asks for."""

    rights = _rights_field()

    def clean_rights(self) -> frozenset[str]:
        """Return a set of rights."""
        return frozenset(self.cleaned_data["rights"])


class RightsForm(RefusableForm):
    """A coach's rights."""

    rights = _rights_field()

    def clean_rights(self) -> frozenset[str]:
        """Return a set of rights."""
        return frozenset(self.cleaned_data["rights"])


class KeyForm(RefusableForm):
    """The name of a key."""

    name = forms.CharField(
        label="Name of the new key",
        max_length=60,
        help_text="What it is for, so that you know it again.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def right_words(rights: Iterable[str]) -> list[str]:
    """Return the words of these rights, in the order of the form."""
    held = set(rights)
    return [words for right, words in RIGHT_WORDS if right in held]
