"""What an owner asks about a month of classes."""

from __future__ import annotations

from typing import Any, Final

from django import forms

from skills.core.rotation.what_if import Change, NothingToChangeError
from skills.showing.what_ifs import WORDS

_HELP: Final = {
    "low_bar": "Like the first one among the stations: as many people at a time, the same holes and steps.",
    "people": "Of every three people one is counted twice, as if somebody like them were there too.",
    "coach": "The second one may spot and judge as the first one does.",
}


class WhatIfForm(forms.Form):
    """Any of the three, together; at least one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (as Django has it)
        super().__init__(*args, **kwargs)
        for name, words in WORDS.items():
            label = words[0].upper() + words[1:]
            self.fields[name] = forms.BooleanField(label=label, help_text=_HELP[name], required=False)

    def clean(self) -> dict[str, Any]:
        """Say where nothing was chosen."""
        try:
            Change(**self.cleaned_data)
        except NothingToChangeError as error:
            self.add_error(None, str(error))
        return self.cleaned_data

    def as_change(self) -> Change:
        """Return what a valid form asks."""
        return Change(**self.cleaned_data)
