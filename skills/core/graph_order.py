"""Layers of a graph and the order within them, after Sugiyama, Tagawa and Toda.

Methods for Visual Understanding of Hierarchical System Structures, IEEE Transactions on Systems, Man, and
Cybernetics 11(2), 1981, pp. 109-125. An edge that passes a layer gets a way point there, so that every piece
of an edge leads from one layer to the next; then sweeps down and up put each layer in the order of the
barycentres of its neighbours, and the order with the fewest crossings stays.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

Edge = tuple[str, str]  # from the step that comes first to the one that asks for it
SWEEPS = 12


class WayPoint(NamedTuple):
    """Where an edge passes a layer without stopping."""

    edge: Edge
    layer: int


Spot = str | WayPoint
Pieces = Mapping[Spot, tuple[Spot, ...]]


@dataclass(frozen=True, slots=True)
class Ordered:
    """Spots layer by layer, each layer from left to right, and their neighbours above and below."""

    layers: tuple[tuple[Spot, ...], ...]
    above: Pieces
    below: Pieces

    def crossings(self) -> int:
        """Return how many pairs of edges cross."""
        return sum(_crossings(upper, lower, self.below) for upper, lower in pairwise(self.layers))


def layers_of(codes: Sequence[str], edges: Collection[Edge], late: Collection[str] = ()) -> dict[str, int]:
    """Return the layer of each code: the length of the longest path that leads to it.

    Codes in ``late`` that nothing leads to stand right above the first that follows them instead, and do not
    push anybody down. Raises ValueError for edges that run in a circle.
    """
    before: dict[str, list[str]] = {code: [] for code in codes}
    for start, end in edges:
        before[end].append(start)
    held_back = {code for code in codes if code in late and not before[code]}
    layers = _longest_paths(before, held_back)
    for code in held_back:
        follow = [layers[end] for start, end in edges if start == code]
        layers[code] = min(follow, default=1) - 1
    return _from_zero(layers)


def _longest_paths(before: Mapping[str, Sequence[str]], held_back: Collection[str]) -> dict[str, int]:
    layers = dict.fromkeys(held_back, -1)
    waiting = [code for code in before if code not in layers]
    while waiting:
        ready = [code for code in waiting if all(start in layers for start in before[code])]
        if not ready:
            raise ValueError(f"These follow one another in a circle: {', '.join(waiting)}.")
        layers |= {code: 1 + max((layers[start] for start in before[code]), default=-1) for code in ready}
        waiting = [code for code in waiting if code not in layers]
    return layers


def _from_zero(layers: dict[str, int]) -> dict[str, int]:
    top = min(layers.values(), default=0)
    return {code: layer - top for code, layer in layers.items()}


def ordered(codes: Sequence[str], edges: Collection[Edge], layers: Mapping[str, int]) -> Ordered:
    """Return the spots of a layered graph in an order with few crossings; the same input gives the same order."""
    rows: list[list[Spot]] = [[] for _ in range(max(layers.values(), default=-1) + 1)]
    for code in codes:
        rows[layers[code]].append(code)
    below: dict[Spot, list[Spot]] = {}
    above: dict[Spot, list[Spot]] = {}
    for edge in edges:
        path = list(_path(edge, layers))
        for point in path[1:-1]:
            rows[point.layer].append(point)  # type: ignore[union-attr]  # only the ends are codes
        for upper, lower in pairwise(path):
            below.setdefault(upper, []).append(lower)
            above.setdefault(lower, []).append(upper)
    return _fewest_crossings(Ordered(_frozen(rows), _pieces(above), _pieces(below)))


def _path(edge: Edge, layers: Mapping[str, int]) -> Iterator[Spot]:
    start, end = edge
    yield start
    for layer in range(layers[start] + 1, layers[end]):
        yield WayPoint(edge, layer)
    yield end


def _pieces(found: Mapping[Spot, Sequence[Spot]]) -> Pieces:
    return {spot: tuple(spots) for spot, spots in found.items()}


def _frozen(rows: Iterable[Iterable[Spot]]) -> tuple[tuple[Spot, ...], ...]:
    return tuple(tuple(row) for row in rows)


def _fewest_crossings(start: Ordered) -> Ordered:
    best = start
    rows = [list(row) for row in start.layers]
    for _ in range(SWEEPS):
        for toward in (_sweep_down, _sweep_up):
            toward(rows, start)
            found = Ordered(_frozen(rows), start.above, start.below)
            if found.crossings() < best.crossings():
                best = found
    return best


def _sweep_down(rows: list[list[Spot]], graph: Ordered) -> None:
    for upper, lower in pairwise(rows):
        lower.sort(key=_barycentre(lower, upper, graph.above))


def _sweep_up(rows: list[list[Spot]], graph: Ordered) -> None:
    for lower, upper in pairwise(reversed(rows)):
        upper.sort(key=_barycentre(upper, lower, graph.below))


def _barycentre(row: Sequence[Spot], fixed: Sequence[Spot], pieces: Pieces) -> Callable[[Spot], Fraction]:
    """Return the mean place of a spot's neighbours in the fixed row; without neighbours, its own place."""
    places = {spot: place for place, spot in enumerate(fixed)}
    own = {spot: place for place, spot in enumerate(row)}

    def mean(spot: Spot) -> Fraction:
        near = [places[neighbour] for neighbour in pieces.get(spot, ())]
        return Fraction(sum(near), len(near)) if near else Fraction(own[spot])

    return mean


def _crossings(upper: Sequence[Spot], lower: Sequence[Spot], below: Pieces) -> int:
    places = {spot: place for place, spot in enumerate(lower)}
    ends = [(left, places[end]) for left, spot in enumerate(upper) for end in below.get(spot, ())]
    return sum(one[0] < other[0] and one[1] > other[1] for place, one in enumerate(ends) for other in ends[place + 1 :])
