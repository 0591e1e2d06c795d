"""Writing down a bar, and saying how it was found set."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django import forms

from athletes.forms.base import RefusableForm
from athletes.forms.measures import MeasureField
from athletes.models import Athlete
from gymtrack.lib.ids import new_id
from gymtrack.lib.units import IMPERIAL, format_setting, format_size, parse_size_mm
from skills.core.bar_entry import NAME_LENGTH, BarEntry, BarProblem, is_unusual
from skills.forms.sessions import BarCheckForm
from skills.models import Bar
from skills.queries.bars import place_of

_TENTHS: Final = ("diameter_tenths_mm", "hole_pitch_tenths_mm")
_SIZES: Final = (
    *_TENTHS, "height_mm", "first_hole_mm", "ceiling_mm", "clear_front_mm", "clear_behind_mm", "mat_mm",
)  # fmt: skip


class SizeField(MeasureField):
    """A size of a thing, with its unit; tenths of a millimetre inside. Its range is for the service to say."""

    def __init__(self, *, label: str, says: str, examples: tuple[str, str], small: bool = False) -> None:
        super().__init__(label=label)
        self._says, self._examples = says, examples
        self._format: Callable[[Decimal, str], str] = format_size if small else _format_setting

    def speak(self, units: str) -> None:
        """Use the gym's units from now on."""
        self.units = units
        self.help_text = f"{self._says} Like {self._examples[units == IMPERIAL]}.".strip()

    def parse(self, text: str) -> Decimal:
        """Read millimetres."""
        return parse_size_mm(text)

    def written(self, value: Decimal) -> str:
        """Write in the gym's units."""
        return self._format(value, self.units)

    def problem(self, _value: Decimal) -> str:
        """Nothing can be said before the others are known."""
        return ""


def _format_setting(mm: Decimal, units: str) -> str:
    return format_setting(round(mm), units)


class BarForm(RefusableForm):
    """A bar of the gym: at one height, or in holes. What nobody has measured is left empty, and never taken as free."""

    name = forms.CharField(
        max_length=NAME_LENGTH,
        label="Name",
        help_text="As it is called in your gym.",
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    kind = forms.ChoiceField(choices=Bar.Kind.choices, label="Kind")
    diameter_tenths_mm = SizeField(label="Diameter", says="", examples=("28 mm", "1 1/4 in"), small=True)
    confirmed = forms.BooleanField(required=False, label="It was measured, and it is that thick")
    height_mm = SizeField(
        label="Height, of a bar that stays where it is",
        says="Floor to the top of the bar, mats not counted.",
        examples=("255 cm", "100 in"),
    )
    first_hole_mm = SizeField(
        label="Height in the lowest hole",
        says="Floor to the top of the bar when it is set into it.",
        examples=("60 cm", "24 in"),
    )
    hole_pitch_tenths_mm = SizeField(
        label="From hole to hole",
        says="Centre to centre; measure over ten and divide, since 2 in is not 50 mm.",
        examples=("50 mm", "2 in"),
        small=True,
    )
    holes = forms.IntegerField(
        required=False,
        label="How many holes",
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    ceiling_mm = SizeField(
        label="Floor to what is above",
        says="The ceiling, a higher bar, or what hangs from it: the lowest of them.",
        examples=("3.40 m", "134 in"),
    )
    clear_front_mm = SizeField(
        label="In front: bar to the next bar or wall", says="Level, where legs swing up.", examples=("150 cm", "60 in")
    )
    clear_behind_mm = SizeField(
        label="Behind: bar to the next bar or wall", says="Level, where legs swing back.", examples=("150 cm", "60 in")
    )
    mat_mm = SizeField(label="Mat beneath", says="How thick; empty for none.", examples=("20 mm", "3/4 in"), small=True)
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(self, data: Mapping[str, Any] | None = None, *, units: str, bar: Bar | None = None) -> None:
        super().__init__(data, initial=_stored(bar) if bar else None)
        self.fields["diameter_tenths_mm"].required = True
        self.fields["diameter_tenths_mm"].error_messages["required"] = "Say how thick the bar is."
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.speak(units)

    @property
    def asks_thickness(self) -> bool:
        """Whether the diameter that was typed, or stands, is to be confirmed."""
        typed = getattr(self, "cleaned_data", self.initial).get("diameter_tenths_mm")
        return typed is not None and is_unusual(round(typed * 10))

    def clean(self) -> None:
        """Ask to confirm a thickness that is unusual."""
        is_new = "diameter_tenths_mm" in self.changed_data
        if self.asks_thickness and is_new and not self.cleaned_data.get("confirmed"):
            self.add_error(
                "confirmed", "Most bars to hang on are 25 to 45 mm thick: measure again, and tick if it is so."
            )

    @property
    def entry(self) -> BarEntry:
        """What a good form says; a figure that was not touched is the stored one, not the rounded one shown."""
        said = {
            field: self.cleaned_data.get(field) if field in self.changed_data else self.initial.get(field)
            for field in _SIZES
        }
        figures = {
            field: None if mm is None else round(mm * 10) if field in _TENTHS else round(mm)
            for field, mm in said.items()
        }
        return BarEntry(
            name=" ".join(self.cleaned_data["name"].split()),
            kind=self.cleaned_data["kind"],
            holes=self.cleaned_data["holes"],
            **{**figures, "mat_mm": figures["mat_mm"] or 0},  # type: ignore[arg-type] # the diameter is required
        )

    def refuse_all(self, problems: Iterable[BarProblem]) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for problem in problems:
            self.add_error(problem.field, problem.sentence)


def _stored(bar: Bar) -> dict[str, Any]:
    sizes = {field: getattr(bar, field) for field in _SIZES}
    written = {
        field: None if value is None else Decimal(value) / 10 if field in _TENTHS else Decimal(value)
        for field, value in sizes.items()
    }
    return {"name": bar.name, "kind": bar.kind, "holes": bar.holes, **written}


def settings_of(bars: Sequence[Bar], units: str) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the choices of a select: each way in which each of these bars can stand, in one group a bar."""
    return [
        (
            bar.name,
            [
                (
                    setting_code(bar.id, each.hole),
                    f"{_hole(each.hole)}{format_setting(each.top_mm, units)} · {bar.name}",
                )
                for each in place_of(bar).settings
            ],
        )
        for bar in bars
    ]


def _hole(hole: int | None) -> str:
    return f"hole {hole}: " if hole else ""


def setting_code(bar_id: UUID, hole: int | None) -> str:
    """Return how a form names a bar in a hole: 'uuid:8', or 'uuid:' for a bar at one height."""
    return f"{bar_id}:{hole or ''}"


def read_setting(code: str) -> tuple[UUID, int | None]:
    """Return the bar and the hole of a code that `setting_code` made."""
    bar_id, _, hole = code.partition(":")
    return UUID(bar_id), int(hole) if hole else None


class BarSetForm(BarCheckForm):
    """One bar of the list, set into a hole and looked over."""

    session = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        bar: Bar,
        units: str,
        hole: int | None = None,
        session_id: str = "",
    ) -> None:
        ((_, named),) = settings_of([bar], units)
        choices = [(code, words.partition(" · ")[0]) for code, words in named]
        chosen = setting_code(bar.id, hole) if hole or bar.holes is None else ""
        super().__init__(data, {"setting": chosen, "session": session_id}, settings=choices)
        del self.fields["bar"]
        del self.fields["athlete"]
        field = self.fields["setting"]
        field.choices = choices if bar.holes is None else [("", "Choose the hole"), *choices]  # type: ignore[attr-defined]
        field.required, field.label = True, "How it stands now"
        field.error_messages["required"] = "Say into which hole it was set."


class ShareForm(forms.Form):
    """Who shares which bar."""

    bar = forms.ChoiceField(label="Which bar")
    who = forms.MultipleChoiceField(label="Who shares it", widget=forms.CheckboxSelectMultiple)

    def __init__(
        self, data: Mapping[str, Any] | None, *, bars: Sequence[Bar], athletes: Sequence[tuple[Athlete, str]]
    ) -> None:
        super().__init__(data, auto_id="share_%s")
        self.fields["bar"].choices = [(str(bar.id), bar.name) for bar in bars]  # type: ignore[attr-defined]
        self.fields["who"].choices = [(str(athlete.id), name) for athlete, name in athletes]  # type: ignore[attr-defined]
        self.fields["who"].error_messages["required"] = "Tick who shares the bar."
