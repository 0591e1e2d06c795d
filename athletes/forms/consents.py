"""Saying, or writing down, one consent."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, cast

from django import forms

from athletes.forms.base import RefusableForm
from athletes.models import Consent
from gymtrack.lib.ids import new_id

_MOMENT = "%Y-%m-%dT%H:%M"


_NO_EXTENT = [("yes", "agrees"), ("no", "does not agree")]
_EXTENT = [*Consent.Extent.choices, ("no", "does not agree")]


class ConsentForm(RefusableForm):
    """One kind of consent, yes or no, of the board how far; staff say besides when it was said."""

    kind = forms.ChoiceField(choices=Consent.Kind.choices, widget=forms.HiddenInput)
    given = forms.ChoiceField(choices=_NO_EXTENT, label="What was said")
    said_at = forms.DateTimeField(
        required=False,
        input_formats=[_MOMENT, "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        widget=forms.DateTimeInput({"type": "datetime-local"}, format=_MOMENT),
        label="Said on",
        help_text="Left empty, it was said just now.",
    )
    consent_id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, kind: str, data: Mapping[str, Any] | None = None, *, staff: bool) -> None:
        super().__init__(data, initial={"kind": kind}, auto_id=f"consent_{kind}_%s")
        given = cast("forms.ChoiceField", self.fields["given"])
        given.error_messages["required"] = "Say whether they agree."
        if kind == Consent.Kind.BOARD:
            given.choices = _EXTENT
        if not staff:
            del self.fields["said_at"]

    @property
    def as_said(self) -> dict[str, Any]:
        """What a valid form says, by the names of `record_consent`."""
        said = self.cleaned_data
        said_at: datetime | None = said.get("said_at")
        extent = said["given"] if said["given"] in Consent.Extent.values else ""
        return {**said, "given": said["given"] != "no", "extent": extent, "said_at": said_at}
