"""From who is there, what is open to them and what stations there are, to the ask of a class plan.

What must never be met is left out here and not weighed against anything: a step that is closed, paused, under a
caution or without its consent is no choice of anybody's, and a low bar has no hole for a body that nobody measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from skills.core.body_heights import Height
from skills.core.rotation.asks import Ask, Choice, Person, Place, Role, Station
from skills.core.set_up import BarPlace, low_fit, low_setting

Clearance = Literal["", "spotted", "present", "alone"]
MOST_ACCESSORIES: Final = 3  # ours: more would only make the plan longer to find and to read
# Common practice, no source: the first time over or under a high bar two people stand by.
FIRST_TRY_SPOTTERS: Final = 2


@dataclass(frozen=True, slots=True)
class Doable:
    """A step that somebody may do today, and as what. `kind` is the kind of station at which it is done.

    `first_try`: inverted, and never tried before by this person.
    """

    step: str
    kind: str
    role: Role
    inverted: bool = False
    clearance: Clearance = ""
    first_try: bool = False

    @property
    def spotters(self) -> int:
        """How many pairs of a coach's hands it takes."""
        if self.first_try and self.inverted and self.kind == "high_bar":
            return FIRST_TRY_SPOTTERS
        return int(self.clearance == "spotted")


@dataclass(frozen=True, slots=True)
class Somebody:
    """A person in the class. `chest` and `armpit` are None where nothing is known of the body's height."""

    key: str
    doables: tuple[Doable, ...]
    chest: Height | None = None
    armpit: Height | None = None
    comes: int = 0
    goes: int | None = None
    had: tuple[tuple[str, Role, int], ...] = ()  # step, as what, how often in rotations that are over
    idled: int = 0


@dataclass(frozen=True, slots=True)
class Stand:
    """A station. `serves` are the only steps that it serves, None for all of its kind; `hole` where its bar is now."""

    key: str
    kind: str
    capacity: int
    bar: BarPlace | None = None
    hole: int | None = None
    serves: frozenset[str] | None = None

    @property
    def adjustable(self) -> bool:
        """Whether it has a bar that is set to people's height."""
        return self.bar is not None and not isinstance(self.bar.stands, int)

    def takes(self, doable: Doable) -> bool:
        """Whether a step is done here."""
        return self.kind == doable.kind and (self.serves is None or doable.step in self.serves)


@dataclass(frozen=True, slots=True)
class Limits:
    """How long the class is and how it is led; as in `Ask`."""

    rotations: int
    coaches: int
    judges: int
    most_resets: int | None = 1


def ask_of(people: Iterable[Somebody], stands: Sequence[Stand], limits: Limits) -> Ask:
    """Return the ask, without a coach's words in it."""
    return Ask(
        people=tuple(_person(somebody, stands) for somebody in people),
        stations=tuple(Station(stand.key, stand.capacity, stand.adjustable, stand.hole) for stand in stands),
        rotations=limits.rotations,
        coaches=limits.coaches,
        judges=min(limits.judges, limits.coaches),
        most_resets=limits.most_resets,
    )


def without_height(people: Iterable[Somebody], stands: Sequence[Stand]) -> tuple[str, ...]:
    """Return who would have a place at a bar that is set, if only their height were known."""
    return tuple(
        somebody.key
        for somebody in people
        if somebody.chest is None
        and any(stand.adjustable and stand.takes(doable) for stand in stands for doable in somebody.doables)
    )


def _person(somebody: Somebody, stands: Sequence[Stand]) -> Person:
    choices = tuple(_choice(somebody, doable, stands) for doable in somebody.doables)
    had = [
        (place, times)
        for step, role, times in somebody.had
        for place, choice in enumerate(choices)
        if (choice.step, choice.role) == (step, role)
    ]
    return Person(somebody.key, choices, somebody.comes, somebody.goes, tuple(had), somebody.idled)


def _choice(somebody: Somebody, doable: Doable, stands: Sequence[Stand]) -> Choice:
    places = [place for stand in stands if stand.takes(doable) for place in _places(somebody, stand)]
    return Choice(doable.step, doable.role, tuple(sorted(places)), doable.spotters, doable.inverted)


def _places(somebody: Somebody, stand: Stand) -> list[Place]:
    if not stand.adjustable or stand.bar is None:
        return [Place(stand.key)]
    if somebody.chest is None or somebody.armpit is None:
        return []
    best = low_setting(stand.bar, somebody.chest, somebody.armpit)
    if best is None or best.setting.hole is None:
        return []
    fits = (low_fit(stand.bar, setting, somebody.chest, somebody.armpit) for setting in stand.bar.settings)
    holes = [fit.setting.hole for fit in fits if fit.suits and fit.setting.hole is not None]
    lower = [hole for hole in holes if hole <= best.setting.hole] or [best.setting.hole]
    return [Place(stand.key, hole, best.setting.hole - hole) for hole in lower]
