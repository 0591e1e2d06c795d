"""A name for a tablet, and a coach's own code."""

from __future__ import annotations

from django import forms

from athletes.core.tablets import COACH_CODE_DIGITS
from athletes.forms.base import RefusableForm
from athletes.services.tablets import NAME_LENGTH


class TabletForm(RefusableForm):
    """The name of a tablet."""

    name = forms.CharField(
        label="Name of the tablet",
        max_length=NAME_LENGTH,
        help_text="Where it hangs or what it looks like, so that you know it again.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class CodeForm(RefusableForm):
    """The code by which one takes a tablet over."""

    code = forms.CharField(
        label="New code",
        max_length=COACH_CODE_DIGITS,
        help_text="Six digits. No run such as 123456, nothing that repeats, and nothing that others know of you.",
        # Readable: it is typed once, on one's own device.
        widget=forms.TextInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
    )
