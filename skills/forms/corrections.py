"""Correcting what was just logged: another word on it, or another athlete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from skills.core.entries import ANGLE_SENTENCE, MOST_DEGREES, Result

STILL = "still"
_READ_ON = [("", ""), (STILL, STILL)]


class MendForm(forms.Form):
    """One word more on an attempt: a fault, a checkpoint that was not shown, that it was clean, or its angle.

    `id` is that of the attempt that takes its place; it comes with the page, so that sent twice is one mend.
    """

    id = forms.UUIDField()
    fault = forms.CharField(required=False)
    missed = forms.CharField(required=False)
    was_clean = forms.BooleanField(required=False)
    angle = forms.IntegerField(required=False, min_value=0, max_value=MOST_DEGREES, label="Angle in degrees")
    read_on = forms.ChoiceField(choices=_READ_ON, required=False)

    @property
    def is_read_on_still(self) -> bool:
        """Whether the angle of a valid form was read on a picture."""
        return self.cleaned_data["angle"] is not None and self.cleaned_data["read_on"] == STILL

    def mended(self, result: Result) -> Result:
        """Return the result with what a valid form says of it."""
        said = self.cleaned_data
        if said["was_clean"]:
            return replace(result, faults=(), missed=())
        return replace(
            result,
            faults=_with(result.faults, said["fault"]),
            missed=_with(result.missed, said["missed"]),
            angle_degrees=result.angle_degrees if said["angle"] is None else said["angle"],
        )


def _with(codes: tuple[str, ...], code: str) -> tuple[str, ...]:
    return tuple(sorted({*codes, code} - {""}))


class AngleForm(forms.Form):
    """The angle of a stored attempt. Only the number is sent: a picture that it was read on stays on the device."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    read_on = forms.ChoiceField(choices=_READ_ON, required=False, widget=forms.HiddenInput)
    angle = forms.IntegerField(
        min_value=0,
        max_value=MOST_DEGREES,
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), ANGLE_SENTENCE),
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )

    def __init__(
        self, words: str, data: Mapping[str, Any] | None = None, initial: dict[str, Any] | None = None
    ) -> None:
        super().__init__(data, initial=initial, auto_id="angle_%s")
        self.fields["angle"].label = f"Angle in degrees: {words}"

    @property
    def is_read_on_still(self) -> bool:
        """Whether the angle of a valid form was read on a picture."""
        return bool(self.cleaned_data["read_on"] == STILL)

    def measured(self, result: Result) -> Result:
        """Return the result with the angle of a valid form."""
        return replace(result, angle_degrees=self.cleaned_data["angle"])


class MoveForm(forms.Form):
    """For whom an attempt is entered again; a reason where the step is not open to them."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    athlete = forms.UUIDField(widget=forms.HiddenInput)
    closed_reason = forms.CharField(required=False, max_length=200, label="Why this step is tried before it is open")

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="move_%s")
