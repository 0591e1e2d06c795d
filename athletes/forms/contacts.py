"""Whom to call, and that somebody was screened."""

from __future__ import annotations

from django import forms

from athletes.forms.base import RefusableForm
from athletes.services.contacts import NAME_LENGTH, RELATION_LENGTH
from gymtrack.lib.ids import new_id

_OFF = {"autocomplete": "off"}  # somebody else's: the browser's own address helps nobody


class ContactForm(RefusableForm):
    """Name, relation and telephone number."""

    contact_id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    name = forms.CharField(max_length=NAME_LENGTH, label="Name", widget=forms.TextInput(_OFF))
    relation = forms.CharField(
        max_length=RELATION_LENGTH,
        required=False,
        label="Relation",
        help_text="Mother, partner, neighbour.",
        widget=forms.TextInput(_OFF),
    )
    phone = forms.CharField(
        max_length=40,
        label="Telephone",
        help_text="With the country code, like +49 30 1234567.",
        widget=forms.TextInput({"type": "tel", **_OFF}),
    )


def _day(label: str, help_text: str, *, required: bool = True) -> forms.DateField:
    widget = forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=widget, help_text=help_text)


class ScreeningForm(RefusableForm):
    """The day of a screening, and the last one on which it counts."""

    screening_id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)
    done_on = _day("Done on", "The day on which it was done, by whoever did it.")
    expires_on = _day("Last day", "The last day on which it counts. Left empty, it counts without end.", required=False)
