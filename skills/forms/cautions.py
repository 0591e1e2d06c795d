"""Entering a caution."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from athletes.core.refusal import Refusal
from athletes.forms.base import RefusableForm
from athletes.models import Load
from gymtrack.lib.ids import new_id


class CautionForm(RefusableForm):
    """What an athlete may not do from now on, until the end of a day or until a coach lifts it."""

    loads = forms.MultipleChoiceField(choices=Load.choices, widget=forms.CheckboxSelectMultiple, label="Not for now")
    until = forms.DateField(
        required=False,
        label="Until the end of",
        widget=forms.DateInput({"type": "date"}),
        help_text="Left empty, it holds until a coach lifts it.",
    )
    reason = forms.CharField(
        required=False,
        max_length=500,
        label="Reason",
        help_text="A few words for the coaches. No diagnosis: that is for licensed professionals.",
    )

    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, zone: ZoneInfo, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="caution_%s")
        self._zone = zone
        self.fields["loads"].error_messages["required"] = "Say what the athlete may not do."

    @property
    def loads_chosen(self) -> frozenset[str]:
        """The loads of a valid form."""
        return frozenset(self.cleaned_data["loads"])

    @property
    def until_at(self) -> datetime | None:
        """The end of a valid form's day in the gym's zone, if one was given."""
        day = self.cleaned_data["until"]
        return datetime.combine(day + timedelta(days=1), time(), self._zone) if day else None

    def field_of(self, refusal: Refusal) -> str:
        """Name the end as this form does."""
        return "until" if refusal.field == "until_at" else refusal.field
