"""What if there were one more low bar, a third more people, or two coaches? A class asked anew, and what came of it.

Nothing is said of what people would learn: a plan tells who has a place, at which step, and for how many minutes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from skills.core.rotation.asks import Ask, Choice, Person, Place, Plan, Seat
from skills.core.rotation.checking import idle_of, resets_of

ONE_MORE: Final = "one more low bar"  # its key: no station of a gym is called so, since theirs are ids
AGAIN: Final = " again"  # ends the key of somebody who is counted a second time
PEOPLE_FOR: Final = (16, 12)  # so many people instead of so many


class NothingToChangeError(ValueError):
    """The question changes nothing, or asks for one more of what is not there; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Change:
    """What is asked: any of the three, together. Raises NothingToChangeError where none is."""

    low_bar: bool = False
    people: bool = False
    coach: bool = False

    def __post_init__(self) -> None:
        if not (self.low_bar or self.people or self.coach):
            raise NothingToChangeError("Choose at least one thing that would be different.")


def changed(ask: Ask, change: Change, *, bar: str | None) -> Ask:
    """Return the class as it would be; `bar` is the low bar of which there would be one more.

    Raises NothingToChangeError where a bar is asked for and there is none to be like.
    """
    if change.low_bar:
        if bar is None:
            raise NothingToChangeError("No low bar is among the stations, so there is none to have one more of.")
        ask = _with_bar(ask, bar)
    if change.people:
        ask = _with_people(ask)
    # Whoever comes second may do what the first one may.
    return replace(ask, coaches=ask.coaches + 1, judges=ask.judges + min(ask.judges, 1)) if change.coach else ask


def _with_bar(ask: Ask, bar: str) -> Ask:
    """Add a station like the bar, free to be set, where everybody may do what they may do there."""
    like = replace(ask.station[bar], key=ONE_MORE, hole=None)
    people = tuple(replace(person, choices=_everywhere(person, bar)) for person in ask.people)
    return replace(ask, stations=(*ask.stations, like), people=people)


def _everywhere(person: Person, bar: str) -> tuple[Choice, ...]:
    return tuple(replace(choice, places=(*choice.places, *_copies(choice, bar))) for choice in person.choices)


def _copies(choice: Choice, bar: str) -> tuple[Place, ...]:
    return tuple(replace(place, station=ONE_MORE) for place in choice.places if place.station == bar)


def _with_people(ask: Ask) -> Ask:
    """Count some people twice, one at least, taken from the class at even distances in its order."""
    size, (more, of) = len(ask.people), PEOPLE_FOR
    extra = max(size * more // of - size, 1) if size else 0
    drawn = (ask.people[(2 * place + 1) * size // (2 * extra)] for place in range(extra))
    return replace(ask, people=(*ask.people, *(replace(person, key=person.key + AGAIN) for person in drawn)))


# ---- What a plan comes to -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Minutes:
    """How long a rotation is, and how long it takes to set a tied bar to another hole."""

    rotation: int
    reset: int


@dataclass(frozen=True, slots=True)
class Practice:
    """What a plan comes to, added up over everybody in the class. `worth` and `bound` in points of the weights."""

    people: int
    idle_minutes: int
    in_hand_rotations: int
    in_hand_minutes: int
    resets: int
    worth: int
    bound: int


def practice_of(ask: Ask, plan: Plan, minutes: Minutes) -> Practice:
    """Add a plan up. Who begins a rotation at a bar that is being set to another hole waits for it that long."""
    waiting = [seat for seat in plan.seats if _waits(plan, seat)]
    in_hand = [seat for seat in plan.seats if ask.choice(seat).role == "in_hand"]
    waiting_in_hand = sum(ask.choice(seat).role == "in_hand" for seat in waiting)
    return Practice(
        people=len(ask.people),
        idle_minutes=idle_of(ask, plan) * minutes.rotation + len(waiting) * minutes.reset,
        in_hand_rotations=len(in_hand),
        in_hand_minutes=len(in_hand) * minutes.rotation - waiting_in_hand * minutes.reset,
        resets=resets_of(ask, plan),
        worth=plan.worth,
        bound=plan.bound,
    )


def _waits(plan: Plan, seat: Seat) -> bool:
    """Whether the bar of a seat is set to its hole only as the rotation begins; before the class it is set in time."""
    before = plan.holes.get((seat.rotation - 1, seat.station))
    return seat.hole is not None and before is not None and before != seat.hole


# ---- Before and after -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Pair:
    """One class as it was, and as it would be."""

    before: Practice
    after: Practice


@dataclass(frozen=True, slots=True)
class Effect:
    """A measure over all classes, before and after; `least` and `most` are the differences of single classes."""

    before: float
    after: float
    least: float
    most: float

    @property
    def difference(self) -> float:
        """How much more it is afterwards."""
        return self.after - self.before


Measure = Callable[[Practice], tuple[int, int]]

# What is counted, and over how many: people, or the class itself.
MEASURES: Final[dict[str, Measure]] = {
    "idle_minutes": lambda practice: (practice.idle_minutes, practice.people),
    "in_hand_minutes": lambda practice: (practice.in_hand_minutes, practice.people),
    "in_hand_rotations": lambda practice: (practice.in_hand_rotations, practice.people),
    "resets": lambda practice: (practice.resets, 1),
}


def effect(name: str, pairs: Sequence[Pair]) -> Effect:
    """Return a measure of MEASURES over some classes, one at least with somebody in each.

    Raises ValueError for none, KeyError for another name.
    """
    if not pairs:
        raise ValueError("Without a class nothing has an effect.")
    measure = MEASURES[name]
    apart = [_share([pair.after], measure) - _share([pair.before], measure) for pair in pairs]
    before, after = ([getattr(pair, side) for pair in pairs] for side in ("before", "after"))
    return Effect(_share(before, measure), _share(after, measure), min(apart), max(apart))


def _share(practices: Sequence[Practice], measure: Measure) -> float:
    counted = [measure(practice) for practice in practices]
    return sum(count for count, _ in counted) / sum(over for _, over in counted)
