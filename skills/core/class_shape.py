"""How a class is laid out in time and led, and what a coach fixed in it; and what of that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from skills.core.rotation.asks import Apart, Pin

MOST_ROTATIONS: Final = 12
ROTATION_MINUTES: Final = (3, 60)
MOST_MINUTES: Final = 240
MOST_COACHES: Final = 12
MOST_RESETS: Final = 12


@dataclass(frozen=True, slots=True)
class Shape:
    """The lengths in minutes, who leads, and how often bars may be re-set in what is planned (None: no limit).

    `judges` of the `coaches` may hold a test. A re-set is made at the beginning of its rotation.
    """

    minutes: int = 60
    warm_up_minutes: int = 10
    rotation_minutes: int = 12
    reset_minutes: int = 3
    coaches: int = 1
    judges: int = 1
    most_resets: int | None = 1

    @property
    def rotations(self) -> int:
        """How many whole rotations fit after the warm-up."""
        return max(0, self.minutes - self.warm_up_minutes) // max(1, self.rotation_minutes)

    @property
    def left_minutes(self) -> int:
        """What is left of the class after the last rotation."""
        return self.minutes - self.warm_up_minutes - self.rotations * self.rotation_minutes


@dataclass(frozen=True, slots=True)
class Words:
    """What a coach said: who is where, who is kept apart. Rotations are those of the class, numbered from 0."""

    pins: tuple[Pin, ...] = ()
    apart: tuple[Apart, ...] = ()

    def fixing(self, pin: Pin) -> Words:
        """Return them with that pin in place of any other of the same person and rotation."""
        return replace(self, pins=(*self.freeing(pin.person, pin.rotation).pins, pin))

    def freeing(self, person: str, rotation: int) -> Words:
        """Return them without the pin of that person and rotation."""
        pins = tuple(pin for pin in self.pins if (pin.person, pin.rotation) != (person, rotation))
        return replace(self, pins=pins)

    def parting(self, one: str, other: str) -> Words:
        """Return them with these two kept apart, once."""
        return replace(self, apart=(*self.joining(one, other).apart, Apart(*sorted((one, other)))))

    def joining(self, one: str, other: str) -> Words:
        """Return them with these two no longer kept apart."""
        apart = tuple(pair for pair in self.apart if {pair.one, pair.other} != {one, other})
        return replace(self, apart=apart)


@dataclass(frozen=True, slots=True)
class ShapeProblem:
    """What is wrong with a field."""

    field: str
    sentence: str


def shape_problems(shape: Shape, first_rotation: int = 0) -> tuple[ShapeProblem, ...]:
    """Return everything that is wrong with a shape that is planned from a rotation on."""
    return tuple(_problems(shape, first_rotation))


def _problems(shape: Shape, first_rotation: int) -> Iterator[ShapeProblem]:
    least, most = ROTATION_MINUTES
    if not 1 <= shape.minutes <= MOST_MINUTES:
        yield ShapeProblem("minutes", f"A class lasts from 1 to {MOST_MINUTES} minutes.")
    if not least <= shape.rotation_minutes <= most:
        yield ShapeProblem("rotation_minutes", f"A rotation lasts from {least} to {most} minutes.")
    if shape.warm_up_minutes < 0:
        yield ShapeProblem("warm_up_minutes", "The warm-up lasts 0 minutes or longer.")
    elif not shape.rotations:
        yield ShapeProblem("minutes", "No whole rotation fits into the class after the warm-up.")
    elif shape.rotations > MOST_ROTATIONS:
        words = f"That makes {shape.rotations} rotations, and {MOST_ROTATIONS} is the most: make them longer."
        yield ShapeProblem("rotation_minutes", words)
    elif not 0 <= first_rotation < shape.rotations:
        yield ShapeProblem("first_rotation", f"The class has {shape.rotations} rotations: begin with one of these.")
    if not 0 <= shape.reset_minutes < shape.rotation_minutes:
        yield ShapeProblem("reset_minutes", "Setting a bar takes 0 minutes or longer, and less than a rotation.")
    yield from _coach_problems(shape)


def _coach_problems(shape: Shape) -> Iterator[ShapeProblem]:
    if not 1 <= shape.coaches <= MOST_COACHES:
        yield ShapeProblem("coaches", f"From 1 to {MOST_COACHES} coaches lead a class.")
    elif not 0 <= shape.judges <= shape.coaches:
        yield ShapeProblem("judges", "No more coaches can hold a test than there are.")
    if shape.most_resets is not None and not 0 <= shape.most_resets <= MOST_RESETS:
        yield ShapeProblem("most_resets", f"Bars are re-set from 0 to {MOST_RESETS} times.")
