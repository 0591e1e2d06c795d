"""The arithmetic of the bench: what took how long, over what nothing could beat."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter

Seconds = Sequence[float]


@dataclass(frozen=True, slots=True)
class Timing:
    """How long something took each time, in seconds, and what it is; or other numbers, where `say` writes them."""

    what: str
    seconds: Seconds
    say: Callable[[float], str] | None = None

    @property
    def median(self) -> float:
        """The time in the middle: one slow time among many moves it little."""
        return median(self.seconds)

    @property
    def worst(self) -> float:
        """The longest time."""
        return max(self.seconds)


@dataclass(frozen=True, slots=True)
class Figure:
    """A time over another one, measured side by side in the same run; `goal` is the most that it should be."""

    name: str
    goal: float
    took: Timing
    over: Timing

    @property
    def ratio(self) -> float:
        """The one median over the other, to three digits after the point."""
        return round(self.took.median / self.over.median, 3)

    @property
    def met(self) -> bool:
        """Whether the ratio is no more than the goal."""
        return self.ratio <= self.goal

    def row(self) -> str:
        """Return two lines for people: the ratio and its goal, then what was measured."""
        verdict = "met" if self.met else "MISSED"
        head = f"{self.name:<34} {self.ratio:>9.2f}   goal at most {self.goal:<6g} {verdict}"
        return f"{head}\n    {_told(self.took)}\n    over {_told(self.over)}"


def _told(timing: Timing) -> str:
    count, say = len(timing.seconds), timing.say or duration
    middle = f"{timing.what}: {say(timing.median)}"
    return middle if count == 1 else f"{middle} (median of {count}, worst {say(timing.worst)})"


def duration(seconds: float) -> str:
    """Return a duration in the unit that suits it."""
    if seconds >= 1:
        return f"{seconds:.2f} s"
    return f"{seconds * 1e3:.2f} ms" if seconds >= 1e-3 else f"{seconds * 1e6:.1f} µs"


def json_line(figures: Iterable[Figure]) -> str:
    """Return the figures as one line of JSON."""
    return json.dumps([{"name": f.name, "ratio": f.ratio, "goal": f.goal, "met": f.met} for f in figures])


def timed(act: Callable[[], object]) -> float:
    """Return how many seconds an act takes."""
    began = perf_counter()
    act()
    return perf_counter() - began


def side_by_side(rounds: int, one: Callable[[], object], other: Callable[[], object]) -> tuple[Seconds, Seconds]:
    """Time two acts in turns, so that whatever else the machine does hits both; who begins changes each round."""
    one_took: list[float] = []
    other_took: list[float] = []
    for number in range(rounds):
        turns = [(one, one_took), (other, other_took)]
        for act, took in turns if number % 2 else reversed(turns):
            took.append(timed(act))
    return one_took, other_took
