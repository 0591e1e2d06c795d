"""Asking for erasure, and an owner's answer."""

from __future__ import annotations

from django import forms

from athletes.forms.base import RefusableForm


class SureForm(RefusableForm):
    """A tick that says: I know that this cannot be undone."""

    sure = forms.BooleanField(label="I know that this cannot be undone.")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sure"].error_messages["required"] = "Tick that you know that it cannot be undone."


class RefusalForm(RefusableForm):
    """Why a request is refused."""

    reason = forms.CharField(
        label="Why not",
        max_length=2000,
        widget=forms.Textarea({"rows": 3}),
        help_text="Who asked reads it. In most places only a duty that the law puts on you is a reason.",
    )
