"""A month's classes planned in several ways, side by side: what the search is worth against what coaches do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from skills.core.rotation.asks import Ask, Plan
from skills.core.rotation.checking import broken_rules, worth_of
from skills.core.rotation.simple import circuit, first_come
from skills.core.rotation.solving import Effort, best_plan
from skills.core.rotation.what_if import Minutes, Practice, practice_of

# Nodes alone end the search, never the clock: the same month gives the same table on any machine.
TO_COMPARE: Final = Effort(gap=0.001, lines=250, nodes=2_000, seconds=3_600.0)


def first_come_at_will(ask: Ask) -> Plan:
    """Return the plan of people who choose in turn, and set bars to their height without a thought of what it costs."""
    plan = first_come(replace(ask, most_resets=None, weights=replace(ask.weights, reset=0)))
    worth = worth_of(ask, plan)
    return replace(plan, worth=worth, bound=worth)


Way = Callable[[Ask], Plan]
WAYS: Final[dict[str, Way]] = {
    "planned": lambda ask: best_plan(ask, TO_COMPARE),
    "first come": first_come,
    "first come, bars set anew at will": first_come_at_will,
    "fixed circuit": circuit,
}


@dataclass(frozen=True, slots=True)
class Total:
    """What one way comes to over all classes. `gap` is the share by which any plan could be worth more at most.

    The gap is None for a way that takes more re-sets than the class allows: the bound does not hold for it.
    """

    way: str
    idle_minutes: int
    resets: int
    in_hand_rotations: int
    worth: int
    gap: float | None


def compared(asks: Sequence[Ask], minutes: Minutes) -> tuple[Total, ...]:
    """Plan every class in every way of WAYS and add them up. Raises AssertionError for a plan that breaks a rule."""
    done = {way: [_came_to(ask, plan(ask), minutes) for ask in asks] for way, plan in WAYS.items()}
    bound = sum(practice.bound for practice in done["planned"])
    return tuple(_total(way, practices, None if "at will" in way else bound) for way, practices in done.items())


def _came_to(ask: Ask, plan: Plan, minutes: Minutes) -> Practice:
    broken = {each.rule for each in broken_rules(ask, plan)} - {"more re-sets than allowed"}
    if broken:
        raise AssertionError(f"A plan breaks rules: {', '.join(sorted(broken))}.")
    return practice_of(ask, plan, minutes)


def _total(way: str, practices: Iterable[Practice], bound: int | None) -> Total:
    told = list(practices)
    worth = sum(each.worth for each in told)
    return Total(
        way=way,
        idle_minutes=sum(each.idle_minutes for each in told),
        resets=sum(each.resets for each in told),
        in_hand_rotations=sum(each.in_hand_rotations for each in told),
        worth=worth,
        gap=(bound - worth) / bound if bound else None,
    )
