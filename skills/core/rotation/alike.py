"""People who are alike: with the same choices, there at the same time, and of whom no rule speaks by name.

A plan need only say how many of them do what in each rotation. Who does what is dealt afterwards (`spreading`), as
evenly as can be, which is what the falling worth of each further time asks for.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from skills.core.rotation.asks import Ask, Choice, Person


@dataclass(frozen=True, slots=True)
class Kind:
    """People who are alike, by key; `like` is any of them."""

    keys: tuple[str, ...]
    like: Person

    @property
    def size(self) -> int:
        """How many they are."""
        return len(self.keys)

    def choices_of(self, role: str, step: str) -> tuple[int, ...]:
        """Return the places of the choices of one role and step."""
        return tuple(
            place for place, choice in enumerate(self.like.choices) if choice.role == role and choice.step == step
        )

    def doings(self) -> tuple[tuple[str, str], ...]:
        """Return each role and step once, in order: how often a person gets that is what is worth less each time."""
        return tuple(dict.fromkeys((choice.role, choice.step) for choice in self.like.choices))

    def had(self, role: str, step: str) -> int:
        """Return how often one of them has had a role and step in rotations that are over."""
        return sum(self.like.times(choice) for choice in self.choices_of(role, step))


Likeness = tuple[tuple[Choice, ...], int, int | None, tuple[tuple[int, int], ...], int, str]


def kinds_of(ask: Ask) -> tuple[Kind, ...]:
    """Return everybody, those who are alike together, in the order of the first of each."""
    found: dict[Likeness, list[Person]] = {}
    named = set(_named(ask))
    for person in ask.people:
        alone = person.key if person.key in named else ""
        likeness = (person.choices, person.comes, person.goes, person.had, person.idled, alone)
        found.setdefault(likeness, []).append(person)
    return tuple(Kind(tuple(person.key for person in alike), alike[0]) for alike in found.values())


def _named(ask: Ask) -> Iterator[str]:
    yield from (pin.person for pin in ask.pins)
    yield from (seat.person for seat in ask.before)
    for pair in ask.apart:
        yield from (pair.one, pair.other)
