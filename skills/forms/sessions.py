"""Forms around a training session: starting one, and looking over a low bar."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django import forms

from gymtrack.lib.ids import new_id
from skills.queries.books import Book

_HALF_HOUR = 30


def usual_name(now: datetime) -> str:
    """Return a name for a session that starts about now, `now` in the gym's zone: 'Monday 18:00 class'."""
    minutes = round((now.hour * 60 + now.minute) / _HALF_HOUR) * _HALF_HOUR
    start = now.replace(hour=0, minute=0) + timedelta(minutes=minutes)
    return f"{start:%A %H:%M} class"


def steps_by_skill(book: Book, *, empty: str) -> list[tuple[str, object]]:
    """Return the choices of a select: the empty one, then the steps in one group a skill."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for page in book.steps.values():
        groups.setdefault(page.skill_name, []).append((str(page.id), f"{page.label} {page.name}"))
    return [("", empty), *groups.items()]


class StartForm(forms.Form):
    """A session that starts now; the focus is the step that everybody works on who may."""

    name = forms.CharField(max_length=80, label="Name of the class")
    focus = forms.ChoiceField(required=False, label="Step for everybody who may work on it")
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(
        self, book: Book, data: Mapping[str, Any] | None = None, initial: dict[str, Any] | None = None
    ) -> None:
        super().__init__(data, initial=initial, auto_id="start_%s")
        self.fields["focus"].choices = steps_by_skill(book, empty="none: each their own next step")  # type: ignore[attr-defined]

    @property
    def focus_id(self) -> UUID | None:
        """The id of the focus step of a valid form, if one was chosen."""
        return UUID(self.cleaned_data["focus"]) if self.cleaned_data["focus"] else None


LOW_BAR_CHECKS = (
    ("tied", "The bar is tied down at both hooks."),
    ("unloaded", "There is no load on the bar."),
    ("anchored", "The rig is anchored."),
    ("clear", "Nothing above or behind is within reach of a turning body."),
    ("mat", "The mat lies where the athlete comes down."),
)


class BarCheckForm(forms.Form):
    """A low bar looked over now: one of the gym's list as it was set, or another by name.

    Every line has to be ticked: one that is not true keeps the bar shut. `settings` are the ways in which the bars of
    the list can stand, in groups, as `skills.forms.bars.settings_of` gives them.
    """

    setting = forms.ChoiceField(required=False, label="Which bar, and into which hole it was set")
    bar = forms.CharField(
        required=False,
        max_length=60,
        label="Which bar",
        widget=forms.TextInput({"list": "bars", "autocomplete": "off"}),
    )
    looked_over = forms.MultipleChoiceField(
        choices=LOW_BAR_CHECKS, widget=forms.CheckboxSelectMultiple, label="Looked over just now"
    )
    athlete = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        initial: dict[str, Any] | None = None,
        *,
        settings: Sequence[tuple[str, object]] = (),
    ) -> None:
        super().__init__(data, initial=initial, auto_id="bar_%s")
        self.fields["looked_over"].error_messages["required"] = "Look the bar over and tick every line."
        if settings:
            self.fields["setting"].choices = [("", "another bar, named below"), *settings]  # type: ignore[attr-defined]
            self.fields["bar"].label = "Another bar, by name"
        else:
            del self.fields["setting"]
            self.fields["bar"].required = True
            self.fields["bar"].error_messages["required"] = _NAME_IT

    def clean(self) -> None:
        """Refuse a check of no bar, and of two."""
        setting, name = self.cleaned_data.get("setting"), self.cleaned_data.get("bar")
        if "setting" in self.fields and "setting" not in self.errors and not setting and not name:
            self.add_error("setting", "Choose the bar and its hole, or name another bar.")
        if setting and name:
            self.add_error("bar", "A check is of one bar: choose it above, or name another one.")

    def clean_looked_over(self) -> list[str]:
        """Refuse a check that leaves a line out."""
        ticked: list[str] = self.cleaned_data["looked_over"]
        missing = [text for code, text in LOW_BAR_CHECKS if code not in ticked]
        if missing:
            raise forms.ValidationError(f"Not ticked yet: {' '.join(missing)} The bar stays shut until all is so.")
        return ticked


_NAME_IT = "Name the bar, as it is called in your gym."
