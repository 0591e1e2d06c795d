"""When no plan keeps all the rules: the smallest set of them that cannot hold together.

Rules that may clash are the coach's words (pins and pairs), how often bars may be re-set, and how many coaches there
are; that a station takes so many people and a bar has one height is not up for discussion. A smallest clash is found
by turns (implicit hitting sets, as in Ignatiev, Previti, Liffiton and Marques-Silva, CP 2015): the smallest set of
rules that shares one with every known way out is a clash if it has no plan; if it has one, the rules outside are
dropped one by one while there is a plan, and what had to go is a new way out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from skills.core.rotation.asks import Apart, Ask, Pin
from skills.core.rotation.highs import Highs, InfeasibleError
from skills.core.rotation.programme import programme_of

Limit = Literal["most_resets", "coaches"]
Rule = Pin | Apart | Limit


@dataclass(frozen=True, slots=True)
class Clash:
    """Rules that cannot hold together, of which each one is needed for the clash."""

    rules: tuple[Rule, ...]


def rules_of(ask: Ask) -> tuple[Rule, ...]:
    """Return the rules of an ask that may clash, in order."""
    limits: list[Limit] = ["coaches"]
    if ask.most_resets is not None:
        limits.append("most_resets")
    return (*ask.pins, *ask.apart, *limits)


def smallest_clash(ask: Ask) -> Clash | None:
    """Return a smallest set of rules that no plan keeps, None if there is a plan for all of them.

    The first in the order of `rules_of` where there are several. Each turn asks for one feasible plan.
    """
    rules = rules_of(ask)
    if _feasible(ask, rules):
        return None
    ways_out: list[frozenset[int]] = []
    while True:
        tried = _smallest_hitting(ways_out, len(rules))
        if not _feasible(ask, [rules[place] for place in tried]):
            return Clash(tuple(rules[place] for place in tried))
        ways_out.append(_way_out(ask, rules, tried))


def _way_out(ask: Ask, rules: tuple[Rule, ...], kept: Iterable[int]) -> frozenset[int]:
    """Keep as many rules as there is a plan for, beginning with those; return the ones that had to go."""
    stands = set(kept)
    for place in range(len(rules)):
        if place not in stands and _feasible(ask, [rules[at] for at in sorted({*stands, place})]):
            stands.add(place)
    return frozenset(range(len(rules))) - stands


def _smallest_hitting(ways_out: list[frozenset[int]], count: int) -> tuple[int, ...]:
    """Return the first smallest set that shares a member with every way out."""
    members = sorted(frozenset().union(*ways_out))
    for size in range(count + 1):
        for chosen in combinations(members, size):
            if all(way & {*chosen} for way in ways_out):
                return chosen
    raise AssertionError("All members together meet every way out.")


def _feasible(ask: Ask, rules: Iterable[Rule]) -> bool:
    kept = tuple(rules)
    made = programme_of(_only(ask, kept))
    if not made.rows:
        return True
    made.worth = [0] * len(made.worth)  # any plan will do
    try:
        return Highs(made).whole(gap=1.0, nodes=10_000, seconds=30.0) is not None
    except InfeasibleError:
        return False


def _only(ask: Ask, rules: tuple[Rule, ...]) -> Ask:
    """Return the ask with these rules alone; without the limit, as many coaches as there are people, twice."""
    many = 2 * len(ask.people) * max(1, len(ask.stations))
    return replace(
        ask,
        pins=tuple(rule for rule in rules if isinstance(rule, Pin)),
        apart=tuple(rule for rule in rules if isinstance(rule, Apart)),
        most_resets=ask.most_resets if "most_resets" in rules else None,
        coaches=ask.coaches if "coaches" in rules else many,
        judges=ask.judges if "coaches" in rules else many,
        before=(),
    )
