"""Looking at any plan with fresh eyes: whether it keeps every rule, and what it is worth.

Shares nothing with the programme and the solver but the values: it counts people, not variables. Every plan that is
shown has passed here.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from skills.core.rotation.asks import Ask, Choice, Plan, Seat


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that a plan breaks: which one, in which rotation (None: over the class), at what or by whom."""

    rule: str
    rotation: int | None
    at: str


def broken_rules(ask: Ask, plan: Plan) -> tuple[Broken, ...]:
    """Return every rule that the plan breaks; none for a plan that may be shown."""
    found: list[Broken] = []
    for rotation in range(ask.rotations):
        found += _in_rotation(ask, plan, rotation)
    found += _over_class(ask, plan)
    return tuple(found)


def worth_of(ask: Ask, plan: Plan) -> int:
    """Count what a plan is worth, from its seats and holes alone."""
    weights = ask.weights
    people = sum(_worth_to(ask, plan, key) for key in ask.person)
    late = sum(weights.late_inversion * seat.rotation for seat in plan.seats if ask.choice(seat).inverted)
    misfit = sum(weights.misfit * _misfit(ask, seat) for seat in plan.seats)
    stayed = {(s.rotation, s.person, s.choice, s.station, s.hole) for s in ask.before}
    kept = sum((s.rotation, s.person, s.choice, s.station, s.hole) in stayed for s in plan.seats)
    return people - late - misfit - weights.reset * resets_of(ask, plan) + weights.stay * kept


def resets_of(ask: Ask, plan: Plan) -> int:
    """Count how often a bar is set to another hole, from where it is now on."""
    total = 0
    for station in ask.stations:
        holes = [plan.holes[r, station.key] for r in range(ask.rotations) if (r, station.key) in plan.holes]
        line = holes if station.hole is None else [station.hole, *holes]
        total += sum(before != after for before, after in pairwise(line))
    return total


def idle_of(ask: Ask, plan: Plan) -> int:
    """Count the rotations in which somebody who is there has no place."""
    there = sum(person.present(rotation) for person in ask.people for rotation in range(ask.rotations))
    return there - len(plan.seats)


# ---- Rules ----------------------------------------------------------------------------------------------


def _in_rotation(ask: Ask, plan: Plan, rotation: int) -> Iterator[Broken]:
    seats = [seat for seat in plan.seats if seat.rotation == rotation]
    for key, count in Counter(seat.person for seat in seats).items():
        if count > 1:
            yield Broken("in two places at once", rotation, key)
        if key not in ask.person or not ask.person[key].present(rotation):
            yield Broken("not there", rotation, key)
    for seat in seats:
        if not _offered(ask, seat):
            yield Broken("not a choice of theirs", rotation, seat.person)
    known = [seat for seat in seats if _offered(ask, seat)]
    for station in ask.stations:
        there = [seat for seat in seats if seat.station == station.key]
        if len(there) > station.capacity:
            yield Broken("more people than places", rotation, station.key)
        if station.adjustable and any(seat.hole != plan.holes.get((rotation, station.key)) for seat in there):
            yield Broken("two heights of one bar", rotation, station.key)
        done = [ask.choice(seat) for seat in known if seat.station == station.key]
        yield from _led(ask, plan, rotation, station.key, done)
    yield from _coaches(ask, plan, rotation)
    yield from _apart(ask, seats, rotation)


def _offered(ask: Ask, seat: Seat) -> bool:
    choices = ask.person[seat.person].choices if seat.person in ask.person else ()
    if not 0 <= seat.choice < len(choices):
        return False
    return any((place.station, place.hole) == (seat.station, seat.hole) for place in choices[seat.choice].places)


def _led(ask: Ask, plan: Plan, rotation: int, key: str, there: list[Choice]) -> Iterator[Broken]:
    posts = [post for post in plan.posts if (post.rotation, post.station) == (rotation, key)]
    spots = sum(post.coaches for post in posts if post.task == "spots")
    watches = sum(post.coaches for post in posts if post.task == "watches")
    if sum(choice.spotters for choice in there) > spots:
        yield Broken("more to spot than hands", rotation, key)
    if sum(choice.watched for choice in there) > ask.watched_at_once * watches:
        yield Broken("a test without a coach who watches", rotation, key)
    if any(choice.inverted for choice in there) and not spots + watches:
        yield Broken("an inversion without a coach", rotation, key)


def _coaches(ask: Ask, plan: Plan, rotation: int) -> Iterator[Broken]:
    posts = [post for post in plan.posts if post.rotation == rotation]
    if sum(post.coaches for post in posts) > ask.coaches:
        yield Broken("more coaches than there are", rotation, "")
    if sum(post.coaches for post in posts if post.task == "watches") > ask.judges:
        yield Broken("more coaches who judge than there are", rotation, "")


def _apart(ask: Ask, seats: list[Seat], rotation: int) -> Iterator[Broken]:
    at = {seat.person: seat.station for seat in seats}
    for pair in ask.apart:
        if pair.one in at and at[pair.one] == at.get(pair.other):
            yield Broken("kept apart, yet together", rotation, f"{pair.one}, {pair.other}")


def _over_class(ask: Ask, plan: Plan) -> Iterator[Broken]:
    for pin in ask.pins:
        seat = plan.seat_of(pin.person, pin.rotation)
        if seat is None or seat.station != pin.station:
            yield Broken("not where the coach put them", pin.rotation, pin.person)
    if ask.most_resets is not None and resets_of(ask, plan) > ask.most_resets:
        yield Broken("more re-sets than allowed", None, "")
    for key, person in ask.person.items():
        mine = [seat for seat in plan.seats if seat.person == key and _offered(ask, seat)]
        tests = Counter(ask.choice(seat).step for seat in mine if ask.choice(seat).watched)
        for choice, given in enumerate(person.choices):
            if given.watched and tests[given.step] + person.times(choice) > 1:
                yield Broken("tested twice", None, key)


# ---- Worth ----------------------------------------------------------------------------------------------


def _worth_to(ask: Ask, plan: Plan, key: str) -> int:
    person, weights = ask.person[key], ask.weights
    seats = [seat for seat in plan.seats if seat.person == key]
    had: Counter[tuple[str, str]] = Counter()
    for place, times in person.had:
        had[person.choices[place].role, person.choices[place].step] += times
    worth = 0
    for seat in seats:
        choice = ask.choice(seat)
        worth += weights.practising + weights.again(choice.role, had[choice.role, choice.step])
        had[choice.role, choice.step] += 1
    idle = sum(person.present(rotation) for rotation in range(ask.rotations)) - len(seats)
    costs = weights.idle_again
    return worth - sum(costs[min(person.idled + times, len(costs) - 1)] for times in range(idle))


def _misfit(ask: Ask, seat: Seat) -> int:
    places = ask.choice(seat).places
    return next(place.misfit for place in places if (place.station, place.hole) == (seat.station, seat.hole))
