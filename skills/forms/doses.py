"""A coach's own dose of a step for the week."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from gymtrack.lib.ids import new_id
from skills.core.dose_limits import MOST_DAYS, RUNGS_S
from skills.core.dose_portions import StepCase
from skills.core.entries import Mistake
from skills.core.portions import MOST_REPS, MOST_REST_S, MOST_SETS, Portion
from skills.services.doses import DoseOrder

SET, SKIP, BACK = "set", "skip", "back"
_FIGURES = {"sets", "reps", "hold_seconds", "rest_seconds", "days"}


def _number(label: str, least: int, most: int) -> forms.IntegerField:
    sentence = f"A whole number from {least} to {most}."
    return forms.IntegerField(
        min_value=least,
        max_value=most,
        label=label,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), sentence),
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )


class DoseForm(forms.Form):
    """What is to be practised this week instead; sent by one of three buttons: set it, not this week, take it back."""

    id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    week_on = forms.DateField(widget=forms.HiddenInput)
    what = forms.ChoiceField(choices=[(SET, SET), (SKIP, SKIP), (BACK, BACK)], widget=forms.HiddenInput)
    sets = _number("Sets", 1, MOST_SETS)
    reps = _number("Reps in a set", 1, MOST_REPS)
    hold_seconds = forms.TypedChoiceField(
        coerce=int,
        choices=[(str(rung), f"{rung} s") for rung in RUNGS_S],
        widget=forms.RadioSelect,
        label="Each hold",
    )
    rest_seconds = _number("Seconds of rest in between", 0, MOST_REST_S)
    days = forms.TypedChoiceField(
        coerce=int,
        choices=[("1", "one"), *((str(n), str(n)) for n in range(2, MOST_DAYS + 1))],
        widget=forms.RadioSelect,
        label="Days this week",
    )
    reason = forms.CharField(
        max_length=500,
        label="Reason",
        help_text="For the coaches. Write nothing about health here.",
        error_messages={"required": "Say why, in a few words."},
    )

    def __init__(
        self, case: StepCase, data: Mapping[str, Any] | None = None, initial: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(data, initial=dict(initial or {}), auto_id="dose_%s")
        if case.own.hold_seconds is None:
            del self.fields["hold_seconds"]
        else:
            self.fields["reps"] = _number("Holds in a set", 1, MOST_REPS)
        asked = not data or data.get("what") == SET
        for name in _FIGURES & {*self.fields}:
            field = self.fields[name]
            field.required = asked  # to leave it out, or to take a change back, needs a reason alone
            field.error_messages["required"] = "How many?"

    @staticmethod
    def initial_of(portion: Portion, week_on: date) -> dict[str, object]:
        """Return the figures of a portion for a form that nobody has touched."""
        rung = portion.hold_seconds if portion.hold_seconds in RUNGS_S else None
        return {
            "week_on": week_on,
            "sets": portion.sets,
            "reps": portion.reps,
            "hold_seconds": rung,
            "rest_seconds": portion.rest_seconds,
            "days": min(portion.days, MOST_DAYS),
        }

    def as_order(self) -> DoseOrder:
        """Return what a valid form says, as the service takes it."""
        said = self.cleaned_data
        portion = (
            Portion(said["sets"], said["reps"], said.get("hold_seconds"), said["rest_seconds"], said["days"])
            if said["what"] == SET
            else None
        )
        return DoseOrder(said["week_on"], portion, said["reason"], taken_back=said["what"] == BACK, id=said["id"])

    def refuse(self, *mistakes: Mistake) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for mistake in mistakes:
            self.add_error(mistake.field if mistake.field in self.fields else None, mistake.sentence)
