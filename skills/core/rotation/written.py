"""An ask and a plan as canonical JSON: the same value gives the same bytes, and reading gives the value again."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from skills.core.rotation.asks import Apart, Ask, Choice, Person, Pin, Place, Plan, Post, Seat, Station
from skills.core.rotation.clashes import Clash, Limit, Rule
from skills.core.rotation.weights import Weights

Written = Mapping[str, Any]


class UnreadableError(ValueError):
    """The text is no ask or no plan."""


def written_ask(ask: Ask) -> str:
    """Write an ask."""
    return _json(asdict(ask))


def read_ask(text: str) -> Ask:
    """Read what `written_ask` wrote. Raises UnreadableError."""
    try:
        return _ask(json.loads(text))
    except (KeyError, TypeError, ValueError) as error:
        raise UnreadableError("This is no class to plan.") from error


def written_plan(plan: Plan) -> str:
    """Write a plan."""
    holes = [[rotation, key, hole] for (rotation, key), hole in sorted(plan.holes.items())]
    return _json(
        {
            "seats": [asdict(seat) for seat in plan.seats],
            "holes": holes,
            "posts": [asdict(post) for post in plan.posts],
            "worth": plan.worth,
            "bound": plan.bound,
            "proof": plan.proof,
        }
    )


def read_plan(text: str) -> Plan:
    """Read what `written_plan` wrote. Raises UnreadableError."""
    try:
        return _plan(json.loads(text))
    except (KeyError, TypeError, ValueError) as error:
        raise UnreadableError("This is no plan of a class.") from error


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _ask(found: Written) -> Ask:
    return Ask(
        people=tuple(_person(person) for person in found["people"]),
        stations=tuple(Station(**station) for station in found["stations"]),
        rotations=found["rotations"],
        coaches=found["coaches"],
        judges=found["judges"],
        most_resets=found["most_resets"],
        watched_at_once=found["watched_at_once"],
        pins=tuple(Pin(**pin) for pin in found["pins"]),
        apart=tuple(Apart(**pair) for pair in found["apart"]),
        before=tuple(Seat(**seat) for seat in found["before"]),
        weights=_weights(found["weights"]),
    )


def _weights(found: Written) -> Weights:
    read: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in found.items()}
    return Weights(**read)


def _person(found: Written) -> Person:
    had: Sequence[Sequence[int]] = found["had"]
    return Person(
        key=found["key"],
        choices=tuple(_choice(choice) for choice in found["choices"]),
        comes=found["comes"],
        goes=found["goes"],
        had=tuple((choice, times) for choice, times in had),
        idled=found["idled"],
    )


def _choice(found: Written) -> Choice:
    return Choice(**{**found, "places": tuple(Place(**place) for place in found["places"])})


def _plan(found: Written) -> Plan:
    return Plan(
        seats=tuple(Seat(**seat) for seat in found["seats"]),
        holes={(rotation, key): hole for rotation, key, hole in found["holes"]},
        posts=tuple(Post(**post) for post in found["posts"]),
        worth=found["worth"],
        bound=found["bound"],
        proof=found["proof"],
    )


def written_clash(clash: Clash | None) -> str:
    """Write the rules that clash, as `["pin", …]`, `["apart", …]` or `["limit", name]`."""
    return _json([_rule(rule) for rule in clash.rules] if clash else [])


def read_clash(text: str) -> Clash:
    """Read what `written_clash` wrote. Raises UnreadableError."""
    try:
        return Clash(tuple(_read_rule(*rule) for rule in json.loads(text)))
    except (KeyError, TypeError, ValueError) as error:
        raise UnreadableError("These are no rules of a class.") from error


def _rule(rule: Rule) -> list[object]:
    if isinstance(rule, Pin):
        return ["pin", rule.person, rule.rotation, rule.station]
    if isinstance(rule, Apart):
        return ["apart", rule.one, rule.other]
    return ["limit", rule]


def _read_rule(kind: str, *what: Any) -> Rule:  # noqa: ANN401 (as JSON has it)
    limits: Mapping[str, Limit] = {"coaches": "coaches", "most_resets": "most_resets"}
    return {"pin": Pin, "apart": Apart}[kind](*what) if kind != "limit" else limits[what[0]]
