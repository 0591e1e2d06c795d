"""The fields of one condition of a criterion, named by its place: `c-0-seconds` is the seconds of `c-0`."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.utils.datastructures import MultiValueDict

from skills import wording
from skills.core.criterion_edits import FLAGS, LISTS, YES, Draft, Place
from skills.core.criterion_fit import Fit
from skills.core.entries import ASSISTANCES
from skills.queries.books import Book, StepPage
from skills.queries.criteria import step_name

ROOT: Final = "c"
_KINDS: Final[Mapping[str, str]] = {
    "holds": "holds of some length",
    "reps": "sets of reps",
    "best": "one best try",
    "last": "clean tries out of the last",
    "reliability": "a reliable rate of good tries",
    "angle": "a measured angle",
    "step": "another step is passed",
}
_GROUP_KINDS: Final[Mapping[str, str]] = {
    "all": "all of these",
    "any": "any one of these",
    "at_least": "at least so many of these",
}
_LABELS: Final[Mapping[str, str]] = {
    "seconds": "Seconds, at least",
    "reps": "Reps in a set, at least",
    "unbroken": "In one go, without letting go",
    "good": "Clean tries",
    "of": "Out of the last",
    "percent": "Per cent, at least",
    "confidence": "How sure, in per cent",
    "bound": "The angle is",
    "degrees": "Degrees",
    "target": "One try shows",
    "step": "Step",
    "sessions": "In so many sessions",
    "dates": "On so many days",
    "clean": "Only clean tries",
    "window_days": "Within so many days",
    "grade_at_least": "Lowest grade",
    "variants": "Easier variants count too",
    "assistance": "Help allowed",
    "who": "Whose entries count",
}
_COUNTS: Final[Mapping[str, str]] = {
    "holds": "How many holds",
    "reps": "How many sets",
    "angle": "How many tries",
    "at_least": "How many of these",
}
_EMPTY_MEANS: Final[Mapping[tuple[str, str], str]] = {
    ("reliability", "of"): "Empty: all tries.",
    ("angle", "seconds"): "Empty: the angle need not be held.",
}
_CLEARANCE_HELP: Final = (
    "This step asks for a clearance: only tries that a coach judged count, whatever is ticked here."
)


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a condition must know besides itself: the step that it is for, and the field or button to be focused."""

    book: Book
    page: StepPage
    fit: Fit
    focus: str


def place_name(place: Place) -> str:
    """Return the name of a place: `c` of the root, `c-0` of its first part."""
    return "-".join([ROOT, *map(str, place)])


class _KindSelect(forms.Select):
    """Kinds of conditions; those that the step has no use for are seen and cannot be chosen."""

    shut: frozenset[str] = frozenset()

    def create_option(self, *args: Any, **kwargs: Any) -> dict[str, Any]:  # noqa: ANN401 (as Django has it)
        option = super().create_option(*args, **kwargs)
        if option["value"] in self.shut and not option["selected"]:
            option["attrs"]["disabled"] = True
        return option


class ConditionForm(forms.Form):
    """The fields of one condition. It takes every text: what is wrong is told by the core, with its place."""

    def __init__(self, draft: Draft, place: Place, at: Surroundings, wrong: Mapping[str, list[str]]) -> None:
        self.draft, self.at, self.page = draft, at, at.page
        self.name = name = place_name(place)
        texts = {f"{name}-{key}": [*texts] for key, texts in draft.typed.items()} | {f"{name}-word": [draft.word]}
        super().__init__(MultiValueDict(texts), prefix=name, auto_id="%s")
        self._add("word", "Kind", self._kinds())
        for key in draft.fields:
            self._add(key, self._label(key), self._widget(key))
        for key in draft.typed.keys() - self.fields.keys():
            self.fields[key] = forms.Field(required=False, widget=forms.MultipleHiddenInput)
        self.full_clean()
        for key, sentences in wrong.items():
            self.add_error(key or "word", [_said(draft, key, sentence) for sentence in sentences])

    def _add(self, key: str, label: str, widget: forms.Widget) -> None:
        help_text = self._help(key)
        ids = [f"{self.name}-{key}_helptext"] if help_text else []
        widget.attrs["aria-describedby"] = " ".join([*ids, f"{self.name}-{key}-wrong"])
        if f"{self.name}-{key}" == self.at.focus:
            widget.attrs["autofocus"] = True
        self.fields[key] = forms.Field(required=False, label=label, widget=widget, help_text=help_text)

    def _label(self, key: str) -> str:
        return _COUNTS[self.draft.word] if key == "count" else _LABELS[key]

    def _help(self, key: str) -> str:
        if key == "who" and self.at.fit.rules.steps[self.page.code].asks_clearance:
            return _CLEARANCE_HELP
        if key == "degrees" and self.page.form.angle:
            return f"The angle: {self.page.form.angle}."
        return _EMPTY_MEANS.get((self.draft.word, key), "")

    def _kinds(self) -> forms.Widget:
        if self.draft.is_group:
            return forms.Select(choices=[*_GROUP_KINDS.items()], attrs={"data-kind": True})
        why = _unfit_kinds(self.page)
        labels = [(word, f"{label} ({why[word]})" if word in why else label) for word, label in _KINDS.items()]
        widget = _KindSelect(choices=_with_typed(labels, [self.draft.word]), attrs={"data-kind": True})
        widget.shut = frozenset(why)
        return widget

    def _widget(self, key: str) -> forms.Widget:
        typed = [text for text in self.draft.typed.get(key, ()) if text]
        if key in FLAGS:
            return forms.CheckboxInput({"value": YES})
        if key in LISTS:
            choices = [(code, wording.ASSISTANCES[code]) for code in ASSISTANCES]
            return forms.CheckboxSelectMultiple(
                choices=_with_typed([*wording.SOURCES.items()] if key == "who" else choices, typed)
            )
        if key == "target" and typed == [target_of(self.page)]:
            return forms.HiddenInput()
        if key == "grade_at_least" and not self.page.grades and self.draft.text(key) in ("", "0"):
            return forms.HiddenInput()
        if key in ("target", "confidence", "bound", "step", "grade_at_least"):
            shown: dict[str, object] = {"data-kind": True} if key == "target" else {}
            return forms.Select(choices=_with_typed(self._choices(key), typed), attrs=shown)
        mode = "decimal" if key == "seconds" else "numeric"
        return forms.TextInput({"inputmode": mode, "autocomplete": "off"})

    def _choices(self, key: str) -> list[tuple[str, Any]]:
        match key:
            case "target":
                return [("seconds", "a hold"), ("reps", "a set of reps")]
            case "confidence":
                return [("80", "80 %"), ("90", "90 %"), ("95", "95 %")]
            case "bound":
                return [("at_least", "at least"), ("at_most", "at most")]
            case "step":
                return [("", "Choose a step"), *_steps_by_skill(self.at.book, self.page)]
            case _:
                grades = ((str(rank), name) for rank, name in enumerate(self.page.grades, start=1))
                return [("0", "any, or not graded"), *grades]


def target_of(page: StepPage) -> str:
    """Return what one try at the step shows, "seconds" or "reps"."""
    return "seconds" if page.form.is_hold else "reps"


def _unfit_kinds(page: StepPage) -> dict[str, str]:
    why = {"reps": "this step is held"} if page.form.is_hold else {"holds": "this step is counted in reps"}
    return why if page.form.angle else {**why, "angle": "this step measures none"}


def _with_typed(choices: list[tuple[str, Any]], typed: Iterable[str]) -> list[tuple[str, Any]]:
    """Return the choices, and what was typed besides them: it is wrong, and is not lost."""
    known = {value for value, _ in choices} | {
        value for _, inner in choices if isinstance(inner, list) for value, _ in inner
    }
    return [*choices, *((text, text) for text in typed if text not in known)]


def _steps_by_skill(book: Book, page: StepPage) -> list[tuple[str, list[tuple[str, str]]]]:
    skills: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for code, other in book.steps.items():
        if code != page.code:
            skills[other.skill_name].append((code, step_name(book, code)))
    return [*skills.items()]


def _said(draft: Draft, key: str, sentence: str) -> str:
    """Return a mistake as a form says it: ticks and choices are not written."""
    if key in LISTS and not any(draft.typed.get(key, ())):
        return "Tick at least one."
    if key == "step" and not draft.text("step").strip():
        return "Choose a step."
    if key == "" and draft.is_group and not draft.parts:
        return "Nothing stands in this group: add a condition, or remove the group."
    if key == "" and draft.word not in {*_KINDS, *_GROUP_KINDS}:
        return "Choose what kind of condition this is."
    return sentence
