"""Writing down what happened, and how equipment was found."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms

from athletes.core.refusal import Refusal
from athletes.core.roster import NOTES_LENGTH
from athletes.forms.base import RefusableForm
from athletes.models import Athlete
from gymtrack.lib.ids import new_id
from skills.core.equipment import LOOKED_AT
from skills.forms.sessions import steps_by_skill
from skills.models import Incident, TrainingSession
from skills.queries.books import Book
from skills.queries.safety import Period
from skills.services.safety import CheckEntry


class IncidentForm(RefusableForm):
    """What happened, when and to whom; nobody's name belongs into the words."""

    kind = forms.ChoiceField(choices=[("", "Choose one"), *Incident.Kind.choices], label="What kind")
    day = forms.DateField(label="Day", widget=forms.DateInput({"type": "date"}))
    time = forms.TimeField(label="Time", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))
    athlete = forms.ChoiceField(required=False, label="To whom")
    session = forms.ChoiceField(required=False, label="In which class")
    step = forms.ChoiceField(required=False, label="At which step")
    words = forms.CharField(
        max_length=NOTES_LENGTH,
        widget=forms.Textarea({"rows": 5}),
        label="What happened",
        help_text="What was seen and what was done, without names and without a diagnosis: that is for the licensed.",
    )
    first_aid = forms.BooleanField(required=False, label="First aid was given")
    doctor = forms.BooleanField(required=False, label="Seen by, or sent to, somebody licensed")
    guardian_told = forms.BooleanField(required=False, label="A guardian was told")
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(
        self,
        *,
        zone: ZoneInfo,
        book: Book,
        athletes: Collection[Athlete],
        sessions: Collection[TrainingSession],
        data: Mapping[str, Any] | None = None,
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial, auto_id="incident_%s")
        self._zone = zone
        self._choose("athlete", "nobody, or somebody who is not on the roster", [(a.id, _who(a)) for a in athletes])
        named = [(row.id, f"{row.name}, {row.starts_at.astimezone(zone):%d %b %H:%M}") for row in sessions]
        self._choose("session", "outside of a class", named)
        self.fields["step"].choices = steps_by_skill(book, empty="at no step")  # type: ignore[attr-defined]

    def _choose(self, field: str, empty: str, rows: list[tuple[UUID, str]]) -> None:
        self.fields[field].choices = [("", empty), *((str(key), words) for key, words in rows)]  # type: ignore[attr-defined]

    def chosen(self, field: str) -> UUID | None:
        """Return the id that a valid form chose there, if any."""
        return UUID(self.cleaned_data[field]) if self.cleaned_data[field] else None

    @property
    def happened_at(self) -> datetime:
        """The moment of a valid form, in the gym's zone."""
        return datetime.combine(self.cleaned_data["day"], self.cleaned_data["time"], self._zone)

    def field_of(self, refusal: Refusal) -> str:
        """Name the moment as this form does."""
        return "day" if refusal.field == "happened_at" else refusal.field


def _who(athlete: Athlete) -> str:
    return f"{athlete.number} {athlete.board_name}"


class IncidentNoteForm(RefusableForm):
    """What was learned or done afterwards."""

    words = forms.CharField(
        max_length=NOTES_LENGTH, widget=forms.Textarea({"rows": 3}), label="What was learned or done since"
    )
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="note_%s")


class PeriodForm(forms.Form):
    """From and to which day."""

    first = forms.DateField(required=False, label="From", widget=forms.DateInput({"type": "date"}))
    last = forms.DateField(required=False, label="To", widget=forms.DateInput({"type": "date"}))

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="period_%s")

    def clean(self) -> None:
        """Refuse a period that ends before it begins."""
        first, last = self.cleaned_data.get("first"), self.cleaned_data.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day lies before the first one.")

    @property
    def period(self) -> Period:
        """The period of a valid form."""
        return Period(self.cleaned_data["first"], self.cleaned_data["last"])


class EquipmentForm(RefusableForm):
    """A piece of equipment as it was found just now."""

    item = forms.CharField(
        max_length=60,
        label="Which piece of equipment",
        help_text="As it is called in your gym; nobody's name.",
        widget=forms.TextInput({"list": "items", "autocomplete": "off"}),
    )
    found = forms.MultipleChoiceField(
        required=False,
        choices=[*LOOKED_AT.items()],
        widget=forms.CheckboxSelectMultiple,
        label="Looked at, and found in order",
        help_text="Leave out what this piece does not have, and what is not in order.",
    )
    hole_left = forms.IntegerField(required=False, min_value=1, label="Hole on the left, counted from below")
    hole_right = forms.IntegerField(required=False, min_value=1, label="Hole on the right, counted from below")
    fit = forms.ChoiceField(
        choices=[("yes", "fit for use"), ("no", "not fit for use")], widget=forms.RadioSelect, label="It is"
    )
    reason = forms.CharField(
        required=False,
        max_length=500,
        label="Reason",
        help_text="Needed for what is not fit, and where the holes left and right differ. Name nobody here.",
    )
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="equipment_%s")
        self.fields["fit"].error_messages["required"] = "Say whether it is fit for use."

    def entry(self) -> CheckEntry:
        """Return what a valid form says, as the service takes it."""
        said = self.cleaned_data
        return CheckEntry(
            item=said["item"],
            fit=said["fit"] == "yes",
            found=tuple(said["found"]),
            hole_left=said["hole_left"],
            hole_right=said["hole_right"],
            reason=said["reason"],
            id=said["id"] or new_id(),
        )
