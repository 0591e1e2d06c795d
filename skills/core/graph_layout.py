"""A drawing of a graph of steps: boxes and lines at whole coordinates, for any renderer.

Layers and order come from ``graph_order``. Within a layer each box is drawn towards the mean of its
neighbours, as near as the order and the gaps allow: the least squares solution is the isotonic regression of
the wished places, found by pooling adjacent violators (Ayer, Brunk, Ewing, Reid and Silverman, Annals of
Mathematical Statistics 26, 1955, pp. 641-647). All arithmetic is in whole numbers and fractions.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from skills.core.graph_order import Edge, Ordered, Pieces, Spot, WayPoint, layers_of, ordered

Point = tuple[int, int]

GAP, LAYER_GAP, MARGIN, LANE = 28, 48, 8, 12
ROUNDS = 8
# A bend in the middle of a long line is worse than a slanting line between two boxes.
STRAIGHTNESS = 8


@dataclass(frozen=True, slots=True)
class Node:
    """What is to be drawn: its size in units of the drawing. `outside` ones belong to another graph."""

    code: str
    width: int
    height: int
    outside: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """Where a node stands; y grows downwards."""

    left: int
    top: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """The x of the right side."""
        return self.left + self.width

    @property
    def bottom(self) -> int:
        """The y of the lower side."""
        return self.top + self.height

    @property
    def middle(self) -> int:
        """The x of the middle."""
        return self.left + self.width // 2


@dataclass(frozen=True, slots=True)
class Line:
    """An edge: straight down within layers (even pieces), across between two layers (odd pieces)."""

    start: str
    end: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished layout; everything lies between 0 and width, 0 and height."""

    width: int
    height: int
    layers: tuple[tuple[str, ...], ...]
    boxes: Mapping[str, Box]
    lines: tuple[Line, ...]


def lay_out(nodes: Sequence[Node], edges: Collection[Edge]) -> Drawing:
    """Return a layered drawing in which every edge leads downwards and no boxes touch.

    Deterministic: the order of nodes and edges decides between equals. Raises ValueError for edges that run
    in a circle, KeyError for one that names no node.
    """
    sizes = {node.code: node for node in nodes}
    codes = list(sizes)
    layers = layers_of(codes, edges, late={node.code for node in nodes if node.outside})
    graph = ordered(codes, edges, layers)
    widths = {spot: _width(spot, sizes) for row in graph.layers for spot in row}
    middles = _middles(graph, widths)
    bands = _bands(graph, sizes)
    boxes = {code: _box(sizes[code], middles[code], bands[layers[code]]) for code in codes}
    lines = tuple(_line(edge, layers, middles, bands, boxes) for edge in edges)
    return Drawing(
        width=max((middles[spot] + (width + 1) // 2 for spot, width in widths.items()), default=0) + MARGIN,
        height=(bands[-1].bottom if bands else 0) + MARGIN,
        layers=tuple(tuple(spot for spot in row if isinstance(spot, str)) for row in graph.layers),
        boxes=boxes,
        lines=lines,
    )


@dataclass(frozen=True, slots=True)
class _Band:
    """The height that a layer takes."""

    top: int
    bottom: int


def _width(spot: Spot, sizes: Mapping[str, Node]) -> int:
    return LANE if isinstance(spot, WayPoint) else sizes[spot].width


def _bands(graph: Ordered, sizes: Mapping[str, Node]) -> list[_Band]:
    heights = [max(sizes[spot].height for spot in row if isinstance(spot, str)) for row in graph.layers]
    tops = accumulate((height + LAYER_GAP for height in heights), initial=MARGIN)
    return [_Band(top, top + height) for top, height in zip(tops, heights, strict=False)]


def _box(node: Node, middle: int, band: _Band) -> Box:
    top = band.top + (band.bottom - band.top - node.height) // 2
    return Box(middle - node.width // 2, top, node.width, node.height)


def _line(
    edge: Edge,
    layers: Mapping[str, int],
    middles: Mapping[Spot, int],
    bands: Sequence[_Band],
    boxes: Mapping[str, Box],
) -> Line:
    start, end = edge
    points: list[Point] = [(middles[start], boxes[start].bottom), (middles[start], bands[layers[start]].bottom)]
    for layer in range(layers[start] + 1, layers[end]):
        across = middles[WayPoint(edge, layer)]
        points += [(across, bands[layer].top), (across, bands[layer].bottom)]
    points += [(middles[end], bands[layers[end]].top), (middles[end], boxes[end].top)]
    return Line(start, end, tuple(points))


def _middles(graph: Ordered, widths: Mapping[Spot, int]) -> dict[Spot, int]:
    """Return the x of the middle of each spot."""
    middles: dict[Spot, int] = {}
    for row in graph.layers:
        middles |= zip(row, _spread(row, widths, [0] * len(row), [1] * len(row)), strict=True)
    for _ in range(ROUNDS):
        for rows, pieces in ((graph.layers[1:], graph.above), (graph.layers[-2::-1], graph.below)):
            for row in rows:
                _draw_near(row, widths, middles, pieces)
    left = min((middles[spot] - width // 2 for spot, width in widths.items()), default=0)
    return {spot: middle - left + MARGIN for spot, middle in middles.items()}


def _draw_near(row: Sequence[Spot], widths: Mapping[Spot, int], middles: dict[Spot, int], pieces: Pieces) -> None:
    wishes, weights = [], []
    for spot in row:
        near = _pulling(spot, pieces.get(spot, ()))
        wishes.append(sum(middles[other] for other in near) // len(near) if near else middles[spot])
        weights.append(STRAIGHTNESS if isinstance(spot, WayPoint) else max(len(near), 1))
    middles.update(zip(row, _spread(row, widths, wishes, weights), strict=True))


def _pulling(spot: Spot, near: Sequence[Spot]) -> Sequence[Spot]:
    """Leave out the box where a long line ends: the line runs straight from where it starts, and bends there."""
    return [other for other in near if not (isinstance(spot, WayPoint) and other == spot.edge[1])]


def _spread(
    row: Sequence[Spot], widths: Mapping[Spot, int], wishes: Sequence[int], weights: Sequence[int]
) -> Iterator[int]:
    """Return the places nearest to the wishes at which the boxes keep their order and their gaps."""
    steps = [(widths[left] + 1) // 2 + GAP + (widths[right] + 1) // 2 for left, right in pairwise(row)]
    offsets = list(accumulate(steps, initial=0))[: len(row)]
    pooled = _isotonic([wish - offset for wish, offset in zip(wishes, offsets, strict=True)], weights)
    return (round(place) + offset for place, offset in zip(pooled, offsets, strict=True))


def _isotonic(values: Sequence[int], weights: Sequence[int]) -> list[Fraction]:
    """Return the rising values with the least weighted sum of squared distances."""
    pools: list[tuple[Fraction, int, int]] = []  # mean, weight, how many
    for value, weight in zip(values, weights, strict=True):
        pool = (Fraction(value), weight, 1)
        while pools and pools[-1][0] >= pool[0]:
            pool = _joined(pools.pop(), pool)
        pools.append(pool)
    return [mean for mean, _, many in pools for _ in range(many)]


def _joined(one: tuple[Fraction, int, int], other: tuple[Fraction, int, int]) -> tuple[Fraction, int, int]:
    weight = one[1] + other[1]
    return (one[0] * one[1] + other[0] * other[1]) / weight, weight, one[2] + other[2]


def fold(text: str, width: int, *, measure: Callable[[str], int] = len) -> tuple[str, ...]:
    """Return a text in lines of at most `width`; a longer word stands alone in its line."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)
