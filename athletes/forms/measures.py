"""Stature and mass as people write them; metres and kilograms inside."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from django import forms

from athletes.core.refusal import Refusal
from athletes.core.roster import MASS_KG, STATURE_M, mass_problem, stature_problem
from athletes.forms.base import RefusableForm
from athletes.models import Athlete, Gym
from athletes.services.measures import BodyEntry
from gymtrack.lib.ids import new_id
from gymtrack.lib.units import (
    IMPERIAL,
    NotAMeasure,
    format_length,
    format_mass,
    parse_length_m,
    parse_mass_kg,
)


class MeasureField(forms.Field):
    """A figure with its unit, optional. `units` are the gym's; its form sets them."""

    units: str = Gym.Units.METRIC
    examples: ClassVar[dict[str, str]] = {}

    def __init__(self, *, label: str) -> None:
        super().__init__(label=label, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"}))

    def speak(self, units: str) -> None:
        """Use the gym's units from now on."""
        self.units = units
        self.help_text = self.examples["imperial" if units == IMPERIAL else "metric"]

    def parse(self, text: str) -> Decimal:
        """Read a figure into SI; raises NotAMeasure."""
        raise NotImplementedError

    def written(self, value: Decimal) -> str:
        """Write an SI value in the gym's units."""
        raise NotImplementedError

    def problem(self, value: Decimal) -> str:
        """Say what is wrong with a value, or ''."""
        raise NotImplementedError

    def to_python(self, value: Any) -> Decimal | None:  # noqa: ANN401 (Django's signature)
        """Return the SI value of what was typed, None for nothing."""
        text = str(value or "").strip()
        if not text:
            return None
        try:
            figure = self.parse(text)
        except NotAMeasure as error:
            raise forms.ValidationError(str(error)) from error
        if sentence := self.problem(figure):
            raise forms.ValidationError(sentence)
        return figure

    def prepare_value(self, value: Any) -> Any:  # noqa: ANN401 (Django's signature)
        """Write a stored value; leave what was typed as it is."""
        return self.written(value) if isinstance(value, Decimal) else value

    def has_changed(self, initial: Any, data: Any) -> bool:  # noqa: ANN401 (Django's signature)
        """Whether another figure was typed than the one that was shown, which may be rounded."""
        return (self.prepare_value(initial) or "") != str(data or "").strip()


class StatureField(MeasureField):
    """A stature; metres inside."""

    examples: ClassVar = {"metric": "Like 1.72 m.", "imperial": "Like 5 ft 8 in."}

    def parse(self, text: str) -> Decimal:
        """Read metres."""
        return parse_length_m(text)

    def written(self, value: Decimal) -> str:
        """Write metres, or feet and inches."""
        return format_length(value, self.units)

    def problem(self, value: Decimal) -> str:
        """Hold against what is possible."""
        least, most = (format_length(limit, self.units) for limit in STATURE_M)
        return f"A stature is between {least} and {most}." if stature_problem(value) else ""


class BodyHeightField(MeasureField):
    """A height above the floor of a part of the body; metres inside. Its range hangs on the stature."""

    def __init__(self, *, label: str, help_text: str, like: tuple[str, str]) -> None:
        super().__init__(label=label)
        self._says, self._like = help_text, like

    def speak(self, units: str) -> None:
        """Use the gym's units from now on."""
        self.units = units
        self.help_text = f"{self._says} Like {self._like[units == IMPERIAL]}."

    def parse(self, text: str) -> Decimal:
        """Read metres."""
        return parse_length_m(text)

    def written(self, value: Decimal) -> str:
        """Write metres, or feet and inches."""
        return format_length(value, self.units)

    def problem(self, _value: Decimal) -> str:
        """Nothing can be said without the stature."""
        return ""


class MassField(MeasureField):
    """A mass; kilograms inside."""

    examples: ClassVar = {
        "metric": "Like 68.5 kg. Not taken of a minor.",
        "imperial": "Like 150 lb. Not taken of a minor.",
    }

    def parse(self, text: str) -> Decimal:
        """Read kilograms."""
        return parse_mass_kg(text, self.units)

    def written(self, value: Decimal) -> str:
        """Write kilograms or pounds."""
        return format_mass(value, self.units)

    def problem(self, value: Decimal) -> str:
        """Hold against what is possible."""
        least, most = (format_mass(limit, self.units) for limit in MASS_KG)
        return f"A mass is between {least} and {most}." if mass_problem(value) else ""


class BodyForm(RefusableForm):
    """A body as it was measured on a day; only what was measured is filled in. A minor's mass is not asked for."""

    measured_on = forms.DateField(
        label="Measured on",
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": "This is no date; write it like 2011-05-30."},
    )
    stature = StatureField(label="Stature")
    chest = BodyHeightField(label="Chest", help_text="Floor to the nipples.", like=("1.27 m", "4 ft 2 in"))
    armpit = BodyHeightField(
        label="Armpit", help_text="Floor to the armpit, arms hanging.", like=("1.34 m", "4 ft 5 in")
    )
    reach = BodyHeightField(
        label="Reach",
        help_text="Floor to a stick gripped with both arms stretched overhead.",
        like=("2.08 m", "6 ft 10 in"),
    )
    mass = MassField(label="Mass")
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, data: Mapping[str, Any] | None = None, *, athlete: Athlete, today: date) -> None:
        super().__init__(data, initial={"measured_on": today})
        if athlete.is_minor():
            del self.fields["mass"]
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.speak(athlete.gym.units)

    @property
    def entry(self) -> BodyEntry:
        """What a good form says."""
        said = self.cleaned_data
        return BodyEntry(
            measured_on=said["measured_on"],
            stature_m=said["stature"],
            mass_kg=said.get("mass"),
            chest_m=said["chest"],
            armpit_m=said["armpit"],
            reach_m=said["reach"],
            id=said["id"],
        )

    def field_of(self, refusal: Refusal) -> str:
        """Return the field of a refusal; a minor has no field for the mass."""
        return refusal.field if refusal.field in self.fields else ""
