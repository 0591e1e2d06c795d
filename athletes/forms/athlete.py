"""One athlete: who they are, stature and mass in the gym's units, when they left."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.datastructures import MultiValueDict

from athletes.core import roster
from athletes.core.roster import RosterEntry
from athletes.forms.base import RefusableForm
from athletes.forms.measures import MassField, MeasureField, StatureField
from athletes.models import Athlete, Gym
from athletes.services.measures import last_values

Data = MultiValueDict[str, str]


def _date_field(label: str, help_text: str) -> forms.DateField:
    # The browser's own date control speaks ISO 8601, whatever it shows.
    return forms.DateField(
        label=label,
        help_text=help_text,
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": "This is no date; write it like 2011-05-30."},
    )


class AthleteForm(RefusableForm):
    """A new athlete."""

    full_name = forms.CharField(
        label="Name", max_length=roster.NAME_LENGTH, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    birth_on = _date_field("Birth date", "Without one they count as a minor.")
    stature = StatureField(label="Stature")
    mass = MassField(label="Mass")
    email = forms.CharField(
        label="E-mail address",
        required=False,
        max_length=roster.EMAIL_LENGTH,
        help_text="To write to; it gives no log-in.",
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    notes = forms.CharField(
        label="Notes",
        required=False,
        max_length=roster.NOTES_LENGTH,
        help_text="For coaches and owners.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(
        self, data: Data | None = None, *, gym: Gym, today: date, initial: dict[str, Any] | None = None
    ) -> None:
        super().__init__(data, initial=initial)
        self.today = today
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.speak(gym.units)

    def clean_full_name(self) -> str:
        """Return the name with single spaces."""
        name = roster.tidy_name(self.cleaned_data["full_name"])
        _refuse_if(roster.name_problem(name))
        return name

    def clean_birth_on(self) -> date | None:
        """Return a birth date that is possible."""
        birth_on: date | None = self.cleaned_data["birth_on"]
        _refuse_if(roster.birth_problem(birth_on, self.today) if birth_on else "")
        return birth_on

    def clean_email(self) -> str:
        """Return an address in lower case, or ''."""
        email: str = self.cleaned_data["email"].lower()
        _refuse_if(roster.email_problem(email) if email else "")
        return email

    def clean_notes(self) -> str:
        """Return the notes with plain line ends."""
        notes: str = self.cleaned_data["notes"].replace("\r\n", "\n")
        _refuse_if(roster.notes_problem(notes))
        return notes

    @property
    def entry(self) -> RosterEntry:
        """What a good form says; a figure that was not touched is the stored one, not the rounded one shown."""
        typed = {**self.cleaned_data, **{name: self.initial.get(name) for name in self._untouched}}
        return RosterEntry(
            full_name=typed["full_name"],
            birth_on=typed["birth_on"],
            stature_m=typed["stature"],
            mass_kg=typed.get("mass"),
            email=typed["email"],
            notes=typed["notes"],
        )

    @property
    def _untouched(self) -> set[str]:
        return {"stature", "mass"}.intersection(self.fields).difference(self.changed_data)


class AthleteChangeForm(AthleteForm):
    """An athlete who is on the roster. A minor's mass is not shown."""

    left_on = _date_field("Left on", "From this day on they stand on no board and no list.")

    def __init__(self, data: Data | None = None, *, athlete: Athlete, today: date) -> None:
        super().__init__(data, gym=athlete.gym, today=today, initial=_stored(athlete))
        if athlete.is_minor():
            del self.fields["mass"]


def _stored(athlete: Athlete) -> dict[str, Any]:
    stature_m, mass_kg = last_values(athlete)
    person = athlete.person
    return {
        "full_name": person.full_name,
        "birth_on": person.birth_on,
        "stature": stature_m,
        "mass": mass_kg,
        "email": person.email,
        "notes": person.notes,
        "left_on": athlete.left_on,
    }


def _refuse_if(sentence: str) -> None:
    if sentence:
        raise forms.ValidationError(sentence)
