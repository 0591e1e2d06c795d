"""One try at a drill: what comes out of strength, steadiness and practice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log
from random import Random
from typing import Final

from skills.core.entries import Result
from skills.core.facts import UNASSISTED
from skills.demo.latent import Latent
from skills.demo.syllabus import Drill, Goal

LADDER: Final = (50, 100, 200)  # tenths; 5, 10, 20 s: common practice, no source
FREE_HOLDS: Final = 0.3  # of the tries of grown people with much in hand: as long as the shape stays clean


@dataclass(frozen=True, slots=True)
class Form:
    """An athlete on a day: hidden parameters, strength then, and what goes wrong with them most."""

    latent: Latent
    strength: float
    minor: bool
    habits: dict[str, str]  # code of the drill → the fault that comes back

    def margin(self, drill: Drill) -> float:
        """Return how much stronger than asked, as a natural logarithm."""
        return self.strength - drill.demand


def try_once(rng: Random, form: Form, drill: Drill, goal: Goal, practice: int) -> Result:
    """Return the result of one try by somebody who tried the drill `practice` times before."""
    assistance = _assistance(rng, form.margin(drill))
    margin = form.margin(drill) + (0.35 if assistance != UNASSISTED else 0.0)
    reach = exp(margin + form.latent.spread * rng.gauss(0, 1))
    result = _hold(rng, form, drill, goal.tenths, reach) if drill.is_hold else _set_of_reps(rng, drill, goal, reach)
    fell_short = not drill.is_hold and reach < 1 and goal.reps == 1
    faults, missed = _slips(rng, form, drill, margin, practice, forced=fell_short)
    return replace(
        result,
        assistance=assistance,
        variant=rng.choice(drill.variants) if drill.variants and rng.random() < 0.1 else "",
        faults=faults,
        missed=missed,
        effort=_effort(rng, margin),
    )


def _hold(rng: Random, form: Form, drill: Drill, asked_tenths: int | None, reach: float) -> Result:
    asked = asked_tenths or LADDER[0]
    able = int((drill.first_tenths or LADDER[0]) * reach)
    if able > 1.4 * asked and rng.random() < 0.15:
        return Result(hold_tenths=asked, reps=3)
    aim = asked
    if not form.minor and able > 1.5 * asked and (luck := rng.random()) < 0.4:
        aim = able if luck < FREE_HOLDS else _rung_above(asked)
    return Result(hold_tenths=max(min(able, aim + rng.randint(0, 7)), 3), reps=1)


def _rung_above(tenths: int) -> int:
    return next((rung for rung in LADDER if rung > tenths), tenths)


def _set_of_reps(rng: Random, drill: Drill, goal: Goal, reach: float) -> Result:
    able = goal.reps * reach
    reps = min(max(int(able), 1), goal.reps + rng.randint(0, 1) * (goal.reps > 1))
    unbroken = able > 1.15 * goal.reps or rng.random() < 0.6
    grade = 0
    if drill.grades:
        grade = min(max(round(max(goal.grade, 1) + 1.6 * (reach - 1) + rng.gauss(0, 0.3)), 1), drill.grades)
    return Result(hold_tenths=None, reps=reps, unbroken=unbroken, grade=grade)


def _slips(
    rng: Random, form: Form, drill: Drill, margin: float, practice: int, *, forced: bool
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    odds = exp(0.3 + 1.5 * margin + 0.6 * log(1 + practice) + form.latent.care)
    if not forced and rng.random() < odds / (1 + odds):
        return (), ()
    if drill.checkpoints and rng.random() < 0.2:
        return (), (rng.choice(drill.checkpoints),)
    habit = form.habits.setdefault(drill.code, rng.choice(drill.faults))
    first = habit if rng.random() < 0.6 else rng.choice(drill.faults)
    second = rng.choice(drill.faults) if rng.random() < 0.12 else first
    return tuple(sorted({first, second})), ()


def _assistance(rng: Random, margin: float) -> str:
    if margin < -0.25 and rng.random() < 0.35:
        return rng.choice(("band", "spot", "box", "feet"))
    return UNASSISTED


def _effort(rng: Random, margin: float) -> int | None:
    if rng.random() < 0.4:
        return None
    return min(max(round(6.5 - 3 * margin + rng.gauss(0, 1)), 1), 10)
