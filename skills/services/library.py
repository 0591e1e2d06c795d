"""Brings the shipped skills into a gym, which may edit its copy afterwards."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import UTC, datetime

from django.db import transaction
from django.utils import timezone

from athletes.models import Gym, Membership
from athletes.services.audit import record_act
from gymtrack.lib.ids import new_id
from skills.core import criteria
from skills.library import SkillText, StepText, shipped_skills
from skills.library.writing import step_json
from skills.models import Checkpoint, CriterionVersion, Fault, Prerequisite, Skill, Step, StepVersion, Variant
from skills.queries.texts import LISTS, SAME_NAME

# A shipped criterion is in force since ever, so that attempts brought in from years ago meet a rule.
SINCE_EVER = datetime(1970, 1, 1, tzinfo=UTC)


def install_library(*, gym: Gym, by: Membership | None, recorded_at: datetime | None = None) -> int:
    """Copy the shipped skills that the gym does not have yet, and return how many steps came in.

    Their criteria are recorded as of now unless a moment is given.
    """
    recorded_at = recorded_at or timezone.now()
    with transaction.atomic():
        known = set(Skill.objects.filter(gym=gym).values_list("slug", flat=True))
        missing = [skill for skill in shipped_skills() if skill.skill not in known]
        steps = {
            text.code: step
            for position, skill in enumerate(missing, start=len(known))
            for text, step in zip(skill.steps, _install_skill(gym, skill, position, recorded_at), strict=True)
        }
        _connect(gym, [text for skill in missing for text in skill.steps], steps)
        touch_rules(gym)
        record_act(gym=gym, actor=by, act="skills_installed", about=gym.id, content={"steps": sorted(steps)})
    return len(steps)


def touch_rules(gym: Gym) -> None:
    """Make whatever was derived from the gym's steps and criteria stale; call it with every change of them."""
    gym.rules_stamp = new_id()
    gym.save(update_fields=["rules_stamp"])


def _install_skill(gym: Gym, text: SkillText, position: int, recorded_at: datetime) -> list[Step]:
    skill = Skill.objects.create(gym=gym, slug=text.skill, name=text.name, purpose=text.purpose, position=position)
    steps = Step.objects.bulk_create(
        Step(gym=gym, skill=skill, position=place, **columns_of(step)) for place, step in enumerate(text.steps)
    )
    for step, step_text in zip(steps, text.steps, strict=True):
        add_words(gym, step, step_text)
    StepVersion.objects.bulk_create(
        StepVersion(
            gym=gym,
            step=step,
            number=1,
            text=step_json(step_text),
            happened_at=SINCE_EVER,
            recorded_at=recorded_at,
        )
        for step, step_text in zip(steps, text.steps, strict=True)
    )
    CriterionVersion.objects.bulk_create(
        CriterionVersion(
            gym=gym,
            step=step,
            number=1,
            tree=criteria.canonical(criteria.parse(step_text.criterion)),
            happened_at=SINCE_EVER,
            recorded_at=recorded_at,
        )
        for step, step_text in zip(steps, text.steps, strict=True)
    )
    return steps


def columns_of(text: StepText) -> dict[str, object]:
    """Return what the table of steps holds of a step, but for its place."""
    return {
        "getting_down": text.getting_down or "",
        "dose": asdict(text.dose),
        "swap_drill": asdict(text.swap_drill),
        "thigh_degrees": text.pose.thigh_degrees if text.pose else None,
        "knee_degrees": text.pose.knee_degrees if text.pose else None,
        **{name: getattr(text, name) for name in SAME_NAME},
        **{name: list(getattr(text, name)) for name in LISTS},
    }


def add_words(gym: Gym, step: Step, text: StepText) -> None:
    """Write the checkpoints, faults and variants of a step that has none yet."""
    Checkpoint.objects.bulk_create(
        Checkpoint(gym=gym, step=step, code=point.code, name=point.text, position=place)
        for place, point in enumerate(text.checkpoints)
    )
    Fault.objects.bulk_create(
        Fault(
            gym=gym, step=step, code=fault.code, name=fault.name, cue=fault.cue, dangerous=fault.dangerous,
            position=place,
        )
        for place, fault in enumerate(text.faults)
    )  # fmt: skip
    Variant.objects.bulk_create(
        Variant(gym=gym, step=step, code=variant.code, name=variant.name, position=place)
        for place, variant in enumerate(text.variants)
    )


def _connect(gym: Gym, texts: Iterable[StepText], steps: Mapping[str, Step]) -> None:
    known = {step.code: step for step in Step.objects.filter(gym=gym)} | dict(steps)
    Prerequisite.objects.bulk_create(
        Prerequisite(gym=gym, step=steps[text.code], requires=known[code]) for text in texts for code in text.requires
    )
