"""Planning a class: its lengths, who leads it, and the words of a coach that travel with every button."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django import forms

from athletes.forms.base import RefusableForm
from athletes.models import Membership
from skills.access import may
from skills.core.class_shape import Shape, ShapeProblem, Words
from skills.core.rotation.asks import Apart, Pin
from skills.models import ClassPlan
from skills.queries.kept_plans import WholePlan

_UNLIMITED = "any"
_RESETS = [(str(number), str(number)) for number in range(7)]


def _whole(label: str, help_text: str = "") -> forms.IntegerField:
    widget = forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"})
    field = forms.IntegerField(label=label, help_text=help_text, widget=widget)
    field.error_messages["invalid"] = "Type a whole number."
    return field


class PlanForm(RefusableForm):
    """How long the class is and who leads it. What was fixed before travels along, unseen."""

    minutes = _whole("Length of the class, in minutes")
    warm_up_minutes = _whole("Warm-up, in minutes")
    rotation_minutes = _whole("A rotation, in minutes")
    coaches = _whole("Coaches on the floor", "Who spots does nothing else in that rotation.")
    judges = _whole("Of these, who may sign steps off", "A test is in front of one of them.")
    most_resets = forms.ChoiceField(
        choices=[*_RESETS, (_UNLIMITED, "as often as it is worth")], label="How often bars may be re-set"
    )
    reset_minutes = _whole("Setting a bar takes, in minutes", "At the beginning of its rotation.")
    first_rotation = forms.TypedChoiceField(coerce=int, label="Plan from", required=False, empty_value="0")
    afresh = forms.BooleanField(required=False, label="Plan afresh: nobody need stay where the last plan had them")
    seen = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, initial: Mapping[str, Any], rotations: int, planned: bool
    ) -> None:
        super().__init__(data, initial=dict(initial), auto_id="plan_%s")
        names = [(0, "the beginning"), *((at, f"rotation {at + 1}") for at in range(1, max(rotations, 1)))]
        self.fields["first_rotation"].choices = names  # type: ignore[attr-defined]
        if not planned:
            for name in ("first_rotation", "afresh"):
                self.fields[name].widget = forms.HiddenInput()

    @property
    def shape(self) -> Shape:
        """What a good form says."""
        said = self.cleaned_data
        resets = said["most_resets"]
        return Shape(
            **{name: said[name] for name in _LENGTHS}, most_resets=None if resets == _UNLIMITED else int(resets)
        )

    def clean_first_rotation(self) -> int:
        """Plan from the beginning where nothing is said."""
        return int(self.cleaned_data["first_rotation"])

    @property
    def values(self) -> Mapping[str, Any]:
        """What a good form says, as hidden fields say it again."""
        return self.cleaned_data

    def refuse_all(self, problems: Iterable[ShapeProblem]) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for problem in problems:
            self.add_error(problem.field, problem.sentence)


_LENGTHS = ("minutes", "warm_up_minutes", "rotation_minutes", "reset_minutes", "coaches", "judges")


def first_values(by: Membership, whole: WholePlan | None, last: ClassPlan | None, first: int) -> dict[str, Any]:
    """Return what stands in the form at first: the last plan's lengths, of this class or of the last one of its name.

    Who plans is on the floor, and holds tests where they may sign off.
    """
    usual = Shape(judges=int(may(by, "may_sign_off")))
    values: dict[str, Any] = {name: getattr(usual, name) for name in (*_LENGTHS, "most_resets")}
    if last:
        minutes = last.warm_up_minutes + last.rotations * last.rotation_minutes
        values |= {"minutes": minutes, "warm_up_minutes": last.warm_up_minutes}
        values |= {"rotation_minutes": last.rotation_minutes, "reset_minutes": last.reset_minutes}
    if whole:
        ask = whole.last.ask
        values |= {"coaches": ask.coaches, "judges": ask.judges}
        values["most_resets"] = _UNLIMITED if ask.most_resets is None else ask.most_resets
    return {**values, "first_rotation": first, "seen": whole.last.row.number if whole else 0}


# ---- A coach's words travel with every button; nothing but plans that were made is kept on the server ---------------


Fields = Sequence[tuple[str, str]]


def pin_code(pin: Pin) -> str:
    """Return how a form names a pin: 'person:rotation:station'."""
    return f"{pin.person}:{pin.rotation}:{pin.station}"


def pair_code(pair: Apart) -> str:
    """Return how a form names a pair: 'one:other'."""
    return f"{pair.one}:{pair.other}"


def read_words(pins: Sequence[str], pairs: Sequence[str]) -> Words:
    """Return what hidden fields carry. Raises ValueError."""
    return Words(tuple(_read_pin(code) for code in pins), tuple(_read_pair(code) for code in pairs))


def _read_pin(code: str) -> Pin:
    person, rotation, station = code.split(":")
    return Pin(str(UUID(person)), int(rotation), str(UUID(station)))


def _read_pair(code: str) -> Apart:
    one, other = code.split(":")
    return Apart(str(UUID(one)), str(UUID(other)))


def said_fields(words: Words) -> Fields:
    """Return a coach's words as names and values of hidden fields."""
    pins = [("pin", pin_code(pin)) for pin in words.pins]
    return [*pins, *(("apart", pair_code(pair)) for pair in words.apart)]


def fields_of(values: Mapping[str, Any], words: Words) -> Fields:
    """Return all that a button of the plan sends, as names and values of hidden fields."""
    told = [(name, str(value)) for name, value in values.items() if value is not None and value is not False]
    return [*told, *said_fields(words)]
