"""What a skill text changes in the skill that a gym has: new steps, changed ones, their order."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from skills.core import criteria
from skills.core.standards import FIRST_STANDARD
from skills.library.texts import SkillText, StepText
from skills.library.writing import step_data, step_json

FIRST_REPS: Mapping[str, object] = {"reps": {"count": 3, "reps": 1, "dates": 2}}
"""Three clean reps, judged, on two days. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class StepChange:
    """A step that is new or changed; ``keys`` names what changed, in the order of the file, none for a new one."""

    step: StepText
    before: StepText | None
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SkillChanges:
    """What saving a skill does. ``skill`` is how it will be: its steps, and those that only the gym has at the end."""

    skill: SkillText
    is_new: bool
    heading: tuple[str, ...]
    new: tuple[StepChange, ...]
    changed: tuple[StepChange, ...]
    reordered: bool

    @property
    def nothing(self) -> bool:
        """Whether all of it is there already."""
        return not (self.is_new or self.heading or self.new or self.changed or self.reordered)

    @property
    def unchanged(self) -> tuple[StepText, ...]:
        """The steps that stay as they are."""
        touched = {change.step.code for change in (*self.new, *self.changed)}
        return tuple(step for step in self.skill.steps if step.code not in touched)


def changes_between(known: SkillText | None, text: SkillText) -> SkillChanges:
    """Compare a text with the skill that the gym has under that code, None where it has none."""
    before = {step.code: step for step in known.steps} if known else {}
    named = {step.code for step in text.steps}
    skill = replace(text, steps=(*text.steps, *(step for code, step in before.items() if code not in named)))
    found = [StepChange(step, before.get(step.code), _keys(before.get(step.code), step)) for step in text.steps]
    order = [step.code for step in skill.steps if step.code in before]
    return SkillChanges(
        skill=skill,
        is_new=known is None,
        heading=tuple(key for key in ("name", "purpose") if known and getattr(known, key) != getattr(text, key)),
        new=tuple(change for change in found if change.before is None),
        changed=tuple(change for change in found if change.before is not None and change.keys),
        reordered=order != list(before) or _new_in_between(skill, before),
    )


def first_criterion(measure: str) -> Mapping[str, object]:
    """The criterion that a new step begins with."""
    return FIRST_STANDARD if measure == "hold" else FIRST_REPS


def _new_in_between(skill: SkillText, before: Mapping[str, StepText]) -> bool:
    places = [step.code in before for step in skill.steps]
    return places != sorted(places, reverse=True)


def _keys(before: StepText | None, after: StepText) -> tuple[str, ...]:
    if before is None:
        return ()
    same = step_json(before) == step_json(after)
    words = () if same else tuple(_differing(step_data(before), step_data(after)))
    return words if _canonical(before) == _canonical(after) else (*words, "criterion")


def _differing(before: Mapping[str, object], after: Mapping[str, object]) -> Iterator[str]:
    return (key for key in dict.fromkeys((*before, *after)) if before.get(key) != after.get(key))


def _canonical(step: StepText) -> str:
    return criteria.canonical(criteria.parse(step.criterion)) if step.criterion else ""
