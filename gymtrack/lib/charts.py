"""Charts as SVG made on the server: no script, no inline style; css/charts.css gives the classes their looks.

A chart is a `Frame` (two axes) and marks drawn into it, in data units. `Chart` holds the finished SVG and the
same values as a table, because a curve alone tells a screen reader nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

Point = tuple[float, float]

WIDTH, HEIGHT = 640, 340
LEFT, RIGHT, TOP, BOTTOM = 64, 36, 44, 56


def nice_number(size: float, *, nearest: bool) -> float:
    """Return the 1, 2, 5 or 10 × a power of ten nearest to `size`, or else the first that is not below it.

    Heckbert, "Nice Numbers for Graph Labels", in Glassner (ed.), Graphics Gems, 1990, pp. 61-63. Raises
    ValueError unless size > 0.
    """
    if not size > 0:
        raise ValueError("A nice number is asked for a size above 0.")
    power = 10.0 ** math.floor(math.log10(size))
    place = bisect_right((1.5, 3, 7), size / power) if nearest else bisect_left((1, 2, 5), size / power)
    return (1, 2, 5, 10)[place] * power


def ticks(low: float, high: float, count: int = 5) -> list[float]:
    """Return about `count` evenly spaced nice values; the first is ≤ low and the last ≥ high.

    The loosely labelled axis of Heckbert 1990. Equal ends get a span of one.
    """
    if low == high:
        high = low + 1
    step = nice_number(nice_number(high - low, nearest=False) / (count - 1), nearest=True)
    first, last = math.floor(round(low / step, 9)), math.ceil(round(high / step, 9))
    digits = max(0, -math.floor(math.log10(step)))
    return [round(place * step, digits) for place in range(first, last + 1)]


@dataclass(frozen=True, slots=True)
class Axis:
    """A labelled scale. `at` are the values with a tick, rising, two at least; `say` makes a label of one.

    `inset` (in the axis's units) leaves room before the first tick and after the last one, as bars need it; with
    it, one tick is enough.
    """

    label: str
    at: Sequence[float]
    say: Callable[[float], str] = "{:g}".format
    inset: float = 0.0

    @classmethod
    def over(cls, label: str, values: Iterable[float], *, say: Callable[[float], str] = "{:g}".format) -> Axis:
        """Return an axis with nice ticks that holds all the values (at least one)."""
        known = list(values)
        return cls(label, ticks(min(known), max(known)), say)

    def share(self, value: float) -> float:
        """Return where a value lies: 0 at the beginning of the axis, 1 at its end."""
        return (value - self.at[0] + self.inset) / (self.at[-1] - self.at[0] + 2 * self.inset)


@dataclass(frozen=True, slots=True)
class Frame:
    """The plane of a chart: data units in, SVG user units out (y grows downwards), to a tenth."""

    x: Axis
    y: Axis

    def place(self, point: Point) -> Point:
        """Return the position of a data point."""
        across = LEFT + self.x.share(point[0]) * (WIDTH - LEFT - RIGHT)
        down = HEIGHT - BOTTOM - self.y.share(point[1]) * (HEIGHT - TOP - BOTTOM)
        return round(across, 1), round(down, 1)

    def line(self, points: Sequence[Point], kind: str = "line") -> SafeString:
        """Join the points; `kind` is the class."""
        return _path(kind, "M" + "L".join(_pair(self.place(point)) for point in points))

    def step(self, points: Sequence[Point], kind: str = "line") -> SafeString:
        """Join the points by stairs: each value holds until the next one."""
        places = [self.place(point) for point in points]
        stairs = "".join(f"H{across:g}V{down:g}" for across, down in places[1:])
        return _path(kind, f"M{_pair(places[0])}{stairs}")

    def band(self, lower: Sequence[Point], upper: Sequence[Point], kind: str = "band") -> SafeString:
        """Fill what lies between two curves: an interval around an estimate."""
        around = [*upper, *reversed(lower)]
        return _path(kind, "M" + "L".join(_pair(self.place(point)) for point in around) + "Z")

    def dots(self, points: Sequence[Point], kind: str = "dot", names: Sequence[str] = ()) -> SafeString:
        """Draw a dot at each point; `names`, as many as points or none, give each a tooltip."""
        titles = [format_html("<title>{}</title>", name) for name in names] or [SafeString()] * len(points)
        rows = ((kind, *self.place(point), title) for point, title in zip(points, titles, strict=True))
        return format_html_join("", '<circle class="{}" cx="{}" cy="{}" r="4">{}</circle>', rows)

    def squares(self, points: Sequence[Point], kind: str = "dot") -> SafeString:
        """Draw a small square at each point, to tell another series from dots by its shape."""
        places = (self.place(point) for point in points)
        rows = ((kind, round(across - 4, 1), round(down - 4, 1)) for across, down in places)
        return format_html_join("", '<rect class="{}" x="{}" y="{}" width="8" height="8"/>', rows)

    def bars(self, points: Sequence[Point], *, breadth: float, kind: str = "bar") -> SafeString:
        """Draw a bar of `breadth` (in units of x) from zero, or the foot of the scale, to each point."""
        foot = max(self.y.at[0], min(0.0, self.y.at[-1]))
        return format_html_join(
            "",
            '<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>',
            (self._bar(point, foot, breadth, kind) for point in points),
        )

    def _bar(self, point: Point, foot: float, breadth: float, kind: str) -> tuple[str, float, float, float, float]:
        left, one = self.place((point[0] - breadth / 2, point[1]))
        right, other = self.place((point[0] + breadth / 2, foot))
        return kind, left, min(one, other), round(right - left, 1), round(abs(other - one), 1)

    def axes(self) -> SafeString:
        """Draw grid lines, tick labels and the names of both axes."""
        names = (
            ("axis-x", (LEFT + WIDTH - RIGHT) / 2, HEIGHT - 6, self.x.label),
            ("axis-y", 4, TOP - 24, self.y.label),
        )
        rows = [(self.place((self.x.at[0], at))[1], self.y.say(at)) for at in self.y.at]
        columns = [(self.place((at, self.y.at[0]))[0], self.x.say(at)) for at in self.x.at]
        labels = (
            *(("tick-y", LEFT - 8, y + 5, label) for y, label in rows),
            *(("tick-x", x, HEIGHT - BOTTOM + 22, label) for x, label in columns),
            *names,
        )
        grid = ((LEFT, y, WIDTH - RIGHT, y) for y, _ in rows)
        return SafeString(
            format_html_join("", '<line class="grid" x1="{}" y1="{}" x2="{}" y2="{}"/>', grid)
            + format_html_join("", '<text class="{}" x="{}" y="{}">{}</text>', labels)
        )


@dataclass(frozen=True, slots=True)
class Chart:
    """A finished chart for includes/chart.html: the SVG, and its values as rows under `columns`."""

    name: str
    title: str
    svg: SafeString
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]


def draw(
    frame: Frame,
    marks: Iterable[SafeString],
    *,
    name: str,
    title: str,
    description: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
) -> Chart:
    """Put marks into a frame. `name` is the chart's id on its page: letters, digits, hyphens.

    `description` tells in words what the picture shows; every text is escaped.
    """
    inside = frame.axes() + format_html_join("", "{}", ((mark,) for mark in marks))
    svg = format_html(
        '<svg class="chart" id="{0}" viewBox="0 0 {1} {2}" role="img" aria-labelledby="{0}-title {0}-desc">'
        '<title id="{0}-title">{3}</title><desc id="{0}-desc">{4}</desc>{5}</svg>',
        name,
        WIDTH,
        HEIGHT,
        title,
        description,
        inside,
    )
    return Chart(name, title, svg, columns, rows)


def _pair(place: Point) -> str:
    return f"{place[0]:g},{place[1]:g}"


def _path(kind: str, commands: str) -> SafeString:
    return format_html('<path class="{}" d="{}"/>', kind, commands)
