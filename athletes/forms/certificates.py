"""Entering a certificate of somebody on the staff."""

from __future__ import annotations

from django import forms

from athletes.forms.base import RefusableForm
from athletes.models import Certificate
from gymtrack.lib.ids import new_id


def _day(label: str, help_text: str = "", *, required: bool = True) -> forms.DateField:
    # In ISO form, which a date input understands, also where a mistake brings it back.
    widget = forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=widget, help_text=help_text)


class CertificateForm(RefusableForm):
    """What kind it is, and from and until when it is good."""

    kind = forms.ChoiceField(choices=[("", "Choose one"), *Certificate.Kind.choices], label="Certificate")
    valid_from = _day("Good from")
    valid_until = _day("Last day", "Left empty, it is good without end.", required=False)
    certificate_id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)
