"""Asking why somebody stands as they do: when, and what was known."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms

from athletes.forms.base import RefusableForm
from skills.core.days import moment_us
from skills.core.moments import Asked, MomentError, moment_asked

HOURS = (("", "later"), ("earlier", "earlier"))


class WhyForm(RefusableForm):
    """A moment on the gym's clock (empty = now), and whether to tell what was known then or what is known now."""

    at = forms.CharField(
        required=False,
        max_length=40,
        label="On",
        widget=forms.DateTimeInput({"type": "datetime-local", "step": "1"}),
        help_text="Date and time on the gym's clock. Left empty, it is now.",
    )
    known = forms.ChoiceField(
        required=False,
        label="What was known",
        choices=(("now", "As it is known now"), ("then", "As it was known then")),
        error_messages={"invalid_choice": "Choose what is known now or what was known then."},
    )
    hour = forms.ChoiceField(required=False, choices=HOURS, widget=forms.HiddenInput)

    def __init__(self, zone: str, now: datetime, data: Mapping[str, Any]) -> None:
        super().__init__(data, auto_id="why_%s")
        self._zone, self._now_us = zone, moment_us(now)
        self.asked = Asked(self._now_us)

    def clean(self) -> dict[str, Any]:
        """Read the moment, and say beside its field what is wrong with it."""
        given: dict[str, Any] = super().clean() or {}
        if given.get("at"):
            try:
                earlier = given.get("hour") == "earlier"
                self.asked = moment_asked(given["at"], self._zone, self._now_us, earlier=earlier)
            except MomentError as error:
                self.add_error("at", str(error))
        return given

    @property
    def known_chosen(self) -> str:
        """What a valid form asks for: "now" unless "then" was chosen."""
        return self.cleaned_data["known"] or "now"
