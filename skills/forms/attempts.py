"""Logging an attempt, and taking one back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.utils.timezone import localtime

from skills import wording
from skills.core.entries import ANGLE_SENTENCE, ASSISTANCES, MOST_DEGREES, MOST_EFFORT, MOST_REPS, Mistake, Result
from skills.core.holds import HoldLengthError, cut_to_tenths
from skills.core.pain import PLACES, SIDES, pain_words
from skills.models import Attempt, BarCheck
from skills.queries.books import StepPage
from skills.services.attempts import AttemptEntry

CLEAN, MARKED = "clean", "marked"
_FIELD_OF_MISTAKE = {"hold_tenths": "seconds", "angle_degrees": "angle"}
_SOURCES = [(source, wording.SOURCES[source]) for source in ("judged", "counted", "timed_only")]


class AttemptForm(forms.Form):
    """One try at a step. Its id comes with the page, so that a form that is sent twice is one attempt.

    It is sent by one of three kinds of buttons: `verdict` clean; `fault` with the code of the one fault seen;
    or `verdict` marked, which takes the faults, missed checkpoints and pain as they are ticked.
    """

    id = forms.UUIDField(widget=forms.HiddenInput)
    athlete = forms.UUIDField(widget=forms.HiddenInput)
    step = forms.UUIDField(widget=forms.HiddenInput)
    verdict = forms.ChoiceField(choices=[(CLEAN, CLEAN), (MARKED, MARKED)], required=False, widget=forms.HiddenInput)
    fault = forms.CharField(required=False, widget=forms.HiddenInput)
    seconds = forms.CharField(
        required=False,
        max_length=20,
        label="Seconds",
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
    )
    reps = forms.IntegerField(
        min_value=1, max_value=MOST_REPS, label="Reps", widget=forms.NumberInput({"inputmode": "numeric"})
    )
    broken = forms.BooleanField(required=False, label="Let go or rested between reps")
    assistance = forms.ChoiceField(
        choices=[(code, wording.ASSISTANCES[code]) for code in ASSISTANCES], widget=forms.RadioSelect, label="Help"
    )
    variant = forms.ChoiceField(required=False, widget=forms.RadioSelect, label="Form")
    grade = forms.TypedChoiceField(
        required=False, coerce=int, empty_value="0", widget=forms.RadioSelect, label="How far"
    )
    angle = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=MOST_DEGREES,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), ANGLE_SENTENCE),
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    source = forms.ChoiceField(choices=_SOURCES, widget=forms.RadioSelect, label="How it was measured")
    faults = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Faults seen")
    missed = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Checkpoints not shown"
    )
    effort = forms.TypedChoiceField(
        choices=[("", "not asked"), *((str(n), str(n)) for n in range(MOST_EFFORT + 1))],
        required=False,
        coerce=int,
        empty_value=None,
        widget=forms.RadioSelect,
        label="Effort, 0 to 10",
    )
    pain = forms.BooleanField(
        required=False,
        label="It hurt",
        help_text=(
            "Pauses each step with the same load at once, until a coach lifts it. "
            "The tool does not judge health; somebody licensed does."
        ),
    )
    pain_where = forms.ChoiceField(
        choices=[("", "not said"), *((place, place) for place in PLACES)],
        required=False,
        widget=forms.RadioSelect,
        label="It hurt: where",
    )
    pain_side = forms.ChoiceField(
        choices=[("", "no side"), *((side, side) for side in SIDES)],
        required=False,
        widget=forms.RadioSelect,
        label="Which side",
    )
    note = forms.CharField(required=False, max_length=500, label="Note")
    bar_check = forms.UUIDField(label="At which low bar, as it was checked", widget=forms.RadioSelect)
    closed_reason = forms.CharField(required=False, max_length=200, label="Why this step is tried before it is open")

    def __init__(
        self,
        page: StepPage,
        data: Mapping[str, Any] | None = None,
        initial: dict[str, Any] | None = None,
        *,
        checks: Sequence[BarCheck] = (),
    ) -> None:
        super().__init__(data, initial=initial, auto_id="log_%s")
        self.page = page
        self._offer_checks(checks)
        self.fields["seconds"].required = page.form.is_hold
        self.fields["seconds"].error_messages["required"] = "Take the time, tap a key, or type the seconds."
        self.fields["reps"].error_messages["required"] = "Tap or type how many reps there were."
        if page.form.angle:
            self.fields["angle"].label = f"Angle in degrees: {page.form.angle}"
        else:
            del self.fields["angle"]
        self._choose("faults", page.faults)
        self._choose("missed", page.checkpoints)
        self._choose("variant", (("", "as described"), *page.variants))
        self._choose("grade", (("0", "not graded"), *((str(n), name) for n, name in enumerate(page.grades, start=1))))

    def _offer_checks(self, checks: Sequence[BarCheck]) -> None:
        """Ask at which bar it was, of those that stand checked; where none does, the service says what is lacking."""
        if not checks:
            del self.fields["bar_check"]
            return
        field = self.fields["bar_check"]
        field.widget.choices = [(str(check.id), check_told(check)) for check in checks]
        field.error_messages["required"] = "Choose the low bar that was used."
        self.initial.setdefault("bar_check", checks[0].id)

    @property
    def asks_bar(self) -> bool:
        """Whether the low bar has to be chosen: there are several, or the one that was shown was set anew."""
        field = self.fields.get("bar_check")
        return bool(field and (len(field.widget.choices) > 1 or "bar_check" in self.errors))

    def _choose(self, field: str, choices: tuple[tuple[str, str], ...]) -> None:
        self.fields[field].choices = choices  # type: ignore[attr-defined]

    def clean_seconds(self) -> int | None:
        """Return the hold in tenths, cut; a comma is as good as a point."""
        if not self.page.form.is_hold:
            return None
        typed = self.cleaned_data["seconds"].replace(",", ".").removesuffix("s").strip()
        try:
            return cut_to_tenths(typed)
        except HoldLengthError as error:
            raise forms.ValidationError(str(error)) from None

    def clean(self) -> None:
        """Refuse a verdict that contradicts what is ticked, and a form that says nothing of how the try was."""
        verdict, fault = self.cleaned_data.get("verdict"), self.cleaned_data.get("fault")
        marked = self.cleaned_data.get("faults") or self.cleaned_data.get("missed")
        if verdict == CLEAN and marked:
            self.add_error("faults", "“Clean”, and yet something is ticked: untick it, or tap “Store as ticked”.")
        if not verdict and not fault:
            self.add_error(None, "Tap “Clean” or the fault that you saw.")

    def entry(self, *, session_id: UUID, happened_at: datetime) -> AttemptEntry:
        """Return what a valid form says, as the service takes it."""
        said = self.cleaned_data
        seen = {*said["faults"], *([said["fault"]] if said["fault"] else [])}
        return AttemptEntry(
            id=said["id"],
            athlete_id=said["athlete"],
            step_id=self.page.id,
            session_id=session_id,
            happened_at=happened_at,
            source=Attempt.Source(said["source"]),
            result=Result(
                hold_tenths=said["seconds"],
                reps=said["reps"],
                unbroken=not said["broken"],
                assistance=said["assistance"],
                variant=said["variant"],
                faults=tuple(sorted(seen)),
                missed=tuple(said["missed"]),
                effort=said["effort"],
                pain=said["pain"] or bool(said["pain_where"]),
                grade=int(said["grade"] or 0),
                angle_degrees=said.get("angle"),
            ),
            closed_reason=said["closed_reason"],
            bar_check_id=said.get("bar_check"),
            note=". ".join(part for part in (pain_words(said["pain_where"], said["pain_side"]), said["note"]) if part),
        )

    def refuse(self, *mistakes: Mistake) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for mistake in mistakes:
            name = _FIELD_OF_MISTAKE.get(mistake.field, mistake.field)
            field = self.fields.get(name)
            self.add_error(name if field and not field.widget.is_hidden else None, mistake.sentence)


def check_told(check: BarCheck) -> str:
    """Tell a check of today: 'low bar by the door, hole 8, 18:02, Cleo Adeyemi'."""
    hole, at = f", hole {check.hole}" if check.hole else "", localtime(check.happened_at)
    return f"{check.bar}{hole}, {at:%H:%M}, {check.checked_by.person.full_name}"


OTHER = "other"
VOID_REASONS = (
    ("athlete", "Wrong athlete"),
    ("figure", "Wrong time or count"),
    ("verdict", "Clean or fault mis-tapped"),
)


class VoidForm(forms.Form):
    """Why an attempt is taken back: one tap on a usual reason, or other words."""

    why = forms.ChoiceField(choices=[*VOID_REASONS, (OTHER, "Another reason")], label="Why")
    words = forms.CharField(required=False, max_length=200, label="Another reason")

    def clean(self) -> None:
        """Ask for words where none of the usual reasons is it."""
        if self.cleaned_data.get("why") == OTHER and not self.cleaned_data.get("words", "").strip():
            self.add_error("words", "Say in a few words why it is taken back.")

    @property
    def reason(self) -> str:
        """The reason of a valid form, in words."""
        words: str = self.cleaned_data["words"]
        return words if self.cleaned_data["why"] == OTHER else dict(VOID_REASONS)[self.cleaned_data["why"]]
