"""Correcting what was just logged: another word on it, or another athlete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from skills.core.entries import MOST_DEGREES, Result


class MendForm(forms.Form):
    """One word more on an attempt: a fault, a checkpoint that was not shown, that it was clean, or its angle.

    `id` is that of the attempt that takes its place; it comes with the page, so that sent twice is one mend.
    """

    id = forms.UUIDField()
    fault = forms.CharField(required=False)
    missed = forms.CharField(required=False)
    was_clean = forms.BooleanField(required=False)
    angle = forms.IntegerField(required=False, min_value=0, max_value=MOST_DEGREES, label="Angle in degrees")

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


class MoveForm(forms.Form):
    """For whom an attempt is entered again; a reason where the step is not open to them."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    athlete = forms.UUIDField(widget=forms.HiddenInput)
    closed_reason = forms.CharField(required=False, max_length=200, label="Why this step is tried before it is open")

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id="move_%s")
