"""The book of a gym: its rules for the engine, and what logging and pages must know of each step.

Read once and kept in the process until the gym's `rules_stamp` changes, so that logging an attempt asks the
database nothing about rules.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from json import loads
from uuid import UUID

from athletes.models import Gym
from skills.core import criteria
from skills.core.days import moment_us
from skills.core.entries import StepForm
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.models import Checkpoint, CriterionVersion, Fault, Prerequisite, Step, Variant


@dataclass(frozen=True, slots=True)
class StepPage:
    """What pages and logging know of a step. Words are (code, text) pairs in the gym's order."""

    id: UUID
    code: str
    label: str
    name: str
    skill_slug: str
    skill_name: str
    side_drill: bool
    form: StepForm
    checkpoints: tuple[tuple[str, str], ...]
    faults: tuple[tuple[str, str], ...]
    cues: Mapping[str, str]
    variants: tuple[tuple[str, str], ...]
    grades: tuple[str, ...]
    criterion_ids: Mapping[int, UUID]


@dataclass(frozen=True, slots=True)
class Book:
    """A gym's rules, and its steps by code in the order of its skills."""

    gym_id: UUID
    rules: Rules
    steps: Mapping[str, StepPage]
    codes: Mapping[UUID, str]

    def step(self, step_id: UUID) -> StepPage | None:
        """Return the step with that id, or None."""
        code = self.codes.get(step_id)
        return None if code is None else self.steps[code]


def book_of(gym: Gym) -> Book:
    """Return the book of a gym as of its `rules_stamp`; six queries the first time, none after."""
    return _book(gym.id, gym.time_zone, gym.rules_stamp)


@lru_cache(maxsize=256)
def _book(gym_id: UUID, zone: str, _stamp: UUID) -> Book:
    steps = list(Step.objects.filter(gym=gym_id).select_related("skill"))
    codes = {step.id: step.code for step in steps}
    requires = _grouped(Prerequisite.objects.filter(gym=gym_id).values_list("step_id", "requires_id"))
    versions = _versions(gym_id)
    words = _Words(gym_id)
    rules = {
        step.code: _rule(step, tuple(sorted(codes[r] for r in requires[step.id])), versions[step.id]) for step in steps
    }
    pages = {step.code: _page(step, words, versions[step.id]) for step in steps}
    return Book(gym_id, Rules(rules, zone), pages, codes)


def _grouped(pairs: object) -> defaultdict[UUID, list[UUID]]:
    groups: defaultdict[UUID, list[UUID]] = defaultdict(list)
    for key, value in pairs:  # type: ignore[attr-defined]
        groups[key].append(value)
    return groups


def _versions(gym_id: UUID) -> defaultdict[UUID, list[CriterionVersion]]:
    groups: defaultdict[UUID, list[CriterionVersion]] = defaultdict(list)
    for version in CriterionVersion.objects.filter(gym=gym_id).order_by("happened_at", "number"):
        groups[version.step_id].append(version)
    return groups


def _rule(step: Step, requires: tuple[str, ...], versions: list[CriterionVersion]) -> StepRule:
    in_force = tuple(
        CriterionInForce(v.number, moment_us(v.happened_at), criteria.parse(loads(v.tree))) for v in versions
    )
    return StepRule(
        code=step.code,
        requires=requires,
        asks_clearance=step.asks_clearance,
        needs_sign_off=step.needs_sign_off,
        recheck_days=step.recheck_days,
        loads=frozenset(step.loads),
        inverted=step.inverted,
        criteria=in_force,
    )


class _Words:
    """The named things of all steps of a gym, read with three queries."""

    def __init__(self, gym_id: UUID) -> None:
        self.checkpoints = self._read(Checkpoint, gym_id)
        self.variants = self._read(Variant, gym_id)
        self.faults: defaultdict[UUID, list[tuple[str, str]]] = defaultdict(list)
        self.cues: defaultdict[UUID, dict[str, str]] = defaultdict(dict)
        for fault in Fault.objects.filter(gym=gym_id):
            self.faults[fault.step_id].append((fault.code, fault.name))
            self.cues[fault.step_id][fault.code] = fault.cue

    @staticmethod
    def _read(model: type[Checkpoint | Variant], gym_id: UUID) -> defaultdict[UUID, list[tuple[str, str]]]:
        groups: defaultdict[UUID, list[tuple[str, str]]] = defaultdict(list)
        for word in model._default_manager.filter(gym=gym_id):
            groups[word.step_id].append((word.code, word.name))
        return groups


def _page(step: Step, words: _Words, versions: list[CriterionVersion]) -> StepPage:
    checkpoints, faults = tuple(words.checkpoints[step.id]), tuple(words.faults[step.id])
    variants = tuple(words.variants[step.id])
    form = StepForm(
        is_hold=step.measure == Step.Measure.HOLD,
        faults=frozenset(code for code, _ in faults),
        checkpoints=frozenset(code for code, _ in checkpoints),
        variants=frozenset(code for code, _ in variants),
        grades=len(step.grades),
        low_bar_check=step.low_bar_check,
    )
    return StepPage(
        id=step.id,
        code=step.code,
        label=step.label,
        name=step.name,
        skill_slug=step.skill.slug,
        skill_name=step.skill.name,
        side_drill=step.side_drill,
        form=form,
        checkpoints=checkpoints,
        faults=faults,
        cues=words.cues[step.id],
        variants=variants,
        grades=tuple(step.grades),
        criterion_ids={version.number: version.id for version in versions},
    )
