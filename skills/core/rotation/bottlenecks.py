"""What holds a plan back: stations that more people need than get to them, counted from the plan alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from skills.core.rotation.asks import Ask, Choice, Person, Plan


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """Stations, by key, at which alone some people's step in hand is done.

    `wanting` are these people's keys, `never` those of them who do it in no rotation; `places` how many there are at a
    time, `led` whether the step takes a coach's hands or eyes for any of them.
    """

    stations: tuple[str, ...]
    places: int
    wanting: tuple[str, ...]
    never: tuple[str, ...]
    led: bool


def bottlenecks_of(ask: Ask, plan: Plan) -> tuple[Bottleneck, ...]:
    """Return the stations that do not serve everybody who needs them, the one with most people left out first."""
    groups: dict[tuple[str, ...], list[Person]] = defaultdict(list)
    for person in ask.people:
        stations = tuple(sorted({place.station for choice in _in_hand(person) for place in choice.places}))
        if stations:
            groups[stations].append(person)
    served = _served(ask, plan)
    found = (_bottleneck(ask, stations, people, served) for stations, people in groups.items())
    short = (each for each in found if each.never)
    return tuple(sorted(short, key=lambda each: (-len(each.never), each.stations)))


def nowhere(ask: Ask) -> tuple[tuple[str, str], ...]:
    """Return who has a step in hand for which there is no place at all, with that step."""
    return tuple((person.key, choice.step) for person in ask.people for choice in _in_hand(person) if not choice.places)


def _in_hand(person: Person) -> list[Choice]:
    return [choice for choice in person.choices if choice.role == "in_hand"]


def _served(ask: Ask, plan: Plan) -> frozenset[str]:
    """Return who does, or did before, the step in hand."""
    now = {seat.person for seat in plan.seats if ask.choice(seat).role == "in_hand"}
    before = {person.key for person in ask.people for at, _ in person.had if person.choices[at].role == "in_hand"}
    return frozenset(now | before)


def _bottleneck(ask: Ask, stations: tuple[str, ...], people: Iterable[Person], served: frozenset[str]) -> Bottleneck:
    wanting = tuple(people)
    return Bottleneck(
        stations,
        places=sum(ask.station[key].capacity for key in stations),
        wanting=tuple(person.key for person in wanting),
        never=tuple(person.key for person in wanting if person.key not in served),
        led=any(choice.spotters or choice.inverted for person in wanting for choice in _in_hand(person)),
    )
