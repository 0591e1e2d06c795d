"""What can be done to somebody in a plan: each way is a button that has the class planned again around it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from skills.core.class_shape import Words
from skills.core.rotation.asks import Ask, Pin, Seat
from skills.core.rotation.clashes import Rule
from skills.forms.class_plans import Fields, fields_of
from skills.queries.books import Book
from skills.queries.kept_plans import WholePlan
from skills.showing.class_plans import Names, step_words
from skills.showing.plan_words import rule_words

_ANY = "any"


@dataclass(frozen=True, slots=True)
class Move:
    """A button: what it says, what it says more quietly, and the fields that it sends."""

    label: str
    quiet: str
    fields: Fields


@dataclass(frozen=True, slots=True)
class Moves:
    """Everything that can be done to one person in one rotation. `now` says where they are, "" without a place."""

    label: str
    number: int
    now: str
    over: bool
    free: Move | None
    fix: tuple[Move, ...]
    swap: tuple[Move, ...]
    part: tuple[Move, ...]
    join: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Desk:
    """What a coach plans with: the plans that were made, names, the form's values and the words said so far."""

    book: Book
    whole: WholePlan
    names: Names
    values: Mapping[str, Any]
    words: Words

    def move(self, words: Words, label: str, quiet: str = "") -> Move:
        """Return the button that plans again with these words."""
        return Move(label, quiet, fields_of(self.values, words))


def moves_of(desk: Desk, key: str, rotation: int) -> Moves:
    """Return what can be done to somebody in a rotation of the class, numbered from 0."""
    kept, labels, stations = desk.whole.of(rotation), desk.names.labels, desk.names.stations
    seats = {seat.person: seat for seat in desk.whole.seats(rotation)}
    mine = seats.get(key)
    pinned = any((pin.person, pin.rotation) == (key, rotation) for pin in desk.words.pins)
    now = ""
    if mine:
        doing = step_words(desk.book, kept.ask.choice(mine).step)
        now = f"{stations.get(mine.station, 'a station')}: {doing}"
    return Moves(
        label=labels[key],
        number=rotation + 1,
        now=now,
        over=rotation < int(desk.values["first_rotation"]),
        free=desk.move(desk.words.freeing(key, rotation), "No longer fixed") if pinned else None,
        fix=tuple(_fix(desk, kept.ask, key, rotation)),
        swap=tuple(_swap(desk, kept.ask, seats, key, rotation)) if mine else (),
        part=tuple(_part(desk, kept.ask, key)),
        join=tuple(_join(desk, key)),
    )


def _fix(desk: Desk, ask: Ask, key: str, rotation: int) -> Iterator[Move]:
    for station in ask.stations:
        steps = _doable_at(desk.book, ask, key, station.key)
        pin = Pin(key, rotation, station.key)
        if steps and pin not in desk.words.pins:
            name = desk.names.stations.get(station.key, "a station")
            yield desk.move(desk.words.fixing(pin), f"Fix at {name}", ", ".join(steps))


def _swap(desk: Desk, ask: Ask, seats: Mapping[str, Seat], key: str, rotation: int) -> Iterator[Move]:
    """Yield whoever could take the place, and has a place that could be taken."""
    mine = seats[key]
    for other, seat in sorted(seats.items(), key=lambda pair: desk.names.people[pair[0]].number):
        if seat.station == mine.station:
            continue
        if _doable_at(desk.book, ask, key, seat.station) and _doable_at(desk.book, ask, other, mine.station):
            words = desk.words.fixing(Pin(key, rotation, seat.station)).fixing(Pin(other, rotation, mine.station))
            yield desk.move(words, f"Swap with {desk.names.labels[other]}", desk.names.stations.get(seat.station, ""))


def _doable_at(book: Book, ask: Ask, key: str, station: str) -> list[str]:
    choices = ask.person[key].choices if key in ask.person else ()
    there = (choice.step for choice in choices if any(place.station == station for place in choice.places))
    return [step_words(book, code) for code in dict.fromkeys(there)]


def _part(desk: Desk, ask: Ask, key: str) -> Iterator[Move]:
    parted = _parted(desk.words, key)
    for person in ask.people:
        if person.key != key and person.key not in parted:
            yield desk.move(desk.words.parting(key, person.key), desk.names.labels[person.key])


def _join(desk: Desk, key: str) -> Iterator[Move]:
    for other in _parted(desk.words, key):
        if other in desk.names.labels:
            yield desk.move(desk.words.joining(key, other), desk.names.labels[other])


def _parted(words: Words, key: str) -> list[str]:
    return [pair.other if pair.one == key else pair.one for pair in words.apart if key in {pair.one, pair.other}]


# ---- Words that clash -----------------------------------------------------------------------------------------------


def clash_moves(
    rules: tuple[Rule, ...], names: Names, values: Mapping[str, Any], words: Words
) -> tuple[tuple[str, Move], ...]:
    """Return each rule of a clash in a sentence, with the button that lets it go; rotations are those of the class."""
    return tuple((rule_words(rule, names.stations, names.labels), _drop(rule, values, words)) for rule in rules)


def _drop(rule: Rule, values: Mapping[str, Any], words: Words) -> Move:
    if isinstance(rule, Pin):
        return Move("Let it go", "", fields_of(values, words.freeing(rule.person, rule.rotation)))
    if rule == "most_resets":
        return Move("Re-set as often as it is worth", "", fields_of({**values, "most_resets": _ANY}, words))
    if rule == "coaches":
        more = {"coaches": int(values["coaches"]) + 1, "judges": int(values["judges"]) + 1}
        return Move("One coach more, who may sign off", "", fields_of({**values, **more}, words))
    return Move("Let it go", "", fields_of(values, words.joining(rule.one, rule.other)))
