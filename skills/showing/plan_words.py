"""A class plan in sentences: what it is worth, what holds it back, what is left out, which words of a coach clash."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import ceil
from typing import Final

from skills.core.rotation.asks import Apart, Pin, Plan
from skills.core.rotation.bottlenecks import Bottleneck
from skills.core.rotation.clashes import Rule

CAUTIONS: Final = (
    "A plan is a proposal: a coach decides on the floor, and whoever is not sure of somebody today changes it.",
    "Nobody goes upside down at a station without a coach there.",
    "Keep the space in front of and behind every bar free: people swing and land there.",
    "A bar that was set is looked over before anybody hangs on it: tied at both hooks, clear above and behind, mat.",
    "Who spots does nothing else in that rotation. The maker’s instructions and local codes come first.",
)
ROLES: Final[Mapping[str, str]] = {
    "in_hand": "",
    "earlier": "from before",
    "accessory": "side work",
    "test": "to be shown to a coach",
}
_FEW: Final = 3
_IN_TURN: Final = (
    "Nothing was found in time, so people take turns at the places here as they come. There are likely better plans: "
    "plan again in a moment."
)


def counted(number: int, one: str, many: str = "") -> str:
    """Return '1 person', '3 people'."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(words: Collection[str]) -> str:
    """Return 'a', 'a and b', 'a, b and c'."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def worth_words(plan: Plan) -> str:
    """Say how much better a plan could be at most."""
    if plan.proof == "in_turn":
        return _IN_TURN
    if plan.proof == "optimal":
        return "This is the best plan there is under these rules."
    ended = " The search was ended there." if plan.proof == "stopped" else ""
    if plan.worth <= 0:
        return f"How much better a plan could be is not known.{ended}"
    tenths = ceil(1000 * (plan.bound - plan.worth) / plan.worth)
    return f"No plan under these rules can be more than {tenths / 10:g} % better.{ended}"


def bottleneck_words(neck: Bottleneck, stations: Mapping[str, str], people: Mapping[str, str]) -> str:
    """Say which stations hold a plan back, for how many, and who does not get to the step in hand."""
    where = listed([stations.get(key, "a station") for key in neck.stations])
    wanting = counted(len(neck.wanting), "person needs", "people need")
    never = listed([people[key] for key in neck.never])
    led = " A coach’s hands or eyes are needed there." if neck.led else ""
    return (
        f"{where[:1].upper()}{where[1:]}: {wanting} it for the step in hand, {neck.places} at a time fit. "
        f"Without a turn at it: {never}.{led}"
    )


def rule_words(rule: Rule, stations: Mapping[str, str], people: Mapping[str, str]) -> str:
    """Say a rule that a coach made; the rotation of a pin is numbered from 0, as in the class."""
    if isinstance(rule, Pin):
        return (
            f"{people.get(rule.person, 'Somebody')} is fixed at {stations.get(rule.station, 'a station')} "
            f"in rotation {rule.rotation + 1}."
        )
    if isinstance(rule, Apart):
        return f"{people.get(rule.one, 'Somebody')} and {people.get(rule.other, 'somebody')} are kept apart."
    if rule == "most_resets":
        return "Bars are re-set no more often than you said."
    return "There are no more coaches than you said, and each does one thing in a rotation."


def left_out_words(label: str, paused: Collection[str], stopped: Collection[str], lacking: Collection[str]) -> str:
    """Say which steps are not planned for somebody, and why, as far as a coach has to know it."""
    parts = [f"under a caution, without {_few(paused)}"] if paused else []
    if lacking:
        parts.append(", ".join(lacking) + (f", so without {_few(stopped)}" if stopped else ""))
    return f"{label}: {'; '.join(parts)}."


def _few(steps: Collection[str]) -> str:
    """Return the first few of these, and how many more there are."""
    first = [*steps][:_FEW]
    more = len(steps) - len(first)
    return ", ".join(first) + (f" and {more} more" if more else "")
