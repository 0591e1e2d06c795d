"""The plan that a curve of what a rule lets through is drawn for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from skills.core.plans import MOST_DAYS_BETWEEN, MOST_TRIES, Plan

USUAL_PLAN = Plan(tries=20, tries_a_session=4, days_between_sessions=3)


def _whole(label: str, most: int, usual: int, help_text: str) -> forms.IntegerField:
    sentence = f"Write a whole number from 1 to {most}."
    messages = {"invalid": sentence, "min_value": sentence, "max_value": sentence, "required": sentence}
    return forms.IntegerField(
        label=label,
        min_value=1,
        max_value=most,
        initial=usual,
        help_text=help_text,
        error_messages=messages,
        # A number field of a browser shows nothing of what is no number: what was typed would be lost.
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
    )


class PlanForm(forms.Form):
    """Tries, tries a session, days between sessions; what an address leaves out is as usual."""

    tries = _whole("Tries", MOST_TRIES, USUAL_PLAN.tries, "In all, before the question is asked.")
    tries_a_session = _whole("Tries a session", MOST_TRIES, USUAL_PLAN.tries_a_session, "One session a day.")
    days_between_sessions = _whole(
        "Days between sessions",
        MOST_DAYS_BETWEEN,
        USUAL_PLAN.days_between_sessions,
        "From one to the next: 1 is every day.",
    )

    def __init__(self, asked: Mapping[str, Any]) -> None:
        usual = {name: field.initial for name, field in self.base_fields.items()}
        super().__init__({name: asked.get(name, usual[name]) for name in usual}, auto_id="plan_%s")

    def as_plan(self) -> Plan:
        """Return what a valid form says."""
        return Plan(**self.cleaned_data)
