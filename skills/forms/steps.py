"""A step as a form. What was typed is made into the mapping that a skill file has, and the reader of files judges it.

Lists are rows with buttons of their own: a button is a plain submit, and everything typed comes back with the page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.forms.boundfield import BoundWidget
from django.utils.text import capfirst, slugify

from athletes.models import Load
from skills import wording
from skills.library.changes import first_criterion
from skills.library.reading import read_step
from skills.library.texts import (
    MOST_CODE,
    MOST_ROWS,
    STATIONS,
    TRADE_PRACTICE,
    FileProblem,
    LibraryError,
    SkillText,
    StepText,
)
from skills.models import Step

Values = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class RowKind:
    """A list of a step: its key in files, how its rows are called, and the label of each field of a row."""

    name: str
    title: str
    one: str
    labels: Mapping[str, str]
    help: str = ""
    coded: bool = False

    def widget(self) -> forms.Widget:
        """A box of two lines for sentences, one line for names."""
        long = "text" in self.labels and self.name != "grades"
        return forms.Textarea({"rows": 2}) if long else forms.TextInput({"autocomplete": "off"})

    @property
    def main(self) -> str:
        """The field that names a row."""
        return next(iter(self.labels))


KINDS: Final = {
    kind.name: kind
    for kind in (
        RowKind("cautions", "Cautions", "caution", {"text": "Caution"}, "Read before the first try, at least one."),
        RowKind("set_up", "Set-up", "line", {"text": "Line"}, "How the place is made ready, at least one line."),
        RowKind("checkpoints", "Checkpoints", "checkpoint", {"text": "A clean try shows"}, "At least one.", coded=True),
        RowKind(
            "faults",
            "Faults",
            "fault",
            {"name": "Fault", "cue": "Cue that mends it"},
            "At least one, each with the few words that mend it.",
            coded=True,
        ),
        RowKind(
            "variants",
            "Easier forms that are accepted",
            "form",
            {"name": "Easier form"},
            "Recorded with the try; not a fault.",
            coded=True,
        ),
        RowKind("grades", "Grades", "grade", {"text": "Grade"}, "From the lowest to the highest, if tries are graded."),
    )
}
_FLAGS: Final = ("inverted", "over_bar", "low_bar_check", "side_drill", "asks_clearance", "needs_sign_off")
_DOSE: Final = ("sets", "reps", "hold_seconds", "rest_seconds", "days_a_week")
_PATH: Final = re.compile(r"(\w+)\[(\d+)\](?:\.(\w+))?")


class TypedField(forms.CharField):
    """Keeps what was typed; the reader of files judges it. `required` says what the label says."""

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401 (Django's signature)
        super().__init__(strip=False, **kwargs)

    def clean(self, value: object) -> str:
        """Return it as it is."""
        return "" if value is None else str(value)


class ChosenField(forms.MultipleChoiceField):
    """Keeps what was chosen, in the same way."""

    def clean(self, value: object) -> list[str]:
        """Return it as it is."""
        return [str(one) for one in value] if isinstance(value, list | tuple) else []


class Row(forms.Form):
    """One row of a list."""

    def __init__(self, kind: RowKind, number: int, values: Values) -> None:
        prefix = f"{kind.name}-{number}"
        data = {f"{prefix}-{key}": value for key, value in values.items()}
        super().__init__(data, prefix=prefix, use_required_attribute=False)
        self.kind, self.number, self.values = kind, number, values
        for key, label in kind.labels.items():
            self.fields[key] = TypedField(label=label, widget=kind.widget())
        if kind.name == "faults":
            self.fields["dangerous"] = forms.BooleanField(required=False, label="Dangerous")
        if kind.coded:
            self.fields["code"] = TypedField(widget=forms.HiddenInput)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed."""
        return not any(self.values.get(key, "").strip() for key in self.kind.labels)


class Rows:
    """All rows of one list, with what is wrong with the list as a whole."""

    def __init__(self, kind: RowKind, values: Iterable[Values]) -> None:
        self.kind = kind
        self.rows = [Row(kind, number, row) for number, row in enumerate(values)]
        self.errors: list[str] = []

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    @property
    def filled(self) -> list[Row]:
        """The rows in which something was typed."""
        return [row for row in self.rows if not row.is_blank]

    def edited(self, act: str, number: int) -> Rows:
        """Return the rows after a button: add, remove, up or down; a new one takes the focus."""
        rows: list[Values] = [row.values for row in self.rows]
        if act == "add" and len(rows) < MOST_ROWS:
            rows.append({})
        elif act == "remove" and number < len(rows):
            del rows[number]
        elif act in ("up", "down") and number < len(rows):
            other = min(max(number + (-1 if act == "up" else 1), 0), len(rows) - 1)
            rows[number], rows[other] = rows[other], rows[number]
        after = Rows(self.kind, rows)
        if len(rows) > len(self.rows):
            after.rows[-1].fields[self.kind.main].widget.attrs["autofocus"] = True
        return after

    def data(self, former: Mapping[str, str]) -> list[object]:
        """Return the list as a file has it; `former` are the codes that once had a meaning, with their names."""
        if not self.kind.coded:
            return [row.values["text"] for row in self.filled]
        used = {row.values.get("code", "") for row in self.filled}
        return [self._entry(row, former, used) for row in self.filled]

    def _entry(self, row: Row, former: Mapping[str, str], used: set[str]) -> dict[str, object]:
        entry: dict[str, object] = {"code": row.values.get("code") or _new_code(row, former, used)}
        used.add(str(entry["code"]))
        entry |= {key: row.values.get(key, "") for key in self.kind.labels}
        return entry | ({"dangerous": True} if row.values.get("dangerous") else {})


def _new_code(row: Row, former: Mapping[str, str], used: set[str]) -> str:
    """Return a code made of the name, which no other row has and none had that was called something else."""
    name = row.values.get(row.kind.main, "").strip()
    base = _as_code(name) or row.kind.one
    code, number = base, 2
    while code in used or former.get(code, name) != name:
        code, number = f"{base}-{number}", number + 1
    return code


def _as_code(words: str) -> str:
    return re.sub(r"[_-]+", "-", slugify(words))[: MOST_CODE - 10].strip("-")


class StepTextForm(forms.Form):
    """A new step (without `step`), or all that may be changed of one."""

    code = TypedField(
        required=False,
        label="Code",
        help_text="Small letters, digits and hyphens; it stands in addresses and files and never changes. "
        "Left empty, it is made of the skill and the number.",
    )
    label = TypedField(label="Number", help_text="As on the board: 3 or 3a.")
    name = TypedField(label="Name")
    purpose = TypedField(label="What it teaches", widget=forms.Textarea({"rows": 2}))
    measure = TypedField(
        label="Measured in", widget=forms.Select(choices=(("hold", "holds, by the clock"), ("reps", "reps, counted")))
    )
    angle = TypedField(required=False, label="Angle that is measured", help_text="In words; left empty, none is.")
    station = TypedField(label="Where it is done", widget=forms.Select(choices=Step.Station.choices))
    pose_thigh = TypedField(
        required=False,
        label="Thighs, degrees from straight down",
        help_text="90 is level. Left empty, no pose is held.",
    )
    pose_knee = TypedField(required=False, label="Knees, degrees from straight", help_text="0 is straight.")
    side_drill = forms.BooleanField(required=False, label="A side drill, not on the straight way to the skill")
    inverted = forms.BooleanField(required=False, label="Turns the athlete upside down")
    over_bar = forms.BooleanField(required=False, label="Goes over the bar")
    low_bar_check = forms.BooleanField(required=False, label="Needs today’s check of a low bar, by name")
    asks_clearance = forms.BooleanField(required=False, label="A coach clears each athlete before the first try")
    needs_sign_off = forms.BooleanField(required=False, label="A coach finishes it with a sign-off")
    loads = ChosenField(
        required=False, choices=Load.choices, label="Asks of the body", widget=forms.CheckboxSelectMultiple
    )
    recheck_days = TypedField(
        required=False, label="To be shown again within days", help_text="Left empty, it needs no re-check."
    )
    getting_down = TypedField(required=False, label="Getting down", widget=forms.Textarea({"rows": 3}))
    requires = ChosenField(required=False, label="Comes first", widget=forms.CheckboxSelectMultiple)
    dose_sets = TypedField(label="Sets")
    dose_reps = TypedField(label="Reps in a set")
    dose_hold_seconds = TypedField(required=False, label="Seconds of each hold", help_text="Empty for reps.")
    dose_rest_seconds = TypedField(label="Seconds of rest")
    dose_days_a_week = TypedField(label="Days a week")
    swap_name = TypedField(label="Name of the other drill")
    swap_text = TypedField(label="How it is done", widget=forms.Textarea({"rows": 2}))
    trade_practice = ChosenField(
        required=False,
        choices=[(word, wording.TRADE_PRACTICE.get(word, word)) for word in TRADE_PRACTICE],
        label="Rests on trade practice, without a published source",
        widget=forms.CheckboxSelectMultiple,
    )
    seen = TypedField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Mapping[str, Any],
        *,
        skill: SkillText,
        known: Mapping[str, SkillText],
        step: StepText | None = None,
        former: Mapping[str, Mapping[str, str]] | None = None,
    ) -> None:
        super().__init__(data, auto_id="step_%s", use_required_attribute=False)
        self.skill, self.step, self.former = skill, step, former or {}
        self._groups = [(each.name, [*_choices(each, step)]) for each in known.values()]
        requires = self.fields["requires"]
        assert isinstance(requires, ChosenField)  # noqa: S101 (it was declared so)
        requires.choices = [choice for _, choices in self._groups for choice in choices]
        for name in ("recheck_days", "pose_thigh", "pose_knee", *(f"dose_{key}" for key in _DOSE)):
            self.fields[name].widget.attrs["inputmode"] = "numeric"
        if step is not None:
            del self.fields["code"]
        self.rows = {name: Rows(kind, _sent(kind, data)) for name, kind in KINDS.items()}

    def edit(self, button: str) -> None:
        """Do what a button of a list says, such as "faults:up:1" or "faults:add"."""
        name, _, rest = button.partition(":")
        act, _, number = rest.partition(":")
        if name in self.rows:
            self.rows[name] = self.rows[name].edited(act, int(number) if re.fullmatch("[0-9]{1,3}", number) else 0)

    @property
    def groups(self) -> Iterator[tuple[str, list[BoundWidget], bool]]:
        """The steps that may come first, by skill, and whether one of them is chosen."""
        boxes = iter(self["requires"].subwidgets)
        for name, choices in self._groups:
            group = [next(boxes) for _ in choices]
            if group:
                yield name, group, any(box.data["selected"] for box in group)

    @property
    def status(self) -> int:
        """422 for a form with mistakes."""
        wrong = self.errors or any(rows.errors or any(row.errors for row in rows) for rows in self.rows.values())
        return 422 if wrong else 200

    @property
    def told(self) -> list[tuple[str, str, str]]:
        """Everything that is wrong: where in words, the id to go to, the sentence."""
        found = [("", "", str(error)) for error in self.non_field_errors()]
        for name, errors in self.errors.items():
            if name in self.fields:
                field = self[name]
                place = f"{field.auto_id}_box" if field.use_fieldset else field.id_for_label
                found += [(str(field.label), place, str(error)) for error in errors]
        for rows in self.rows.values():
            found += [(rows.kind.title, rows.kind.name, error) for error in rows.errors]
            for row in rows:
                place = f"{capfirst(rows.kind.one)} {row.number + 1}"
                for name, errors in row.errors.items():
                    found += [(place, row[name].id_for_label, str(error)) for error in errors]
        return found

    def read(self) -> StepText | None:
        """Return the step as it was typed, None with every problem beside its field."""
        self.full_clean()
        try:
            return read_step(self.data_as_in_a_file())
        except LibraryError as error:
            self.place(error.found)
            return None

    def place(self, found: Sequence[FileProblem]) -> None:
        """Put problems beside the fields that they are about."""
        for problem in found:
            row = _PATH.fullmatch(problem.path)
            sentence = capfirst(problem.sentence)
            if row is not None and row[1] in self.rows:
                rows = self.rows[row[1]]
                name = row[3] if row[3] in rows.kind.labels else rows.kind.main
                rows.filled[int(row[2])].add_error(name, sentence)
            elif problem.path in self.rows:
                self.rows[problem.path].errors.append(sentence)
            else:
                self._place_field(problem.path, sentence)

    def _place_field(self, path: str, sentence: str) -> None:
        # A circle has no path: it is closed by what comes first. A pose as a whole is told at its first field.
        whole = {"": "requires", "pose": "pose_thigh"}
        name = whole.get(path) or path.replace("dose.", "dose_").replace("pose.", "pose_").replace(
            "swap_drill.", "swap_"
        )
        if name in self.fields:
            self.add_error(name, sentence)
        else:
            self.add_error(None, f"{path.replace('_', ' ')}: {sentence}")

    def data_as_in_a_file(self) -> dict[str, object]:
        """Return what was typed as a skill file would say it."""
        typed = {name: str(value) for name, value in self.cleaned_data.items() if isinstance(value, str)}
        measure = typed["measure"]
        same = self.step is not None and self.step.measure == measure
        data: dict[str, object] = {
            "code": self.step.code if self.step else self._code(typed),
            **{name: typed[name] for name in ("label", "name", "purpose", "measure", "station")},
            **{name: bool(self.cleaned_data.get(name)) for name in _FLAGS},
            **{name: list(self.cleaned_data[name]) for name in ("loads", "requires", "trade_practice")},
            "recheck_days": _number(typed["recheck_days"]),
            "getting_down": typed["getting_down"] if typed["getting_down"].strip() else None,
            "dose": {name: _number(typed[f"dose_{name}"]) for name in _DOSE},
            "swap_drill": {"name": typed["swap_name"], "text": typed["swap_text"]},
            "criterion": self.step.criterion if self.step and same else first_criterion(measure),
        }
        data |= {name: rows.data(self.former.get(name, {})) for name, rows in self.rows.items()}
        if typed["angle"].strip():
            data["angle"] = typed["angle"]
        if typed["pose_thigh"].strip() or typed["pose_knee"].strip():
            data["pose"] = {name: _number(typed[f"pose_{name}"]) for name in ("thigh", "knee")}
        return data

    def _code(self, typed: Values) -> str:
        return typed["code"].strip() or _as_code(f"{self.skill.skill}-{typed['label']}")


def _choices(skill: SkillText, step: StepText | None) -> Iterator[tuple[str, str]]:
    return ((each.code, f"{each.label} {each.name}") for each in skill.steps if not step or each.code != step.code)


def _number(typed: str) -> object:
    """Return a whole number, None for nothing, and for anything else the text, which the reader refuses."""
    text = typed.strip()
    if not text:
        return None
    return int(text) if re.fullmatch(r"[0-9]{1,18}", text) else text


def _sent(kind: RowKind, data: Mapping[str, Any]) -> Iterator[Values]:
    """Yield the rows of a list that stand in a form's data."""
    count = str(data.get(f"{kind.name}-count", ""))
    keys = (*kind.labels, "code", "dangerous")
    for number in range(min(int(count), MOST_ROWS) if re.fullmatch(r"[0-9]{1,3}", count) else 1):
        names = {key: f"{kind.name}-{number}-{key}" for key in keys}
        yield {key: str(data[name]) for key, name in names.items() if name in data}


def data_of(step: StepText | None, seen: int = 0) -> dict[str, Any]:
    """Return the data of a form that shows a step; a new one begins with one empty row of what is needed."""
    if step is None:
        none = {f"{name}-count": "0" for name in ("variants", "grades")}
        return {"measure": "hold", "recheck_days": "28", "station": STATIONS[0], **none}
    told = ("label", "name", "purpose", "measure", "angle", "station")
    data: dict[str, Any] = {name: getattr(step, name) for name in told}
    if step.pose is not None:
        data |= {"pose_thigh": str(step.pose.thigh_degrees), "pose_knee": str(step.pose.knee_degrees)}
    data |= {name: "on" for name in _FLAGS if getattr(step, name)}
    data |= {name: list(getattr(step, name)) for name in ("loads", "requires", "trade_practice")}
    data |= {f"dose_{name}": _shown(getattr(step.dose, name)) for name in _DOSE}
    data |= {"recheck_days": _shown(step.recheck_days), "getting_down": step.getting_down or ""}
    data |= {"swap_name": step.swap_drill.name, "swap_text": step.swap_drill.text, "seen": str(seen)}
    for name, kind in KINDS.items():
        rows = getattr(step, name)
        data[f"{name}-count"] = str(len(rows))
        for number, row in enumerate(rows):
            for key, value in _row(kind, row).items():
                data[f"{name}-{number}-{key}"] = value
    return data


def _row(kind: RowKind, row: object) -> dict[str, str]:
    if not kind.coded:
        return {"text": str(row)}
    values = {key: str(getattr(row, key)) for key in ("code", *kind.labels)}
    return values | ({"dangerous": "on"} if getattr(row, "dangerous", False) else {})


def _shown(number: int | None) -> str:
    return "" if number is None else str(number)
