"""What an athlete practised alone, entered by themselves or by a guardian."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django import forms

from gymtrack.lib.ids import new_id
from skills.core.entries import MOST_EFFORT, MOST_REPS, Mistake
from skills.core.holds import HoldLengthError, cut_to_tenths
from skills.core.own_practice import MOST_SETS, OLDEST_DAYS
from skills.core.pain import PLACES, SIDES, pain_words
from skills.queries.books import StepPage
from skills.services.own_practice import OwnEntry

_FIELD_OF_MISTAKE = {"hold_tenths": "seconds"}


def _number(label: str, most: int) -> forms.IntegerField:
    sentence = f"A whole number from 1 to {most}."
    return forms.IntegerField(
        min_value=1,
        max_value=most,
        label=label,
        error_messages={
            "required": "How many?",
            **dict.fromkeys(("invalid", "min_value", "max_value"), sentence),
        },
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )


class OwnPracticeForm(forms.Form):
    """Sets of one step on a day. Its id comes with the page, so that a form that is sent twice is one entry."""

    id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    practised_on = forms.DateField(
        label="Day",
        error_messages={"required": "On which day was it?", "invalid": "That is no day: write it like 2026-11-30."},
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    sets = _number("Sets", MOST_SETS)
    seconds = forms.CharField(
        max_length=20,
        label="Seconds of each",
        help_text="Of the shortest one.",
        error_messages={"required": "How many seconds was each held?"},
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
    )
    reps = _number("Reps in a set", MOST_REPS)
    effort = forms.TypedChoiceField(
        choices=[("", "not said"), *((str(n), str(n)) for n in range(MOST_EFFORT + 1))],
        required=False,
        coerce=int,
        empty_value=None,
        label="Effort, 0 to 10",
    )
    pain = forms.BooleanField(
        required=False,
        label="It hurt",
        help_text="Pauses each step with the same load at once, until a coach lifts it. Then stop, and tell a coach.",
    )
    pain_where = forms.ChoiceField(
        choices=[("", "not said"), *((place, place) for place in PLACES)], required=False, label="It hurt: where"
    )
    pain_side = forms.ChoiceField(
        choices=[("", "no side"), *((side, side) for side in SIDES)], required=False, label="Which side"
    )
    note = forms.CharField(required=False, max_length=500, label="Note", help_text="Your coaches read it.")

    def __init__(self, page: StepPage, today: date, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, initial={"practised_on": today}, auto_id="own_%s")
        self._page = page
        if page.form.is_hold:
            self.fields["sets"] = _number("Holds", MOST_SETS)
            del self.fields["reps"]
        else:
            del self.fields["seconds"]
        oldest = today - timedelta(days=OLDEST_DAYS)
        self.fields["practised_on"].widget.attrs |= {"min": oldest.isoformat(), "max": today.isoformat()}

    def clean_seconds(self) -> int:
        """Return the hold in tenths, cut; a comma is as good as a point."""
        try:
            return cut_to_tenths(self.cleaned_data["seconds"].replace(",", ".").removesuffix("s").strip())
        except HoldLengthError as error:
            raise forms.ValidationError(str(error)) from None

    def entry(self, athlete_id: UUID) -> OwnEntry:
        """Return what a valid form says, as the service takes it."""
        said = self.cleaned_data
        where = pain_words(said["pain_where"], said["pain_side"])
        return OwnEntry(
            id=said["id"],
            athlete_id=athlete_id,
            step_id=self._page.id,
            practised_on=said["practised_on"],
            sets=said["sets"],
            hold_tenths=said.get("seconds"),
            reps=said.get("reps", 1),
            effort=said["effort"],
            pain=said["pain"] or bool(where),
            note=". ".join(part for part in (where, said["note"]) if part),
        )

    def refuse(self, *mistakes: Mistake) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for mistake in mistakes:
            name = _FIELD_OF_MISTAKE.get(mistake.field, mistake.field)
            self.add_error(name if name in self.fields else None, mistake.sentence)
