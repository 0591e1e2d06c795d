"""What a class plan is made from, and what it is."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from skills.core.rotation.weights import WEIGHTS, Weights

Role = Literal["in_hand", "earlier", "accessory", "test"]
Task = Literal["spots", "watches"]
Proof = Literal["optimal", "within", "stopped", "in_turn"]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A station, and for a bar in holes the hole it is set to; `misfit` holes away from the one that suits best."""

    station: str
    hole: int | None = None
    misfit: int = 0


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing a person may do in a rotation, at any of its places. Never one that a caution forbids.

    `spotters` are the coaches' hands that it takes; `inverted` wants a coach at the station; a `test` role wants a
    coach there who watches.
    """

    step: str
    role: Role
    places: tuple[Place, ...]
    spotters: int = 0
    inverted: bool = False

    @property
    def watched(self) -> bool:
        """Whether a coach who has nobody in hand must look on."""
        return self.role == "test"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody in the class, what they may do, and what they had in rotations that are over.

    Present from rotation `comes` until before rotation `goes` (None: to the end). `had` are pairs of a choice's
    place among `choices` and how often it was done; `idled` how often they stood idle.
    """

    key: str
    choices: tuple[Choice, ...]
    comes: int = 0
    goes: int | None = None
    had: tuple[tuple[int, int], ...] = ()
    idled: int = 0

    def present(self, rotation: int) -> bool:
        """Whether the person is there in that rotation."""
        return self.comes <= rotation and (self.goes is None or rotation < self.goes)

    def times(self, choice: int) -> int:
        """Return how often a choice was done in rotations that are over."""
        return dict(self.had).get(choice, 0)


@dataclass(frozen=True, slots=True)
class Station:
    """A place to work for `capacity` people at a time. `hole` is where an adjustable bar is set now, None if free."""

    key: str
    capacity: int
    adjustable: bool = False
    hole: int | None = None


@dataclass(frozen=True, slots=True, order=True)
class Pin:
    """A coach's word: this person is at this station in this rotation, whatever they do there."""

    person: str
    rotation: int
    station: str


@dataclass(frozen=True, slots=True, order=True)
class Apart:
    """A coach's word: these two are never at one station in the same rotation."""

    one: str
    other: str


@dataclass(frozen=True, slots=True, order=True)
class Seat:
    """One person's rotation: what they do and where. `choice` is its place among the person's choices."""

    rotation: int
    person: str
    choice: int
    station: str
    hole: int | None = None


class BadAskError(ValueError):
    """The ask names what is not there; the message says where."""


@dataclass(frozen=True)  # without slots: what is derived is kept on the object
class Ask:
    """A class to be planned: rotations are numbered from 0.

    `coaches` are there in all; `judges` of them may hold a test. `most_resets` is how often bars may be set to
    another hole in all (None: as often as is worth it); `before` are the seats of an earlier plan, to be kept where
    nothing speaks against it. Raises BadAskError.
    """

    people: tuple[Person, ...]
    stations: tuple[Station, ...]
    rotations: int
    coaches: int = 1
    judges: int = 1
    most_resets: int | None = 1
    watched_at_once: int = 3
    pins: tuple[Pin, ...] = ()
    apart: tuple[Apart, ...] = ()
    before: tuple[Seat, ...] = ()
    weights: Weights = field(default=WEIGHTS)

    def __post_init__(self) -> None:
        if self.rotations < 1:
            raise BadAskError("A class has at least one rotation.")
        _once("person", (person.key for person in self.people))
        _once("station", (station.key for station in self.stations))
        for person in self.people:
            self._check_person(person)
        for pin in self.pins:
            self._known(pin.person, pin.station)
            if not 0 <= pin.rotation < self.rotations:
                raise BadAskError(f"Rotation {pin.rotation} is not in the class.")
        for pair in self.apart:
            self._known(pair.one)
            self._known(pair.other)

    def _check_person(self, person: Person) -> None:
        for choice in person.choices:
            for place in choice.places:
                station = self.station.get(place.station)
                if station is None:
                    raise BadAskError(f"{person.key} is to work at {place.station!r}, which is no station.")
                if station.adjustable != (place.hole is not None):
                    raise BadAskError(f"A hole belongs to {station.key!r} if and only if it can be set.")

    def _known(self, person: str, station: str | None = None) -> None:
        if person not in self.person:
            raise BadAskError(f"{person!r} is not in the class.")
        if station is not None and station not in self.station:
            raise BadAskError(f"{station!r} is no station.")

    @cached_property
    def person(self) -> Mapping[str, Person]:
        """People by key."""
        return {person.key: person for person in self.people}

    @cached_property
    def station(self) -> Mapping[str, Station]:
        """Stations by key."""
        return {station.key: station for station in self.stations}

    def choice(self, seat: Seat) -> Choice:
        """Return what is done on a seat."""
        return self.person[seat.person].choices[seat.choice]


@dataclass(frozen=True, slots=True, order=True)
class Post:
    """Coaches at a station in a rotation, and what they do there."""

    rotation: int
    station: str
    task: Task
    coaches: int = 1


@dataclass(frozen=True)
class Plan:
    """A plan: seats in order (who has none in a rotation stands idle), holes of all adjustable bars, coaches' posts.

    `worth` in points of the weights; `bound` is what no plan can exceed. `proof` tells how the two were found; of a
    plan made "in_turn", without a search, nothing is known of better ones, and its bound is its worth.
    """

    seats: tuple[Seat, ...]
    holes: Mapping[tuple[int, str], int]
    posts: tuple[Post, ...]
    worth: int
    bound: int
    proof: Proof

    @property
    def gap(self) -> float:
        """Return how much better a plan could be at most, as a share of this one's bound."""
        return (self.bound - self.worth) / self.bound if self.bound > 0 else 0.0

    def seat_of(self, person: str, rotation: int) -> Seat | None:
        """Return somebody's seat in a rotation, None while idle."""
        return next((seat for seat in self.seats if seat.person == person and seat.rotation == rotation), None)


def _once(what: str, keys: Iterable[str]) -> None:
    seen: set[str] = set()
    for key in keys:
        if key in seen:
            raise BadAskError(f"The {what} {key!r} is named twice.")
        seen.add(key)
