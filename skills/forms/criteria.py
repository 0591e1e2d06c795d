"""The editor of a criterion. The whole draft travels in the form: each field is named by the place of its condition.

`c` is the root, `c-0` its first part; `c-0-seconds` the seconds typed there. A field that was on the page is always
sent, a tick by an empty text before it, so that what is missing is known from what is unticked.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from django.forms.boundfield import BoundField
from django.http import QueryDict

from skills import rule_words, wording
from skills.core import criterion_edits as edits
from skills.core.criteria import Criterion, CriterionError, canonical, parse, problems
from skills.core.criterion_edits import FIELDS, GROUPS, USUAL, Draft, Place
from skills.core.criterion_fit import misfits
from skills.core.criterion_form import MOST_LEAVES, MOST_LEVELS
from skills.core.standards import Standard, standards_for
from skills.forms.conditions import ROOT, ConditionForm, Surroundings, place_name, target_of
from skills.queries.books import Book, StepPage
from skills.queries.criteria import fit_of

Found = dict[Place, dict[str, list[str]]]

_PLACE = r"c((?:-[0-9]{1,3}){0,8})"
_FIELD: Final = re.compile(rf"{_PLACE}-([a-z_]+)")
_BUTTON: Final = re.compile(rf"([a-z]+):{_PLACE}")
_MORE: Final = ("window_days", "grade_at_least", "variants", "assistance", "who")
_STANDARDS: Final = {"first": "First standard", "full": "Full standard"}


# ---- What was sent ------------------------------------------------------------------------------------------------


def draft_sent(data: QueryDict) -> Draft | None:
    """Return the draft that a form holds, None where it holds no condition."""
    typed: defaultdict[Place, dict[str, tuple[str, ...]]] = defaultdict(dict)
    for key in data:
        found = _FIELD.fullmatch(key)
        if found and found[2] in {"word", *FIELDS}:
            typed[_place(found[1])][found[2]] = tuple(data.getlist(key))
    parts: defaultdict[Place, list[Place]] = defaultdict(list)
    for place in sorted(place for place, texts in typed.items() if place and "word" in texts):
        parts[place[:-1]].append(place)
    return _draft_at((), typed, parts) if "word" in typed[()] else None


def _draft_at(
    place: Place, typed: Mapping[Place, dict[str, tuple[str, ...]]], parts: Mapping[Place, list[Place]]
) -> Draft:
    word = typed[place]["word"][-1]
    own = {name: texts for name, texts in typed[place].items() if name != "word"}
    below = parts.get(place, []) if word in GROUPS else []
    return Draft(word, own, tuple(_draft_at(part, typed, parts) for part in below))


def _place(text: str) -> Place:
    return tuple(int(index) for index in text.split("-")[1:])


def criterion_sent(tree: str) -> Criterion | None:
    """Read a criterion from its JSON, None where it is none."""
    try:
        data = json.loads(tree)
        json.dumps(data, ensure_ascii=False).encode()  # half a surrogate pair is JSON, and no text
        return parse(data)
    except (ValueError, RecursionError, CriterionError):
        return None


def edited(root: Draft | None, button: str, page: StepPage) -> tuple[Draft | None, str]:
    """Do what a button says, such as 'up:c-0-1'; returns the draft and the name of what to give the focus to."""
    found = _BUTTON.fullmatch(button)
    if not found:
        return root, ""
    act, place = found[1], _place(found[2])
    match act:
        case "add":
            done = edits.add(root, place, Draft("holds" if page.form.is_hold else "reps"))
        case "wrap":
            done = edits.wrap(root, place, "all")
        case "dissolve":
            done = edits.dissolve(root, place)
        case "remove":
            done = edits.remove(root, place)
        case "up" | "down":
            done = edits.move(root, place, -1 if act == "up" else 1)
        case _:
            return root, ""
    return done.root, _focus(done, act)


def _focus(done: edits.Edited, act: str) -> str:
    if done.root is None:
        return f"add:{ROOT}"
    name = place_name(done.place)
    moves_on = act in ("up", "down") and edits.may_move(done.root, done.place, -1 if act == "up" else 1)
    return f"{act}:{name}" if moves_on else f"{name}-word"


# ---- The whole editor ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Button:
    """A button of a condition: what it sends, and its word."""

    value: str
    word: str
    has_focus: bool


@dataclass(frozen=True, slots=True)
class Mistake:
    """What is wrong: the field's id, what it is called, the sentence."""

    link: str
    label: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Card:
    """One condition as the page shows it, with its parts."""

    name: str
    title: str
    form: ConditionForm
    parts: tuple[Card, ...]
    buttons: tuple[Button, ...]
    add: Button | None
    limit: str

    @property
    def main(self) -> list[BoundField]:
        """The fields that stand open."""
        return [field for field in self.form.visible_fields() if field.name not in ("word", *_MORE)]

    @property
    def more(self) -> list[BoundField]:
        """The fields that are folded away."""
        return [field for field in self.form.visible_fields() if field.name in _MORE]

    @property
    def is_unfolded(self) -> bool:
        """Whether one of these is set or wrong."""
        return any(field.errors or self._is_set(field.name) for field in self.more)

    def _is_set(self, key: str) -> bool:
        typed = {text for text in self.form.draft.typed.get(key, ()) if text}
        return typed != {text for text in USUAL.get(key, ()) if text}

    def mistakes(self) -> Iterator[Mistake]:
        """Yield what is wrong here and in its parts, from top to bottom."""
        for field in self.form:
            label = self.title if field.name == "word" else f"{self.title}, {field.label}"
            for sentence in field.errors:
                yield Mistake(field.id_for_label or f"{field.auto_id}_box", label, str(sentence))
        for part in self.parts:
            yield from part.mistakes()

    def fields(self) -> Iterator[BoundField]:
        """Yield all that is to be seen here and in its parts."""
        yield from self.form.visible_fields()
        for part in self.parts:
            yield from part.fields()


class Editor:
    """A draft of a step's criterion as the page shows it: its sentence, or what is wrong with it.

    `judged` is the draft as it was sent, where fields that were not on the page yet are missing; without it the
    draft itself is judged.
    """

    def __init__(
        self, root: Draft | None, book: Book, page: StepPage, *, focus: str = "", judged: Draft | None = None
    ) -> None:
        self.root = root.filled(target_of(page)) if root else None
        self.book, self.page, self.focus = book, page, focus
        self._surroundings = Surroundings(book, page, fit_of(book, page), focus)
        self._judged = judged or self.root

    @cached_property
    def _data(self) -> object:
        return edits.written(self._judged) if self._judged else None

    @cached_property
    def found(self) -> Found:
        """What is wrong, by place and field."""
        if self._judged is None:
            return {}
        return edits.placed(self._judged, [*problems(self._data), *misfits(self._data, self._surroundings.fit)])

    @cached_property
    def criterion(self) -> Criterion | None:
        """The criterion that the draft is, None while something is wrong."""
        return None if self._judged is None or self.found else parse(self._data)

    @property
    def sentence(self) -> str:
        """The criterion in words, '' while something is wrong."""
        terms = wording.terms_of(self.book).of_step(self.page)
        return rule_words.rule(self.criterion, terms) if self.criterion else ""

    @cached_property
    def card(self) -> Card | None:
        """The root as the page shows it."""
        return self._card(self.root, ()) if self.root else None

    @property
    def mistakes(self) -> list[Mistake]:
        """Everything that is wrong, from top to bottom."""
        return [*self.card.mistakes()] if self.card else []

    @property
    def first(self) -> Button | None:
        """The button that begins a criterion, None once there is one."""
        return None if self.root else self._button("add", (), "Add a condition")

    @property
    def fields(self) -> list[BoundField]:
        """All fields that are to be seen."""
        return [*self.card.fields()] if self.card else []

    def _card(self, draft: Draft, place: Place) -> Card:
        number = ".".join(str(index + 1) for index in place)
        kind = "Group" if draft.is_group else "Condition"
        title = f"{kind} {number}" if place else f"The whole {kind.lower()}"
        may_add = edits.may_add(self.root, place) and (draft.is_group or not place)
        return Card(
            name=place_name(place),
            title=title,
            form=ConditionForm(draft, place, self._surroundings, self.found.get(place, {})),
            parts=tuple(self._card(part, (*place, index)) for index, part in enumerate(draft.parts)),
            buttons=tuple(self._buttons(draft, place)),
            add=self._button("add", place, "Add a condition") if may_add else None,
            limit=self._limit(draft, place),
        )

    def _buttons(self, draft: Draft, place: Place) -> Iterator[Button]:
        if edits.may_move(self.root, place, -1):
            yield self._button("up", place, "Move up")
        if edits.may_move(self.root, place, 1):
            yield self._button("down", place, "Move down")
        if edits.may_wrap(self.root, place):
            yield self._button("wrap", place, "Put into a group")
        if edits.may_dissolve(self.root, place):
            yield self._button("dissolve", place, "Dissolve the group")
        yield self._button("remove", place, "Remove the group" if draft.is_group else "Remove")

    def _button(self, act: str, place: Place, word: str) -> Button:
        value = f"{act}:{place_name(place)}"
        return Button(value, word, has_focus=value == self.focus)

    def _limit(self, draft: Draft, place: Place) -> str:
        if self.root and self.root.leaves >= MOST_LEAVES and not place:
            return f"A criterion has at most {MOST_LEAVES} conditions: there is room for no more."
        if draft.is_group or edits.may_wrap(self.root, place):
            return ""
        return f"Conditions stand at most {MOST_LEVELS} deep in one another: no group fits here."


# ---- Ready-made drafts --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReadyMade:
    """A criterion that fills the editor at one tap."""

    name: str
    sentence: str
    tree: str


def ready_made(book: Book, page: StepPage, in_force: Criterion | None) -> list[ReadyMade]:
    """Return what may be begun with: the criterion in force, and the standards that fit the step."""
    terms = wording.terms_of(book).of_step(page)
    offered: list[tuple[str, Criterion]] = [("As it is now", in_force)] if in_force else []
    if in_force:
        standards = standards_for(in_force, is_hold=page.form.is_hold, grades=page.form.grades)
        offered += [(_standard_name(each, page), each.criterion) for each in standards]
    return [ReadyMade(name, rule_words.rule(each, terms), canonical(each)) for name, each in offered]


def _standard_name(standard: Standard, page: StepPage) -> str:
    if standard.name in _STANDARDS:
        return _STANDARDS[standard.name]
    return f"Graded: {page.grades[int(standard.name.removeprefix('grade-')) - 1]}"
