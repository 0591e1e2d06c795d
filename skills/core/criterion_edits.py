"""A criterion while it is written: a tree of what was typed, which need not be a rule yet, edited by place.

A draft keeps every text as it was typed, also those that its present kind has no field for, so that nothing is
lost when a kind is tried and left again. `written` gives the form that `criterion_form` reads and judges, and
`placed` brings what is wrong back to the fields. Limits of nesting and size are those of the written form.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from skills.core.criteria import Criterion, to_data
from skills.core.criterion_form import MOST_LEAVES, MOST_LEVELS
from skills.core.facts import UNASSISTED
from skills.core.form_fields import Problem

Place = tuple[int, ...]  # the way down from the root: () is the root, (1, 0) the first part of its second part
Typed = Mapping[str, tuple[str, ...]]

GROUPS: Final = ("all", "any", "at_least")
LEAVES: Final = ("holds", "reps", "best", "last", "reliability", "angle", "step")
FLAGS: Final = frozenset({"clean", "unbroken", "variants"})
LISTS: Final = frozenset({"assistance", "who"})
YES: Final = "yes"
COUNTING: Final = ("sessions", "dates", "clean", "window_days", "grade_at_least", "variants", "assistance", "who")
FIELDS: Final = frozenset(
    {
        *("count", "seconds", "reps", "unbroken", "good", "of", "percent", "confidence", "bound", "degrees", "step"),
        *("target", *COUNTING),
    }
)
_OWN: Final[Mapping[str, tuple[str, ...]]] = {
    "holds": ("count", "seconds"),
    "reps": ("count", "reps", "unbroken"),
    "best": ("target",),
    "last": ("good", "of", "target"),
    "reliability": ("percent", "confidence", "of", "target"),
    "angle": ("count", "bound", "degrees", "seconds"),
    "step": ("step",),
    "at_least": ("count",),
}
_OF_TARGET: Final[Mapping[str, tuple[str, ...]]] = {"seconds": ("seconds",), "reps": ("reps", "unbroken")}
# What stands in a field that nobody has typed into yet. Common practice, no source; `of` is as the kind needs it.
USUAL: Final[Typed] = {
    "count": ("3",),
    "reps": ("3",),
    "good": ("3",),
    "of": ("5",),
    "percent": ("60",),
    "confidence": ("90",),
    "bound": ("at_least",),
    "degrees": ("90",),
    "seconds": ("5",),
    "sessions": ("1",),
    "dates": ("1",),
    "clean": (YES,),
    "variants": (YES,),
    "assistance": (UNASSISTED,),
    "who": ("judged",),
    "grade_at_least": ("0",),
}
_USUAL_OF_KIND: Final[Mapping[str, Typed]] = {
    "angle": {"seconds": ("",)},
    "reliability": {"of": ("20",)},
    "at_least": {"count": ("2",)},
}
_WHOLE: Final = re.compile(r"-?[0-9]{1,18}")


@dataclass(frozen=True, slots=True)
class Draft:
    """A condition as typed: its kind, the texts of its fields, and, of a group, its parts."""

    word: str
    typed: Typed = field(default_factory=dict)
    parts: tuple["Draft", ...] = ()

    @property
    def is_group(self) -> bool:
        """Whether the condition joins others."""
        return self.word in GROUPS

    @property
    def fields(self) -> tuple[str, ...]:
        """The names of the fields that its kind has, the kind itself apart."""
        own = _OWN.get(self.word, ())
        if "target" in own:
            own += _OF_TARGET.get(self.text("target"), ())
        if self.word not in LEAVES or self.word == "step":
            return own
        # Of the last tries only clean ones are ever successes, so there is nothing to choose.
        return own + tuple(name for name in COUNTING if (self.word, name) != ("last", "clean"))

    @property
    def height(self) -> int:
        """How many levels the condition takes up."""
        return 1 + max((part.height for part in self.parts), default=0)

    @property
    def leaves(self) -> int:
        """How many conditions it has that are no groups."""
        return sum(part.leaves for part in self.parts) if self.is_group else 1

    def text(self, name: str) -> str:
        """What was typed last into a field, '' for nothing."""
        return next(reversed(self.typed.get(name, ())), "")

    def filled(self, target: str = "seconds") -> "Draft":
        """Return the draft with something usual in every field that was not on the page before.

        `target` is what a try at the step shows, "seconds" or "reps".
        """
        usual = {**USUAL, **_USUAL_OF_KIND.get(self.word, {}), "target": (target,)}
        draft = replace(self, parts=tuple(part.filled(target) for part in self.parts))
        if "target" in _OWN.get(self.word, ()) and "target" not in self.typed:
            draft = replace(draft, typed={**draft.typed, "target": usual["target"]})
        new = {name: usual.get(name, ("",)) for name in draft.fields if name not in draft.typed}
        return replace(draft, typed={**draft.typed, **new})


@dataclass(frozen=True, slots=True)
class Edited:
    """A tree after an edit (None when nothing is left), and the place that the edit leads to."""

    root: Draft | None
    place: Place


# ---- To the written form and back ---------------------------------------------------------------------------------


def written(draft: Draft) -> dict[str, object]:
    """Return the written form; what cannot be read as a number or a length stays as it was typed."""
    match draft.word:
        case "all" | "any":
            return {draft.word: [written(part) for part in draft.parts]}
        case "at_least":
            return {draft.word: {**_body(draft), "of": [written(part) for part in draft.parts]}}
        case "step":
            return {"step": draft.text("step").strip()}
        case _:
            return {draft.word: _body(draft)}


def _body(draft: Draft) -> dict[str, object]:
    """Return the fields of one condition without the empty ones, but for those whose key says what is meant."""
    telling = {draft.text("target"), "degrees"} if draft.word in ("best", "last", "reliability", "angle") else set()
    return {
        _key(draft, name): _value(draft, name)
        for name in draft.fields
        if name not in ("target", "bound")
        if name in telling or name in LISTS & draft.typed.keys() or draft.text(name).strip() or _is_off(draft, name)
    }


def _is_off(draft: Draft, name: str) -> bool:
    return name in FLAGS and name in draft.typed


def _key(draft: Draft, name: str) -> str:
    if name == "degrees":
        return f"{draft.text('bound') or 'at_least'}_degrees"
    return "clean" if name == "good" else name


def _value(draft: Draft, name: str) -> object:
    if name in FLAGS:
        return draft.text(name) == YES
    if name in LISTS:
        return [word for word in draft.typed[name] if word]
    text = draft.text(name).strip()
    if name == "seconds":
        return text.removesuffix("s").strip().replace(",", ".")
    return int(text) if _WHOLE.fullmatch(text) else text


def draft_of(criterion: Criterion) -> Draft:
    """Return a criterion as a draft."""
    return _draft(to_data(criterion))


def _draft(data: Mapping[str, object]) -> Draft:
    [(word, body)] = data.items()
    if isinstance(body, list):
        return Draft(word, {}, tuple(map(_draft, body)))
    if not isinstance(body, dict):
        return Draft(word, {"step": (str(body),)})
    if word == "at_least":
        return Draft(word, {"count": (str(body["count"]),)}, tuple(map(_draft, body["of"])))
    return Draft(word, dict(_typed(word, body)))


def _typed(word: str, body: Mapping[str, object]) -> Iterator[tuple[str, tuple[str, ...]]]:
    if word in ("best", "last", "reliability"):
        yield "target", ("seconds" if "seconds" in body else "reps",)
    for key, value in body.items():
        if key.endswith("_degrees"):
            yield "bound", (key.removesuffix("_degrees"),)
            yield "degrees", (str(value),)
        else:
            yield ("good" if (word, key) == ("last", "clean") else key), _texts(value)


def _texts(value: object) -> tuple[str, ...]:
    if isinstance(value, list):
        return tuple(map(str, value))
    if isinstance(value, bool):
        return (YES,) if value else ("",)
    return ("" if value is None else str(value),)


def placed(root: Draft, problems: Iterable[Problem]) -> dict[Place, dict[str, list[str]]]:
    """Return what is wrong by place and field; '' stands for the condition itself."""
    known = dict(_paths(root, (), ""))
    found: defaultdict[Place, dict[str, list[str]]] = defaultdict(dict)
    for problem in problems:
        path = problem.path
        while path and path not in known:
            path = path.rpartition(".")[0]
        place, name = known.get(path, ((), ""))
        found[place].setdefault(name, []).append(problem.sentence)
    return dict(found)


def _paths(draft: Draft, place: Place, path: str) -> Iterator[tuple[str, tuple[Place, str]]]:
    """Yield what each path of the written form points at."""
    body = f"{path}.{draft.word}" if path else draft.word
    listed = f"{body}.of" if draft.word == "at_least" else body
    yield from ((each, (place, "")) for each in (path, body, listed))
    for name in draft.fields:
        if draft.word != "step":
            yield f"{body}.{_key(draft, name)}", (place, name)
    if draft.word == "step":
        yield body, (place, "step")
    for index, part in enumerate(draft.parts):
        yield from _paths(part, (*place, index), f"{listed}[{index}]")


# ---- Edits --------------------------------------------------------------------------------------------------------


def at(root: Draft | None, place: Place) -> Draft | None:
    """Return the condition at a place, None where there is none."""
    for index in place:
        if root is None or not 0 <= index < len(root.parts):
            return None
        root = root.parts[index]
    return root


def may_add(root: Draft | None, place: Place) -> bool:
    """Whether one more condition may stand in the group, or beside the single condition, at a place."""
    if root is None:
        return True
    return at(root, place) is not None and len(place) + 1 < MOST_LEVELS and root.leaves < MOST_LEAVES


def may_wrap(root: Draft | None, place: Place) -> bool:
    """Whether the condition at a place may be put into a group of its own."""
    found = at(root, place)
    return found is not None and _may_sink(found, place)


def _may_sink(draft: Draft, place: Place) -> bool:
    """Whether a condition may stand one level deeper than at a place."""
    return len(place) + 1 + draft.height <= MOST_LEVELS


def may_dissolve(root: Draft | None, place: Place) -> bool:
    """Whether the group at a place may be taken away and its parts left standing."""
    found = at(root, place)
    return found is not None and found.is_group and (len(found.parts) == 1 if not place else bool(found.parts))


def add(root: Draft | None, place: Place, new: Draft) -> Edited:
    """Add a condition to the group at a place; beside a single condition, both in a group `all`."""
    found = at(root, place)
    if root is None:
        return Edited(new, ())
    if found is None or not may_add(root, place):
        return Edited(root, place)
    group = found if found.is_group else Draft("all", {}, (found,))
    grown = replace(group, parts=(*group.parts, new))
    return Edited(_put(root, place, (grown,)), (*place, len(group.parts)))


def remove(root: Draft | None, place: Place) -> Edited:
    """Take away the condition at a place, with all its parts."""
    if root is None or at(root, place) is None:
        return Edited(root, ())
    return Edited(_put(root, place, ()), place[:-1])


def wrap(root: Draft | None, place: Place, word: str) -> Edited:
    """Put the condition at a place into a group of its own."""
    found = at(root, place)
    if root is None or found is None or not may_wrap(root, place):
        return Edited(root, place)
    return Edited(_put(root, place, (Draft(word, {}, (found,)),)), place)


def dissolve(root: Draft | None, place: Place) -> Edited:
    """Take away the group at a place and leave its parts standing in its stead."""
    found = at(root, place)
    if root is None or found is None or not may_dissolve(root, place):
        return Edited(root, place)
    return Edited(_put(root, place, found.parts), place)


def move(root: Draft | None, place: Place, by: int) -> Edited:
    """Move a condition one line up (-1) or down (1), as the page lists them: also into a group, and out of one.

    A group that is left empty goes. Where there is no way on, nothing changes.
    """
    moved = at(root, place)
    goal = _goal(root, place, by)
    if root is None or moved is None or goal is None:
        return Edited(root, place)
    left = at(root, place[:-1])
    if left and len(left.parts) == 1:
        place = goal = place[:-1]
    rest = _put(root, place, ())
    return Edited(_insert(rest, goal, moved) if rest else moved, goal)


def _goal(root: Draft | None, place: Place, by: int) -> Place | None:
    """Return where a condition stands after its move, counted when it has been taken away; None for nowhere."""
    moved, group = at(root, place), at(root, place[:-1])
    if not place or moved is None or group is None:
        return None
    *way, index = place
    if not 0 <= index + by < len(group.parts):
        # Out of its group: before it, or behind it.
        return None if not way else (*way[:-1], way[-1] + max(by, 0))
    beside = group.parts[index + by]
    if beside.is_group and _may_sink(moved, place):
        return (*way, index + min(by, 0), len(beside.parts) if by < 0 else 0)
    return (*way, index + by)


def may_move(root: Draft | None, place: Place, by: int) -> bool:
    """Whether a condition can move one line up or down."""
    return _goal(root, place, by) is not None


def _put(draft: Draft, place: Place, new: tuple[Draft, ...]) -> Draft | None:
    """Return the tree with other conditions, none or more, in the stead of the one at a place that is there."""
    if not place:
        return new[0] if new else None
    return _spliced(draft, place, 1, new)


def _insert(draft: Draft, place: Place, new: Draft) -> Draft:
    return _spliced(draft, place, 0, (new,))


def _spliced(draft: Draft, place: Place, gone: int, new: tuple[Draft, ...]) -> Draft:
    """Return the tree with `new` at a place below its root, where `gone` conditions make room."""
    index, *rest = place
    parts = draft.parts
    if rest:
        gone, new = 1, (_spliced(parts[index], tuple(rest), gone, new),)
    return replace(draft, parts=(*parts[:index], *new, *parts[index + gone :]))
