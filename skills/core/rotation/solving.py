"""Having the programme solved, and reading the plan out of the answer.

First the bars are held to good lines of holes and the people placed in whole numbers: a plan within milliseconds.
If the bound does not prove it good enough, the whole programme is solved with that plan to start from. Limits are on
the nodes of the search, so that the same ask gives the same plan; a limit on the clock is only the last resort, and a
plan that met it without being proved says so (`proof` is "stopped").
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Final

from skills.core.rotation.asks import Ask, Plan, Post, Proof, Seat
from skills.core.rotation.highs import Highs
from skills.core.rotation.lines import Search
from skills.core.rotation.programme import Doing, Programme, programme_of
from skills.core.rotation.spreading import Edge, dealt

if TYPE_CHECKING:
    from collections.abc import Sequence

_IDLE: Final = "idle"
_FINE: Final = 0.002  # the gap for placing people while the bars are held


@dataclass(frozen=True, slots=True)
class Effort:
    """How far to look: stop at a gap of `gap` (a share), after `nodes` of the search, or at last after `seconds`.

    `lines` bounds how many lines of holes are tried before; a bar is finished. Raises ValueError for no nodes.
    """

    gap: float = 0.01
    lines: int = 200
    nodes: int = 2_000
    seconds: float = 30.0

    def __post_init__(self) -> None:
        if self.nodes < 1:
            raise ValueError("Without a node nothing is searched.")


class NothingFoundError(RuntimeError):
    """The search stopped before it had any plan."""


_LARGE: Final = 1_200  # people × rotations × stations


def usual_effort(ask: Ask) -> Effort:
    """Return how far to look for a plan that a coach waits for: to a hundredth, in a very large class to a fiftieth."""
    size = len(ask.people) * ask.rotations * len(ask.stations)
    return Effort(gap=0.01 if size <= _LARGE else 0.02)


def best_plan(ask: Ask, effort: Effort | None = None) -> Plan:
    """Return the best plan found within the effort (`usual_effort` unless another is given), with its bound.

    Raises `highs.InfeasibleError`, and NothingFoundError if it had to stop before a first plan.
    """
    effort = effort or usual_effort(ask)
    made = programme_of(ask)
    if not made.worth:
        return Plan((), {}, (), 0, 0, "optimal")
    highs = Highs(made)
    search = Search(highs, effort.lines, effort.gap)
    start = (
        highs.whole(gap=min(_FINE, effort.gap), nodes=effort.nodes, seconds=effort.seconds) if search.run() else None
    )
    if start is not None and search.bound - _worth(made, start[0]) <= effort.gap * search.bound:
        return _read(made, start[0], search.bound, effort)
    search.free()
    found = highs.whole(gap=effort.gap, nodes=effort.nodes, seconds=effort.seconds, start=start is not None) or start
    if found is None:
        raise NothingFoundError("No plan was found in time.")
    return _read(made, found[0], min(search.bound, found[1]) if found is not start else search.bound, effort)


def _worth(made: Programme, values: Sequence[int]) -> int:
    return sum(worth * value for worth, value in zip(made.worth, values, strict=True))


def _read(made: Programme, values: Sequence[int], limit: float, effort: Effort) -> Plan:
    worth = _worth(made, values)
    # Worths are whole: no plan is worth more than the whole part of the bound.
    bound = max(worth, floor(limit + 1e-6))
    return Plan(
        seats=tuple(sorted(_seats(made, values))),
        holes=_holes(made, values),
        posts=_posts(made, values),
        worth=worth,
        bound=bound,
        proof=_proof(worth, bound, effort),
    )


def _proof(worth: int, bound: int, effort: Effort) -> Proof:
    if worth == bound:
        return "optimal"
    return "within" if bound - worth <= effort.gap * max(bound, 1) else "stopped"


def _holes(made: Programme, values: Sequence[int]) -> dict[tuple[int, str], int]:
    return {(rotation, key): hole for (rotation, key, hole), at in made.hole.items() if values[at]}


def _posts(made: Programme, values: Sequence[int]) -> tuple[Post, ...]:
    """Return where coaches are needed: the programme may have more of them stand there than there is to do."""
    posts = [
        Post(rotation, key, "spots" if task == "spots" else "watches", values[at])
        for (rotation, key, task), at in made.post.items()
        if values[at]
    ]
    return tuple(sorted(posts))


def _seats(made: Programme, values: Sequence[int]) -> list[Seat]:
    edges: dict[int, list[Edge]] = defaultdict(list)
    for doing, at in made.doing.items():
        edges[doing.kind] += [_edge(made, doing)] * values[at]
    seats: list[Seat] = []
    for number, kind in enumerate(made.kinds):
        there = [rotation for rotation in range(made.ask.rotations) if kind.like.present(rotation)]
        shares = dealt(_with_idle(edges[number], there, kind.size), kind.size)
        for key, share in zip(kind.keys, shares, strict=True):
            seats += [
                Seat(edge.rotation, key, edge.choice, edge.place.station, edge.place.hole)
                for edge in share
                if edge.place is not None
            ]
    return seats


def _edge(made: Programme, doing: Doing) -> Edge:
    choice = made.kinds[doing.kind].like.choices[doing.choice]
    return Edge(doing.rotation, (choice.role, choice.step), doing.choice, doing.place)


def _with_idle(edges: Sequence[Edge], there: Sequence[int], size: int) -> list[Edge]:
    taken: dict[int, int] = defaultdict(int)
    for edge in edges:
        taken[edge.rotation] += 1
    idle = [Edge(rotation, _IDLE, 0, None) for rotation in there for _ in range(size - taken[rotation])]
    return sorted([*edges, *idle], key=lambda edge: (str(edge.does), edge.rotation, edge.choice, str(edge.place)))
