"""A gym's skills as skill files say them: rows to texts, whole, and steps as they stood in their versions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from json import loads
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Max

from skills.core.levers import Pose
from skills.library.texts import CheckpointText, Dose, FaultText, SkillText, StepText, SwapDrill, VariantText
from skills.models import Checkpoint, CriterionVersion, Fault, Prerequisite, Skill, Step, StepVersion, Variant

SAME_NAME = (
    "code", "label", "name", "measure", "angle", "station", "inverted", "over_bar", "low_bar_check", "side_drill",
    "asks_clearance", "needs_sign_off", "recheck_days", "purpose",
)  # fmt: skip
LISTS = ("loads", "grades", "set_up", "cautions", "trade_practice")

_Row = TypeVar("_Row", Checkpoint, Fault, Variant, CriterionVersion)


def skill_texts(gym_id: UUID) -> dict[str, SkillText]:
    """Return every skill of the gym by its code, in the gym's order; seven queries."""
    steps = _step_texts(gym_id)
    return {
        skill.slug: SkillText(skill.slug, skill.name, skill.purpose, tuple(steps[skill.id]))
        for skill in Skill.objects.filter(gym=gym_id)
    }


def former_words(gym_id: UUID, step_id: UUID) -> dict[str, dict[str, str]]:
    """Return the checkpoints, faults and variants that a step has or had: codes and their latest names; one query."""
    words: dict[str, dict[str, str]] = {"checkpoints": {}, "faults": {}, "variants": {}}
    for text in StepVersion.objects.filter(gym=gym_id, step=step_id).order_by("number").values_list("text", flat=True):
        for kind, names in named_things(loads(text)).items():
            words[kind] |= names
    return words


def version_number(gym_id: UUID, step_id: UUID) -> int:
    """Return the number of a step's latest version; one query."""
    rows = StepVersion.objects.filter(gym=gym_id, step=step_id)
    return int(rows.aggregate(latest=Max("number"))["latest"] or 0)


def named_things(text: Mapping[str, list[Mapping[str, str]]]) -> dict[str, dict[str, str]]:
    """Return the names of checkpoints, faults and variants by code, of the text of a step's version."""
    return {
        kind: {row["code"]: row[key] for row in text[kind]}
        for kind, key in (("checkpoints", "text"), ("faults", "name"), ("variants", "name"))
    }


def _step_texts(gym_id: UUID) -> defaultdict[UUID, list[StepText]]:
    rows = list(Step.objects.filter(gym=gym_id))
    codes = {row.id: row.code for row in rows}
    requires = defaultdict(list)
    for step_id, required in Prerequisite.objects.filter(gym=gym_id).values_list("step_id", "requires_id"):
        requires[step_id].append(codes[required])
    checkpoints = _grouped(Checkpoint.objects.filter(gym=gym_id))
    faults = _grouped(Fault.objects.filter(gym=gym_id))
    variants = _grouped(Variant.objects.filter(gym=gym_id))
    criteria = _grouped(CriterionVersion.objects.filter(gym=gym_id).order_by("number"))
    found: defaultdict[UUID, list[StepText]] = defaultdict(list)
    for row in rows:
        found[row.skill_id].append(
            StepText(
                requires=tuple(sorted(requires[row.id])),
                checkpoints=tuple(CheckpointText(word.code, word.name) for word in checkpoints[row.id]),
                faults=tuple(FaultText(word.code, word.name, word.cue, word.dangerous) for word in faults[row.id]),
                variants=tuple(VariantText(word.code, word.name) for word in variants[row.id]),
                getting_down=row.getting_down or None,
                dose=Dose(**row.dose),
                swap_drill=SwapDrill(**row.swap_drill),
                criterion=loads(criteria[row.id][-1].tree) if criteria[row.id] else {},
                pose=pose_of(row),
                **_columns(row),
            )
        )
    return found


def pose_of(row: Step) -> Pose | None:
    """Return the pose that a step holds, or None."""
    if row.thigh_degrees is None or row.knee_degrees is None:
        return None
    return Pose(row.thigh_degrees, row.knee_degrees)


def _columns(row: Step) -> dict[str, Any]:
    return {name: getattr(row, name) for name in SAME_NAME} | {name: tuple(getattr(row, name)) for name in LISTS}


def _grouped(rows: Iterable[_Row]) -> defaultdict[UUID, list[_Row]]:
    groups: defaultdict[UUID, list[_Row]] = defaultdict(list)
    for row in rows:
        groups[row.step_id].append(row)
    return groups
