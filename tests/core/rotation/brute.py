"""The best plan by trying everything: every seat of everybody in every rotation. For very small classes."""

from collections import Counter
from collections.abc import Iterator
from itertools import product
from math import prod

from skills.core.rotation.asks import Ask, Seat


def best_worth(ask: Ask) -> int | None:
    """What the best plan is worth, None where no plan keeps the rules."""
    rotations = [list(_rotation(ask, rotation)) for rotation in range(ask.rotations)]
    worths = [_worth(ask, [seat for seats in chosen for seat in seats]) for chosen in product(*rotations)]
    return max((worth for worth in worths if worth is not None), default=None)


def ways(ask: Ask) -> int:
    """How many plans there are to try, if no rule spoke against any."""
    return prod(len(_ways(ask, key, rotation)) for rotation in range(ask.rotations) for key in ask.person)


def _rotation(ask: Ask, rotation: int) -> Iterator[tuple[Seat, ...]]:
    ways = [_ways(ask, key, rotation) for key in ask.person]
    for chosen in product(*ways):
        seats = tuple(seat for seat in chosen if seat)
        if _holds(ask, seats, rotation):
            yield seats


def _ways(ask: Ask, key: str, rotation: int) -> list[Seat | None]:
    person = ask.person[key]
    if not person.present(rotation):
        return [None]
    return [None] + [
        Seat(rotation, key, number, place.station, place.hole)
        for number, choice in enumerate(person.choices)
        for place in choice.places
    ]


def _holds(ask: Ask, seats: tuple[Seat, ...], rotation: int) -> bool:
    at = {seat.person: seat.station for seat in seats}
    if any(at.get(pin.person) != pin.station for pin in ask.pins if pin.rotation == rotation):
        return False
    if any(at.get(pair.one) == at.get(pair.other) is not None for pair in ask.apart):
        return False
    spots = watches = 0
    for station in ask.stations:
        here = [seat for seat in seats if seat.station == station.key]
        if len(here) > station.capacity or len({seat.hole for seat in here}) > 1:
            return False
        choices = [ask.choice(seat) for seat in here]
        tests = sum(choice.role == "test" for choice in choices)
        held = sum(choice.spotters for choice in choices)
        looking = -(-tests // ask.watched_at_once)
        led = any(choice.inverted for choice in choices)
        spots += held
        watches += looking
        if led and not held + looking:
            # Anybody who stands there will do: a coach who spots nobody, or one who judges.
            spots += 1
    return spots + watches <= ask.coaches and watches <= ask.judges


def _worth(ask: Ask, seats: list[Seat]) -> int | None:
    resets = _resets(ask, seats)
    if ask.most_resets is not None and resets > ask.most_resets:
        return None
    weights, total = ask.weights, -ask.weights.reset * resets
    for key, person in ask.person.items():
        mine = [seat for seat in seats if seat.person == key]
        had: Counter[tuple[str, str]] = Counter()
        for number, times in person.had:
            had[person.choices[number].role, person.choices[number].step] += times
        for seat in mine:
            choice = ask.choice(seat)
            doing = (choice.role, choice.step)
            if choice.role == "test" and had[doing]:
                return None
            misfit = min(p.misfit for p in choice.places if (p.station, p.hole) == (seat.station, seat.hole))
            total += weights.practising + weights.again(choice.role, had[doing]) - weights.misfit * misfit
            total -= weights.late_inversion * seat.rotation * choice.inverted
            had[doing] += 1
        idle = sum(map(person.present, range(ask.rotations))) - len(mine)
        total -= sum(weights.idle_again[min(person.idled + n, len(weights.idle_again) - 1)] for n in range(idle))
    return total


def _resets(ask: Ask, seats: list[Seat]) -> int:
    total = 0
    for station in ask.stations:
        now = station.hole
        for rotation in range(ask.rotations):
            used = {seat.hole for seat in seats if (seat.rotation, seat.station) == (rotation, station.key)} - {None}
            if used:
                total += now is not None and used != {now}
                (now,) = used
    return total
