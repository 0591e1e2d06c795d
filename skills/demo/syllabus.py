"""What the demo gym teaches: the shipped skills as rules and drills, without a database."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from skills.core import criteria
from skills.core.conditions import target_of
from skills.core.criteria import AngleTarget, AttemptLeaf, HoldTarget, RepsTarget
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.library import FULL_STANDARD, StepText, shipped_skills

# The one step for which the gym adopts the full standard, a month before the last day.
FULL_STANDARD_STEP: Final = "l-hold-4"
FULL_STANDARD_VERSION: Final = 2


@dataclass(frozen=True, slots=True)
class Drill:
    """A step as somebody trains it: what may be marked at a try, and how hard the step is.

    `demand` is the strength (see `skills.demo.latent`) with which half of the tries reach what was asked at first:
    `first_tenths` of a hold, None where no length is asked.
    """

    code: str
    skill: str
    is_hold: bool
    side_drill: bool
    low_bar_check: bool
    grades: int
    faults: tuple[str, ...]
    checkpoints: tuple[str, ...]
    variants: tuple[str, ...]
    demand: float
    first_tenths: int | None


@dataclass(frozen=True, slots=True)
class Syllabus:
    """Rules for the engine, and drills by code in the order of the gym's skills."""

    rules: Rules
    drills: Mapping[str, Drill]


@dataclass(frozen=True, slots=True)
class Goal:
    """What a criterion asks of one try: a hold of so many tenths, or with None a set of reps; grade 0 for any."""

    tenths: int | None
    reps: int
    grade: int


def syllabus(zone: str, full_standard_us: int) -> Syllabus:
    """Return the shipped skills, with the full standard for one step from that moment on."""
    texts = [(skill.skill, step) for skill in shipped_skills() for step in skill.steps]
    steps = {step.code: _rule(step) for _, step in texts}
    full = CriterionInForce(FULL_STANDARD_VERSION, full_standard_us, criteria.parse(FULL_STANDARD))
    first = steps[FULL_STANDARD_STEP]
    steps[FULL_STANDARD_STEP] = replace(first, criteria=(*first.criteria, full))
    rules = Rules(steps, zone)
    demands = demands_of(rules)
    return Syllabus(rules, {step.code: _drill(skill, step, demands[step.code]) for skill, step in texts})


def demands_of(rules: Rules) -> dict[str, float]:
    """Return how hard each step is: the longer the way that leads to it, and more where it turns over."""
    depth: dict[str, int] = {}
    for code in rules.order:
        depth[code] = 1 + max((depth[required] for required in rules.steps[code].requires), default=-1)
    return {code: round(0.3 * depth[code] + 0.2 * rules.hazard(code), 2) for code in rules.order}


def goal_at(rule: StepRule, us: int) -> Goal:
    """Return the most that the criterion in force asks of one try."""
    in_force = rule.in_force_at(us)
    leaves: Iterable[AttemptLeaf] = criteria.attempt_leaves(in_force.criterion) if in_force else ()
    return max((_goal(leaf) for leaf in leaves), key=lambda goal: (goal.tenths or 0, goal.reps))


def _goal(leaf: AttemptLeaf) -> Goal:
    grade = leaf.counting.grade_at_least
    match target_of(leaf):
        case HoldTarget(tenths) | AngleTarget(tenths=tenths):
            return Goal(tenths, 1, grade)
        case RepsTarget(reps):
            return Goal(None, reps, grade)


def _rule(step: StepText) -> StepRule:
    return StepRule(
        code=step.code,
        requires=tuple(sorted(step.requires)),
        asks_clearance=step.asks_clearance,
        needs_sign_off=step.needs_sign_off,
        recheck_days=step.recheck_days,
        loads=frozenset(step.loads),
        inverted=step.inverted,
        criteria=(CriterionInForce(1, 0, criteria.parse(step.criterion)),),
    )


def _drill(skill: str, step: StepText, demand: float) -> Drill:
    return Drill(
        code=step.code,
        skill=skill,
        is_hold=step.measure == "hold",
        side_drill=step.side_drill,
        low_bar_check=step.low_bar_check,
        grades=len(step.grades),
        faults=tuple(fault.code for fault in step.faults),
        checkpoints=tuple(point.code for point in step.checkpoints),
        variants=tuple(variant.code for variant in step.variants),
        demand=demand,
        first_tenths=goal_at(_rule(step), 0).tenths,
    )
