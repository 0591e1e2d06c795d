"""Draws a skill's graph: boxes with the words of each step, joined by lines, as SVG of our own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypedDict

from django import template

from skills.core.graph_layout import Box, Drawing, Node, Point, fold, lay_out
from skills.queries.teaching import SkillGraph, SkillStep
from skills.wording import STATES

register = template.Library()

WIDTH, OUTSIDE_WIDTH = 208, 180
LETTERS, OUTSIDE_LETTERS = 19, 19  # what fits a line of a box at the sizes that css/graph.css sets
LINE, PAD = 20, 12
ARROW = 7

# The same skill is drawn again and again; the layout takes some ten milliseconds.
_lay_out = lru_cache(maxsize=256)(lay_out)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of words in a box, with its baseline."""

    kind: str  # label, name, note, gate, side, state
    words: str
    y: int


@dataclass(frozen=True, slots=True)
class DrawnStep:
    """A step with its box and rows; `state` is '' where nobody's progress is shown."""

    step: SkillStep
    box: Box
    rows: tuple[Row, ...]
    state: str

    @property
    def spoken(self) -> str:
        """All its words in one line, as a screen reader says them."""
        return " ".join(row.words for row in self.rows)


class Picture(TypedDict):
    """What the template draws."""

    graph: SkillGraph
    drawing: Drawing
    steps: list[DrawnStep]


@register.inclusion_tag("skills/skills/_graph.html")
def skill_graph(graph: SkillGraph, states: Mapping[str, str]) -> Picture:
    """Draw a skill; `states` are an athlete's by step code, or none at all."""
    steps = (*graph.steps, *graph.outside)
    rows = {step.page.code: _rows(step, states.get(step.page.code, "")) for step in steps}
    drawing = _lay_out(tuple(_node(step, len(rows[step.page.code])) for step in steps), graph.edges)
    drawn = [_drawn(step, drawing, rows[step.page.code], states) for step in steps]
    return Picture(graph=graph, drawing=drawing, steps=drawn)


@register.filter
def curve(points: Sequence[Point]) -> str:
    """Return the path of a line: straight down through a layer, in a soft bend from one layer to the next."""
    (x, y), (_, bottom) = points[:2]
    path = f"M{x} {y}V{bottom}"
    for (across, top), (_, below) in zip(points[2::2], points[3::2], strict=True):
        half = (bottom + top) // 2
        path += f"C{x} {half} {across} {half} {across} {top}V{below}"
        x, bottom = across, below
    return path


@register.filter
def arrow(points: Sequence[Point]) -> str:
    """Return the path of the head of a line, at its end."""
    x, y = points[-1]
    return f"M{x} {y}l{-ARROW} {-ARROW - 3}h{2 * ARROW}z"


def _node(step: SkillStep, rows: int) -> Node:
    width = OUTSIDE_WIDTH if step.outside else WIDTH
    return Node(step.page.code, width, rows * LINE + 2 * PAD, step.outside)


def _rows(step: SkillStep, state: str) -> list[tuple[str, str]]:
    if step.outside:
        words = f"{step.page.skill_name} {step.page.label}: {step.page.name}"
        return [("note", line) for line in fold(words, OUTSIDE_LETTERS)]
    rows = [("name", line) for line in fold(f"{step.page.label} {step.page.name}", LETTERS)]
    if step.page.side_drill:
        rows.append(("side", "side drill"))
    if step.asks_clearance:
        rows.append(("gate", "asks clearance"))
    return [*rows, ("state", STATES[state])] if state else rows


def _drawn(step: SkillStep, drawing: Drawing, rows: Sequence[tuple[str, str]], states: Mapping[str, str]) -> DrawnStep:
    box = drawing.boxes[step.page.code]
    placed = tuple(Row(kind, words, box.top + PAD + LINE * place + 15) for place, (kind, words) in enumerate(rows))
    return DrawnStep(step, box, placed, states.get(step.page.code, ""))
