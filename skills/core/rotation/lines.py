"""Looking for good holes for the bars, rotation by rotation, before anything is solved in whole numbers.

With every bar held to a line of holes, what is left is nearly a flow of people through stations, and its relaxation
is solved in milliseconds from where the last one ended. The search begins with the holes that are worth most while the
other bars are free, one bar after another. Then bars are taken in turn, each tried at every hole for the whole class
and with one re-set between the best few, and two exchange their lines, until no bar can do better. Where that is not
near the bound, it begins once more from the holes that weigh most in the relaxation. The relaxation with all bars free
is a bound on every plan.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from typing import Final

from skills.core.rotation.asks import Ask
from skills.core.rotation.highs import Highs, InfeasibleError, Line

_BEST_FEW: Final = 4  # holes between which a re-set is tried
# Shares of the gap that is asked for: what is left of it is for the whole numbers.
_NEAR: Final = 0.6  # from here on looking further is left to them
_GOOD: Final = 0.9  # the same once it has been long, and for making no second start
_LONG: Final = 100  # lines tried
_NONE: Final = float("-inf")


@dataclass
class Search:
    """The search over the bars' lines. `bound` is the worth that no plan exceeds."""

    highs: Highs
    tries: int  # how many lines to try at most
    gap: float  # how far from the bound a plan may be, as a share of it
    bound: float = 0.0
    lines: dict[str, Line] = field(default_factory=dict)
    worth: float = _NONE
    _known: dict[tuple[tuple[str, Line], ...], float] = field(default_factory=dict)

    @property
    def ask(self) -> Ask:
        """The class."""
        return self.highs.made.ask

    def run(self) -> bool:
        """Look; return whether any lines were found that a plan can have. Raises InfeasibleError."""
        bound = self.highs.relaxed()
        if bound is None:
            raise InfeasibleError("No plan keeps all the rules.")
        self.bound = bound
        found = []
        for start in (self._dived, self._heaviest):
            self._climb(start())
            found.append((self.worth, dict(self.lines)))
            if self._within(_GOOD) or len(self._known) >= self.tries:
                break
        self.worth, self.lines = max(found, key=lambda each: each[0])
        self.hold()
        return self.worth > _NONE

    @property
    def _is_enough(self) -> bool:
        tried = len(self._known)
        return tried >= self.tries or self._within(_NEAR if tried < _LONG else _GOOD)

    def _within(self, share: float) -> bool:
        return not self.lines or self.worth >= self.bound * (1 - share * self.gap)

    def _climb(self, lines: dict[str, Line]) -> None:
        """Begin with these lines and take better ones as long as there are any."""
        self.lines = lines
        self.hold()
        self.worth = self._value()
        while not self._is_enough and (self._exchanged() | self._better()):
            pass

    def hold(self) -> None:
        """Hold every bar to its line."""
        for key, line in self.lines.items():
            self.highs.hold(key, line)

    def free(self) -> None:
        """Let every bar free."""
        for key in self._holes():
            self.highs.hold(key, None)

    def _dived(self) -> dict[str, Line]:
        """Hold one bar after another to the hole that is worth most while those that come later are free."""
        lines: dict[str, Line] = {}
        self.free()
        for key, holes in self._holes().items():
            worths = [(self._relaxed_with(key, hole), hole) for hole in holes if self._stays(key, hole)]
            best = max(worths, key=lambda each: (each[0], -each[1]))[1]
            lines[key] = (best,) * self.ask.rotations
            self.highs.hold(key, lines[key])
        return lines

    def _stays(self, key: str, hole: int) -> bool:
        """Whether a bar may have this hole for the whole class: it stays where it is set if it must not be re-set."""
        now = self.ask.station[key].hole
        return now is None or hole == now or self.ask.most_resets != 0

    def _relaxed_with(self, key: str, hole: int) -> float:
        self.highs.hold(key, (hole,) * self.ask.rotations)
        found = self.highs.relaxed()
        return _NONE if found is None else found

    def _heaviest(self) -> dict[str, Line]:
        """Return the hole that each bar has for the longest in the relaxation, or where it is set now."""
        self.free()
        self.highs.relaxed()
        values, ask, lines = self.highs.values(), self.ask, {}
        for key, holes in self._holes().items():
            weight = {
                hole: sum(values[self.highs.made.hole[rotation, key, hole]] for rotation in range(ask.rotations))
                for hole in holes
            }
            now = ask.station[key].hole
            best = max(holes, key=lambda hole, weight=weight: (weight[hole], -hole))  # type: ignore[misc]
            lines[key] = (best if now is None else now,) * ask.rotations
        return lines

    def _holes(self) -> dict[str, list[int]]:
        found: dict[str, set[int]] = {}
        for _, key, hole in self.highs.made.hole:
            found.setdefault(key, set()).add(hole)
        return {key: sorted(holes) for key, holes in found.items()}

    def _value(self) -> float:
        key = tuple(sorted(self.lines.items()))
        if key not in self._known:
            found = self.highs.relaxed()
            self._known[key] = _NONE if found is None else found
        return self._known[key]

    def _better(self) -> bool:
        """Give each bar in turn the line that is worth most while the others stay; say whether anything was gained."""
        before = self.worth
        for key, holes in self._holes().items():
            old = self.lines[key]
            best, worth = old, self.worth
            for line in self._candidates(key, holes):
                if (tried := self._with(key, line)) > worth + 1e-6:
                    best, worth = line, tried
            self.lines[key], self.worth = best, worth
            self.highs.hold(key, best)
            if self._is_enough:
                break
        return self.worth > before + 1e-6

    def _exchanged(self) -> bool:
        """Let two bars exchange their lines where that is worth more; say whether anything was gained."""
        before = self.worth
        for one, other in combinations(sorted(self.lines), 2):
            old = dict(self.lines)
            self.lines[one], self.lines[other] = old[other], old[one]
            if old[one] == old[other] or not self._may_have(one, other):
                self.lines = old
                continue
            self.hold()
            if (worth := self._value()) > self.worth + 1e-6:
                self.worth = worth
            else:
                self.lines = old
                self.hold()
        return self.worth > before + 1e-6

    def _may_have(self, *keys: str) -> bool:
        holes = self._holes()
        return all({*self.lines[key]} <= {*holes[key]} and self._allowed(key, self.lines[key]) for key in keys)

    def _with(self, key: str, line: Line) -> float:
        self.lines[key] = line
        if tuple(sorted(self.lines.items())) not in self._known:
            self.highs.hold(key, line)
        return self._value()

    def _candidates(self, key: str, holes: list[int]) -> Iterator[Line]:
        ask = self.ask
        ways = [line for hole in holes if self._allowed(key, line := (hole,) * ask.rotations)]
        yield from ways
        best = sorted(holes, key=lambda hole: (-self._with(key, (hole,) * ask.rotations), hole))[:_BEST_FEW]
        now = ask.station[key].hole
        first = best if now is None or now in best else [now, *best]
        for one in first:
            for other in best:
                for rotation in range(1, ask.rotations) if one != other else ():
                    line = (one,) * rotation + (other,) * (ask.rotations - rotation)
                    if self._allowed(key, line):
                        yield line

    def _allowed(self, key: str, line: Line) -> bool:
        most = self.ask.most_resets
        if most is None:
            return True
        others = sum(self._resets(bar, held) for bar, held in self.lines.items() if bar != key)
        return others + self._resets(key, line) <= most

    def _resets(self, key: str, line: Line) -> int:
        now = self.ask.station[key].hole
        return sum(a != b for a, b in pairwise(line if now is None else (now, *line)))
