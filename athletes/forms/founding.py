"""Founding a gym: its settings and its owner's log-in, on one page."""

from __future__ import annotations

from django import forms

from athletes.core.refusal import Refusal
from athletes.core.roster import EMAIL_LENGTH, NAME_LENGTH
from athletes.forms.gym import GymForm


class FoundingForm(GymForm):
    """What `found_gym` asks for, by the same names: `found_gym(**form.cleaned_data)`."""

    asks_consent = None  # type: ignore[assignment]  # Django's way to leave it out: a new gym does, until it is changed
    staff_need_second_factor = None  # type: ignore[assignment]  # nobody has one yet
    # How long things are kept, and the age of deciding, begin with what the model says.
    own_data_age_years = keep_months_after_leaving = keep_pain_notes_days = None  # type: ignore[assignment]
    owner_name = forms.CharField(
        label="Your name", max_length=NAME_LENGTH, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    owner_email = forms.CharField(
        label="Your e-mail address",
        max_length=EMAIL_LENGTH,
        help_text="You sign in with it.",
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        help_text="At least ten characters.",
        # Given back with the other mistakes to mend: nothing that was typed is lost, and no cache keeps the page.
        widget=forms.PasswordInput(render_value=True, attrs={"autocomplete": "new-password"}),
    )

    def field_of(self, refusal: Refusal) -> str:
        """Find the address here under the owner's."""
        return "owner_email" if refusal.field == "email" else refusal.field
