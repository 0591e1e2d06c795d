"""Who of the people who are alike does what, dealt as evenly as can be.

A kind of `n` people is a bipartite multigraph: rotations on one side, what is done on the other, an edge for each
place that is taken (standing idle too). Each node of what is done is split into parts of `n` edges; a colouring of the
edges with `n` colours, in which no node has a colour twice, then gives every colour, a person, exactly one edge in
each rotation and each thing to do either its rounded-down or its rounded-up share. Such a colouring always exists
(König 1916: a bipartite multigraph needs no more colours than its greatest degree; de Werra 1971 for the even
shares).
"""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from skills.core.rotation.asks import Place


class Edge(NamedTuple):
    """One taken place: its rotation, what is done (as it is counted), and which choice at which place that is."""

    rotation: int
    does: Hashable
    choice: int
    place: Place | None  # None for standing idle


def dealt(edges: Sequence[Edge], people: int) -> list[list[Edge]]:
    """Return the edges of each person, by rotation. Raises ValueError unless each rotation has `people` edges."""
    at_rotation: dict[int, int] = defaultdict(int)
    for edge in edges:
        at_rotation[edge.rotation] += 1
    if any(count != people for count in at_rotation.values()):
        raise ValueError("Everybody has one thing to do in each rotation, standing idle counted.")
    colours = _Colouring(people)
    for place, (edge, part) in enumerate(zip(edges, _parts(edges, people), strict=True)):
        colours.add(place, ("rotation", edge.rotation), ("does", *part))
    shares: list[list[Edge]] = [[] for _ in range(people)]
    for place, edge in enumerate(edges):
        shares[colours.of[place]].append(edge)
    return [sorted(share, key=lambda edge: edge.rotation) for share in shares]


def _parts(edges: Sequence[Edge], people: int) -> list[tuple[Hashable, int]]:
    seen: dict[Hashable, int] = defaultdict(int)
    parts: list[tuple[Hashable, int]] = []
    for edge in edges:
        parts.append((edge.does, seen[edge.does] // people))
        seen[edge.does] += 1
    return parts


Node = tuple[Hashable, ...]


@dataclass
class _Colouring:
    """Edges of a bipartite multigraph and their colours; at each node a colour is used once at most."""

    colours: int
    of: dict[int, int] = field(default_factory=dict)
    _ends: dict[int, tuple[Node, Node]] = field(default_factory=dict)
    _at: dict[Node, dict[int, int]] = field(default_factory=lambda: defaultdict(dict))

    def add(self, edge: int, one: Node, other: Node) -> None:
        """Colour one more edge, changing others along an alternating path where it must be."""
        self._ends[edge] = (one, other)
        a, b = self._free(one), self._free(other)
        if a != b:
            self._swap(other, a, b)
        self._give(edge, a)

    def _free(self, node: Node) -> int:
        return next(colour for colour in range(self.colours) if colour not in self._at[node])

    def _give(self, edge: int, colour: int) -> None:
        self.of[edge] = colour
        for node in self._ends[edge]:
            self._at[node][colour] = edge

    def _swap(self, start: Node, a: int, b: int) -> None:
        """Exchange the two colours along the path that leaves `start` by colour `a`, so that `a` is free there.

        In a bipartite graph the path cannot end at the other end of the new edge: `a` is free there, and a path
        that began at `start` with `a` would arrive there with `a`.
        """
        path: list[int] = []
        node, colour = start, a
        while (edge := self._at[node].get(colour)) is not None:
            path.append(edge)
            one, other = self._ends[edge]
            node, colour = (other if node == one else one), (b if colour == a else a)
        swapped = [(edge, b if self.of[edge] == a else a) for edge in path]
        for edge in path:
            for end in self._ends[edge]:
                del self._at[end][self.of[edge]]
        for edge, colour in swapped:
            self._give(edge, colour)
