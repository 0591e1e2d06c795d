"""Class plans: how long the slowest of twenty classes of a size takes, and how far the farthest is from its bound.

And whether the board waits while one is made: pages of the board beside a plan in its process of its own, in turns
with as many while none is.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from itertools import chain
from statistics import median
from time import perf_counter, process_time

from django.urls import reverse

from skills.core.rotation.asks import Ask
from skills.core.rotation.solving import best_plan
from skills.core.rotation.written import written_ask
from skills.services import planning
from tests.bench.figures import Figure, Timing
from tests.bench.scenes import make_scene
from tests.bench.server import served
from tests.bench.tablet import Tablet
from tests.core.rotation.classes import gyms

CLASSES = 20


@dataclass(frozen=True, slots=True)
class Goal:
    """A size of class and what is asked of its plans: seconds and gap at most."""

    people: int
    rotations: int
    stations: int
    adjustable: int
    seconds: float
    gap: float

    @property
    def name(self) -> str:
        """The figure's name."""
        return f"plan_for_{self.people}"

    def asks(self) -> Iterator[Ask]:
        """Yield the seeded classes, every second one with bars re-set as often as is worth it."""
        for seed in range(CLASSES):
            yield gyms(
                seed,
                people=self.people,
                rotations=self.rotations,
                stations=self.stations,
                adjustable=self.adjustable,
                most_resets=None if seed % 2 else 1,
            )


GOALS = (Goal(12, 4, 6, 2, 1.0, 0.01), Goal(24, 5, 8, 3, 5.0, 0.01), Goal(40, 5, 8, 3, 10.0, 0.05))


def plans_of(goal: Goal, _attempts: int) -> list[Figure]:
    """Plan twenty classes of a size: the slowest over what is allowed, and the farthest from its bound likewise."""
    walls, cpus, gaps = [], [], []
    best_plan(gyms(0, people=4, rotations=2, stations=4, adjustable=1))  # loads the solver
    for ask in goal.asks():
        began, cpu = perf_counter(), process_time()
        gaps.append(best_plan(ask).gap)
        walls.append(perf_counter() - began)
        cpus.append(process_time() - cpu)
    size = f"{goal.people} × {goal.rotations} × {goal.stations}"
    told = f"the slowest plan of {CLASSES} for {size} ({max(cpus):.2f} s of the processor)"
    return [
        Figure(goal.name, 1, Timing(told, [max(walls)]), Timing("what it may take", [goal.seconds])),
        Figure(
            f"{goal.name}_gap",
            1,
            Timing(f"the farthest of {CLASSES} from its bound", [max(gaps)], "{:.2%}".format),
            Timing("what it may be", [goal.gap], "{:.0%}".format),
        ),
    ]


MEASURES: dict[tuple[str, ...], Callable[[int], list[Figure]]] = {
    (goal.name, f"{goal.name}_gap"): partial(plans_of, goal) for goal in GOALS
}


# ---- The board meanwhile --------------------------------------------------------------------------------------------


def board_meanwhile(attempts: int) -> list[Figure]:
    """Get the board of twelve while a class of forty is planned, and while none is, in turns of ten."""
    scene = make_scene(athletes=12)
    path = reverse("session", args=[scene.session.id])
    busy: list[list[float]] = []
    quiet: list[list[float]] = []
    with served() as port:
        tablet = Tablet(port, scene.cookies())
        _pages(tablet, path, 10)
        for turn in range(max(attempts // 10, 1)):
            if turn % 2:
                quiet.append(_pages(tablet, path, 10))
            with _planning(turn):
                busy.append(_pages(tablet, path, 10))
            if not turn % 2:
                quiet.append(_pages(tablet, path, 10))
    ratios = sorted(median(one) / median(other) for one, other in zip(busy, quiet, strict=True))
    least, most = ratios[len(ratios) // 10], ratios[-1 - len(ratios) // 10]
    told = f"the board while a class is planned (eight of ten turns: {least:.2f} to {most:.2f} of the board else)"
    took, over = (Timing(words, [*chain(*turns)]) for words, turns in ((told, busy), ("the board else", quiet)))
    return [Figure("board_while_planning", 1.2, took, over)]


def _pages(tablet: Tablet, path: str, count: int) -> list[float]:
    took = []
    for _ in range(count):
        began = perf_counter()
        tablet.get(path)
        took.append(perf_counter() - began)
    return took


@contextmanager
def _planning(seed: int) -> Iterator[None]:
    """Have a class of forty planned by the process that the site starts for it; end it by its id, done or not."""
    ask = written_ask(gyms(seed, people=40, rotations=5, stations=8, adjustable=3))
    pipe = subprocess.PIPE
    with subprocess.Popen(planning.CHILD, stdin=pipe, stdout=subprocess.DEVNULL, text=True) as child:
        assert child.stdin is not None
        child.stdin.write(ask)
        child.stdin.close()
        try:
            yield
            if child.poll() is not None:
                raise RuntimeError("The plan was made before the pages were: nothing was measured.")
        finally:
            child.kill()
