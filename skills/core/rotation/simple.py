"""Plans that coaches make without a solver, to compare with, and to fall back on.

Both keep every hard rule. `first_come`: in each rotation people choose in turn the free place that is worth most to
them, beginning with whoever waited longest; a bar is set for the first who takes it. `circuit`: everybody goes
around the stations in a fixed order, one station on in each rotation, and stands idle where there is nothing for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from skills.core.rotation.asks import Ask, Person, Place, Plan, Post, Seat
from skills.core.rotation.checking import worth_of


def first_come(ask: Ask) -> Plan:
    """Return the plan of people who choose in turn. Pins are kept where there is room; otherwise they are not."""
    day = _Day(ask)
    for rotation in range(ask.rotations):
        for key in day.in_turn(rotation):
            day.seat_best(key, rotation, lambda _place: True)
    return day.plan()


def circuit(ask: Ask) -> Plan:
    """Return the plan of a fixed circuit: person i begins at station i, and moves on by one in each rotation."""
    day = _Day(ask)
    stations = [station.key for station in ask.stations]
    for rotation in range(ask.rotations):
        for number, person in enumerate(ask.people):
            if person.present(rotation) and stations:
                goes_to = stations[(number + rotation) % len(stations)]
                day.seat_best(person.key, rotation, lambda place, to=goes_to: place.station == to)  # type: ignore[misc]
    return day.plan()


@dataclass
class _Day:
    """A plan under construction; a seat is given only where no rule speaks against it."""

    ask: Ask
    seats: list[Seat] = field(default_factory=list)
    holes: dict[tuple[int, str], int] = field(default_factory=dict)
    resets: int = 0
    had: dict[tuple[str, str, str], int] = field(default_factory=dict)
    practised: dict[str, int] = field(default_factory=dict)
    posts: dict[tuple[int, str], tuple[int, int]] = field(default_factory=dict)  # hands that spot, people watched
    led: set[tuple[int, str]] = field(default_factory=set)  # stations where somebody is upside down
    at: dict[tuple[int, str], list[Seat]] = field(default_factory=dict)

    def in_turn(self, rotation: int) -> list[str]:
        """Return who is there, those who practised least first."""
        there = [person.key for person in self.ask.people if person.present(rotation)]
        pinned = {pin.person for pin in self.ask.pins if pin.rotation == rotation}
        return sorted(there, key=lambda key: (key not in pinned, self.practised.get(key, 0)))

    def seat_best(self, key: str, rotation: int, wanted: Callable[[Place], bool]) -> None:
        """Give somebody the best place of those wanted, if there is one that may be had."""
        person = self.ask.person[key]
        pins = [pin.station for pin in self.ask.pins if (pin.person, pin.rotation) == (key, rotation)]
        ways = [
            (self._worth(person, number, place, rotation), number, place)
            for number, choice in enumerate(person.choices)
            for place in choice.places
            if wanted(place) and (not pins or place.station in pins)
        ]
        for _, number, place in sorted(ways, key=lambda way: (-way[0], way[1], way[2])):
            seat = Seat(rotation, key, number, place.station, place.hole)
            if self._may(seat):
                self._take(seat)
                return

    def _worth(self, person: Person, number: int, place: Place, rotation: int) -> int:
        choice, weights = person.choices[number], self.ask.weights
        worth = weights.again(choice.role, self._times(person, number)) - weights.misfit * place.misfit
        worth -= weights.late_inversion * rotation if choice.inverted else 0
        return worth - (weights.reset if self._resets(rotation, place) else 0)

    def _times(self, person: Person, number: int) -> int:
        choice = person.choices[number]
        before = sum(
            person.times(other)
            for other, given in enumerate(person.choices)
            if (given.role, given.step) == (choice.role, choice.step)
        )
        return before + self.had.get((person.key, choice.role, choice.step), 0)

    def _resets(self, rotation: int, place: Place) -> bool:
        """Whether the place asks for the bar to be set to another hole."""
        if place.hole is None or (rotation, place.station) in self.holes:
            return False
        last = self._last_hole(place.station, rotation)
        return last is not None and last != place.hole

    def _last_hole(self, key: str, rotation: int) -> int | None:
        before = [hole for (at, bar), hole in sorted(self.holes.items()) if bar == key and at < rotation]
        return before[-1] if before else self.ask.station[key].hole

    def _may(self, seat: Seat) -> bool:
        ask, choice = self.ask, self.ask.choice(seat)
        there = self.at.get((seat.rotation, seat.station), [])
        if len(there) >= ask.station[seat.station].capacity:
            return False
        if seat.hole is not None and self.holes.get((seat.rotation, seat.station), seat.hole) != seat.hole:
            return False
        if self._resets(seat.rotation, Place(seat.station, seat.hole)) and self._no_more_resets():
            return False
        if any({seat.person, other.person} == {pair.one, pair.other} for other in there for pair in ask.apart):
            return False
        if choice.watched and self._times(ask.person[seat.person], seat.choice):
            return False
        return self._coached(self._posts_with(seat), seat.rotation)

    def _no_more_resets(self) -> bool:
        return self.ask.most_resets is not None and self.resets >= self.ask.most_resets

    def _posts_with(self, seat: Seat) -> dict[tuple[int, str], tuple[int, int]]:
        choice = self.ask.choice(seat)
        spots, watched = self.posts.get((seat.rotation, seat.station), (0, 0))
        with_it = (spots + choice.spotters, watched + choice.watched)
        led = choice.inverted or (seat.rotation, seat.station) in self.led
        # Where somebody is upside down a coach is there, if only to look on.
        return {**self.posts, (seat.rotation, seat.station): with_it if any(with_it) or not led else (0, 1)}

    def _coached(self, posts: dict[tuple[int, str], tuple[int, int]], rotation: int) -> bool:
        here = [post for (at, _), post in posts.items() if at == rotation]
        watching = sum(self._watchers(watched) for _, watched in here)
        return watching <= self.ask.judges and sum(spots for spots, _ in here) + watching <= self.ask.coaches

    def _watchers(self, watched: int) -> int:
        return -(-watched // self.ask.watched_at_once)

    def _take(self, seat: Seat) -> None:
        choice = self.ask.choice(seat)
        self.posts = self._posts_with(seat)
        if choice.inverted:
            self.led.add((seat.rotation, seat.station))
        if seat.hole is not None:
            self.resets += self._resets(seat.rotation, Place(seat.station, seat.hole))
            self.holes[seat.rotation, seat.station] = seat.hole
        self.at.setdefault((seat.rotation, seat.station), []).append(seat)
        self.seats.append(seat)
        doing = (seat.person, choice.role, choice.step)
        self.had[doing] = self.had.get(doing, 0) + 1
        self.practised[seat.person] = self.practised.get(seat.person, 0) + 1

    def plan(self) -> Plan:
        """Return the finished plan; a bar that nobody uses stays as it is."""
        plan = Plan(tuple(sorted(self.seats)), self._all_holes(), self._all_posts(), 0, 0, "in_turn")
        worth = worth_of(self.ask, plan)
        return Plan(plan.seats, plan.holes, plan.posts, worth, worth, "in_turn")

    def _all_holes(self) -> dict[tuple[int, str], int]:
        holes: dict[tuple[int, str], int] = {}
        for station in self.ask.stations:
            used = [(rotation, hole) for (rotation, key), hole in sorted(self.holes.items()) if key == station.key]
            now = station.hole if station.hole is not None else next((hole for _, hole in used), None)
            for rotation in range(self.ask.rotations):
                now = dict(used).get(rotation, now)
                if now is not None:
                    holes[rotation, station.key] = now
        return holes

    def _all_posts(self) -> tuple[Post, ...]:
        return tuple(sorted(_posts(self.posts.items(), self._watchers)))


def _posts(posts: Iterable[tuple[tuple[int, str], tuple[int, int]]], watchers: Callable[[int], int]) -> Sequence[Post]:
    made: list[Post] = []
    for (rotation, key), (spots, watched) in posts:
        if spots:
            made.append(Post(rotation, key, "spots", spots))
        if watched:
            made.append(Post(rotation, key, "watches", watchers(watched)))
    return made
