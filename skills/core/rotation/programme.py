"""A class as an integer programme: variables with bounds and worths, rows of whole coefficients with limits.

Maximise the worth. `x` counts how many people of a kind do a choice at a place in a rotation; `times` how many of
them get a role and step a first, second, … time (worth less each time, so that the relaxation fills them in order);
`idle` the same for standing idle; `set` is 1 where a bar is set to a hole in a rotation and `change` where it was
not before; `spots` and `watches` count coaches at a station.

Two families of rows keep people of one hole together, and both are there for the relaxation's sake: the sum over all
kinds at a hole is bounded by capacity × `set`, or by how many people there are at all who could be there, and each
kind's own sum by its size × `set`. Two more families follow from the others in whole numbers and are there for the
relaxation alone: what is done at set bars only is done a first or a further time where a bar is `ever` set for it, and
each kind's tests and inversions at a station are bounded by its own size × the coaches there. All coefficients are
whole, so a plan's worth is exact.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from skills.core.rotation.alike import Kind, kinds_of
from skills.core.rotation.asks import Ask, Choice, Place, Seat, Station

FREE: Final = -(10**6)  # no limit below


class Doing(NamedTuple):
    """The variable of a kind's choice at a place in a rotation."""

    kind: int
    rotation: int
    choice: int
    place: Place


class Row(NamedTuple):
    """low <= sum of coefficient × variable <= high."""

    terms: tuple[tuple[int, int], ...]
    low: int
    high: int


@dataclass
class Programme:
    """The programme under construction, and which variable stands for what."""

    ask: Ask
    kinds: tuple[Kind, ...]
    worth: list[int] = field(default_factory=list)
    low: list[int] = field(default_factory=list)
    high: list[int] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    doing: dict[Doing, int] = field(default_factory=dict)
    # The same variables, by what rows ask for.
    of_rotation: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    of_choice: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    times: dict[tuple[int, str, str], list[int]] = field(default_factory=dict)
    at_station: dict[tuple[int, str], list[tuple[Doing, int]]] = field(default_factory=lambda: defaultdict(list))
    at_hole: dict[tuple[int, str, int], dict[int, list[int]]] = field(default_factory=dict)
    hole: dict[tuple[int, str, int], int] = field(default_factory=dict)
    ever: dict[tuple[str, int], int] = field(default_factory=dict)
    post: dict[tuple[int, str, str], int] = field(default_factory=dict)

    def variable(self, worth: int, high: int, *, low: int = 0, whole: bool = True) -> int:
        """Add a variable and return its place."""
        self.worth.append(worth)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.worth) - 1

    def do(self, doing: Doing, worth: int, high: int) -> None:
        """Add the variable of a doing."""
        at = self.variable(worth, high)
        self.doing[doing] = at
        self.of_rotation[doing.kind, doing.rotation].append(at)
        self.of_choice[doing.kind, doing.choice].append(at)
        self.at_station[doing.rotation, doing.place.station].append((doing, at))
        if doing.place.hole is not None:
            kinds = self.at_hole.setdefault((doing.rotation, doing.place.station, doing.place.hole), {})
            kinds.setdefault(doing.kind, []).append(at)

    def limit(self, terms: Iterable[tuple[int, int]], high: int, *, low: int = FREE) -> None:
        """Add a row."""
        self.rows.append(Row(tuple(terms), low, high))


def programme_of(ask: Ask) -> Programme:
    """Write the ask as a programme."""
    made = Programme(ask, kinds_of(ask))
    _doings(made)
    for number, kind in enumerate(made.kinds):
        _presence(made, number, kind)
        _times(made, number, kind)
    _capacities(made)
    _holes(made)
    for number, kind in enumerate(made.kinds):
        _only_where_ever_set(made, number, kind)
    _coaches(made)
    _pins(made)
    _pairs(made)
    return made


# ---- People ---------------------------------------------------------------------------------------------


def _doings(made: Programme) -> None:
    ask = made.ask
    for number, kind in enumerate(made.kinds):
        kept = {seat.rotation: seat for seat in ask.before if seat.person in kind.keys}
        for rotation in filter(kind.like.present, range(ask.rotations)):
            for place_of, choice in enumerate(kind.like.choices):
                for place in choice.places:
                    doing = Doing(number, rotation, place_of, place)
                    worth = _worth(ask, choice, doing, kept.get(rotation))
                    made.do(doing, worth, min(kind.size, ask.station[place.station].capacity))


def _worth(ask: Ask, choice: Choice, doing: Doing, kept: Seat | None) -> int:
    weights = ask.weights
    worth = weights.practising - weights.misfit * doing.place.misfit
    if choice.inverted:
        worth -= weights.late_inversion * doing.rotation
    if kept and (kept.choice, kept.station, kept.hole) == (doing.choice, doing.place.station, doing.place.hole):
        worth += weights.stay
    return worth


def _presence(made: Programme, number: int, kind: Kind) -> None:
    """One place at most in each rotation; the rotations without one are counted, each dearer than the last."""
    there = [rotation for rotation in range(made.ask.rotations) if kind.like.present(rotation)]
    placed: list[tuple[int, int]] = []
    for rotation in there:
        row = [(at, 1) for at in made.of_rotation[number, rotation]]
        made.limit(row, kind.size)
        placed += row
    costs = made.ask.weights.idle_again
    lost = [costs[min(kind.like.idled + times, len(costs) - 1)] for times in range(len(there))]
    idle = [made.variable(-cost, kind.size, whole=False) for cost in lost]
    made.limit([*placed, *((at, 1) for at in idle)], kind.size * len(there), low=kind.size * len(there))


def _times(made: Programme, number: int, kind: Kind) -> None:
    weights = made.ask.weights
    for role, step in kind.doings():
        choices = kind.choices_of(role, step)
        row = [(at, 1) for choice in choices for at in made.of_choice[number, choice]]
        had = kind.had(role, step)
        # A test is held once; all else may be done in every rotation.
        most = max(0, 1 - had) if role == "test" else made.ask.rotations
        times = [made.variable(weights.again(role, had + more), kind.size, whole=False) for more in range(most)]
        made.times[number, role, step] = times
        made.limit([*row, *((at, -1) for at in times)], 0, low=0)


# ---- Stations and bars ----------------------------------------------------------------------------------


def _capacities(made: Programme) -> None:
    for (_, key), doings in made.at_station.items():
        made.limit([(variable, 1) for _, variable in doings], made.ask.station[key].capacity)


def _holes(made: Programme) -> None:
    changes: list[int] = []
    for station in made.ask.stations:
        used = sorted({hole for _, key, hole in made.at_hole if key == station.key})
        if used:
            _hole_sums(made, station, used)
            mine = _changes(made, station, used)
            _ever(made, station, mine)
            changes += mine
    if made.ask.most_resets is not None and changes:
        made.limit([(at, 1) for at in changes], made.ask.most_resets)


def _hole_sums(made: Programme, station: Station, holes: Sequence[int]) -> None:
    ask = made.ask
    there = holes if station.hole is None else sorted({*holes, station.hole})
    for rotation in range(ask.rotations):
        for hole in there:
            made.hole[rotation, station.key, hole] = made.variable(0, 1)
        made.limit([(made.hole[rotation, station.key, hole], 1) for hole in there], 1, low=1)
        for hole in holes:
            _together(made, station, (rotation, station.key, hole))


def _together(made: Programme, station: Station, key: tuple[int, str, int]) -> None:
    """People are at a hole only where the bar is set to it."""
    kinds = made.at_hole.get(key, {})
    everybody = [(at, 1) for variables in kinds.values() for at in variables]
    could_be = sum(made.kinds[number].size for number in kinds)
    made.limit([*everybody, (made.hole[key], -min(station.capacity, could_be))], 0)
    for number, variables in kinds.items():
        if made.kinds[number].size < station.capacity and len(kinds) > 1:
            made.limit([*((at, 1) for at in variables), (made.hole[key], -made.kinds[number].size)], 0)


def _changes(made: Programme, station: Station, holes: Sequence[int]) -> list[int]:
    changes: list[int] = []
    first = 1 if station.hole is None else 0
    for rotation in range(first, made.ask.rotations):
        for hole in holes:
            at = made.variable(-made.ask.weights.reset, 1, whole=False)
            now = [(made.hole[rotation, station.key, hole], 1), (at, -1)]
            before = made.hole.get((rotation - 1, station.key, hole))
            was = 1 if rotation == 0 and hole == station.hole else 0
            made.limit([*now, (before, -1)] if before is not None and rotation else now, was)
            changes.append(at)
    return changes


def _ever(made: Programme, station: Station, changes: Sequence[int]) -> None:
    """At how many holes a bar is at all: at the first one, and at one more for each time it is set anew."""
    there = [(rotation, hole, at) for (rotation, key, hole), at in made.hole.items() if key == station.key]
    for rotation, hole, at in there:
        if rotation == 0:
            made.ever[station.key, hole] = made.variable(0, 1, whole=False)
        made.limit([(at, 1), (made.ever[station.key, hole], -1)], 0)
    others = [(at, 1) for (key, hole), at in made.ever.items() if key == station.key and hole != station.hole]
    made.limit([*others, *((at, -1) for at in changes)], 1 if station.hole is None else 0)


def _only_where_ever_set(made: Programme, number: int, kind: Kind) -> None:
    """What is done at set bars alone is done by nobody, a first or a further time, unless a bar is ever set for it.

    Follows from the other rows for whole numbers. A relaxation may set a bar to every hole in part in each rotation,
    and would give everybody a whole first time of that.
    """
    for role, step in kind.doings():
        places = [place for at in kind.choices_of(role, step) for place in kind.like.choices[at].places]
        if places and all(place.hole is not None for place in places):
            # Of somebody who is never there nothing is planned, and no bar may have that hole.
            holes = sorted({(place.station, place.hole or 0) for place in places} & made.ever.keys())
            ever = [(made.ever[hole], -kind.size) for hole in holes]
            for time in made.times[number, role, step]:
                made.limit([(time, 1), *ever], 0)


# ---- Coaches --------------------------------------------------------------------------------------------


def _coaches(made: Programme) -> None:
    for rotation in range(made.ask.rotations):
        posts = [
            _posts(made, rotation, station, made.at_station.get((rotation, station.key), ()))
            for station in made.ask.stations
        ]
        both = [pair for pair in posts if pair]
        made.limit([(variable, 1) for pair in both for variable in pair], made.ask.coaches)
        made.limit([(watches, 1) for _, watches in both], made.ask.judges)


def _posts(
    made: Programme, rotation: int, station: Station, doings: Sequence[tuple[Doing, int]]
) -> tuple[int, int] | None:
    ask = made.ask
    told = [(_choice(made, doing), variable) for doing, variable in doings]
    spotted = [(variable, choice.spotters) for choice, variable in told if choice.spotters]
    watched = [(variable, 1) for choice, variable in told if choice.watched]
    inverted = [(variable, 1) for choice, variable in told if choice.inverted]
    if not (spotted or watched or inverted):
        return None
    spots, watches = made.variable(0, ask.coaches), made.variable(0, ask.judges)
    made.post[rotation, station.key, "spots"] = spots
    made.post[rotation, station.key, "watches"] = watches
    made.limit([*spotted, (spots, -1)], 0)
    made.limit([*watched, (watches, -ask.watched_at_once)], 0)
    made.limit([*inverted, (spots, -station.capacity), (watches, -station.capacity)], 0)
    _each_led(made, station, _led(made, doings), (spots, watches))
    return spots, watches


def _each_led(
    made: Programme, station: Station, led: Mapping[tuple[int, bool], list[int]], posts: tuple[int, int]
) -> None:
    """The same of each kind alone: a relaxation may else have a third of a coach at each of three stations."""
    spots, watches = posts
    for (number, watched), variables in led.items():
        size = made.kinds[number].size
        if size < station.capacity:
            there = [(watches, -size)] if watched else [(spots, -size), (watches, -size)]
            made.limit([*((at, 1) for at in variables), *there], 0)


def _led(made: Programme, doings: Sequence[tuple[Doing, int]]) -> Mapping[tuple[int, bool], list[int]]:
    """Return, by kind, the variables of what wants a coach who watches (True), or any coach (False)."""
    led: dict[tuple[int, bool], list[int]] = defaultdict(list)
    for doing, variable in doings:
        choice = _choice(made, doing)
        if choice.watched or choice.inverted:
            led[doing.kind, choice.watched].append(variable)
    return led


def _choice(made: Programme, doing: Doing) -> Choice:
    return made.kinds[doing.kind].like.choices[doing.choice]


# ---- The coach's word -----------------------------------------------------------------------------------


def _pins(made: Programme) -> None:
    for pin in made.ask.pins:
        doings = made.at_station.get((pin.rotation, pin.station), ())
        made.limit([(at, 1) for doing, at in doings if pin.person in made.kinds[doing.kind].keys], 1, low=1)


def _pairs(made: Programme) -> None:
    for pair in made.ask.apart:
        for doings in made.at_station.values():
            both = [(v, 1) for doing, v in doings if {pair.one, pair.other} & {*made.kinds[doing.kind].keys}]
            made.limit(both, 1)
