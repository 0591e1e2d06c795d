"""Choosing the day of a proof."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from django import forms

from athletes.forms.base import RefusableForm

_FIRST_DAY: Final = date(1970, 1, 2)


class DayForm(RefusableForm):
    """A day of the gym that has begun, as 2026-11-03."""

    day = forms.DateField(
        label="Day",
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput({"type": "date"}),
        error_messages={"invalid": "This is no day: write it like 2026-11-03."},
    )

    def __init__(self, today: date, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="proof_%s")
        self._today = today

    def clean_day(self) -> date:
        """Refuse a day that has not begun, and one before any clock of a computer."""
        day: date = self.cleaned_data["day"]
        if day > self._today:
            raise forms.ValidationError("This day lies ahead: a proof is of a day that has been, or of today.")
        if day < _FIRST_DAY:
            raise forms.ValidationError("This is too long ago: the books begin in 1970 at the earliest.")
        return day
