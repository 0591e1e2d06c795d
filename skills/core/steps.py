"""The rules of a gym: its steps, what each asks for, and how they lead to one another."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from heapq import heapify, heappop, heappush

from skills.core.criteria import Criterion, steps_named


@dataclass(frozen=True, slots=True)
class CriterionInForce:
    """One version of a step's criterion, in force from a moment on until the next version."""

    version: int
    from_us: int
    criterion: Criterion


@dataclass(frozen=True, slots=True)
class StepRule:
    """What a gym asks of one step."""

    code: str
    requires: tuple[str, ...]
    asks_clearance: bool  # a coach opens it
    needs_sign_off: bool  # a coach finishes it; otherwise it passes by itself
    recheck_days: int | None
    loads: frozenset[str]
    inverted: bool
    criteria: tuple[CriterionInForce, ...]  # sorted by (from_us, version)

    @property
    def always_open(self) -> bool:
        """Whether nobody and nothing has to open the step."""
        return not self.requires and not self.asks_clearance

    @property
    def parents(self) -> tuple[str, ...]:
        """Codes, sorted, of all steps whose timelines the standing at this one depends on."""
        named = (steps_named(version.criterion) for version in self.criteria)
        return tuple(sorted({*self.requires}.union(*named)))

    def in_force_at(self, us: int) -> CriterionInForce | None:
        """Return the criterion in force: the latest by (from_us, version) that has begun."""
        begun = [version for version in self.criteria if version.from_us <= us]
        return max(begun, key=lambda version: (version.from_us, version.version), default=None)


class CycleError(ValueError):
    """Steps that wait for one another; ``cycle`` names them, the first one again at the end."""

    def __init__(self, cycle: tuple[str, ...]) -> None:
        self.cycle = cycle
        super().__init__(f"These steps wait for one another: {' → '.join(cycle)}.")


class UnknownStepError(ValueError):
    """A step that builds on one that the rules do not hold."""

    def __init__(self, step: str, unknown: str) -> None:
        self.step, self.unknown = step, unknown
        super().__init__(f"The step {step!r} builds on {unknown!r}, which is not among the steps.")


@dataclass(frozen=True)  # without slots: what is derived is kept on the object
class Rules:
    """All steps of a gym by code, and its time zone (an IANA name)."""

    steps: Mapping[str, StepRule]
    zone: str

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Codes such that each step follows its parents, ties by code.

        Raises CycleError naming a cycle, and UnknownStepError for a parent that is not there.
        """
        children = self._children
        waiting = {code: len(step.parents) for code, step in self.steps.items()}
        free = [code for code, count in waiting.items() if count == 0]
        heapify(free)
        ordered: list[str] = []
        while free:
            ordered.append(heappop(free))
            for child in children.get(ordered[-1], ()):
                waiting[child] -= 1
                if waiting[child] == 0:
                    heappush(free, child)
        if len(ordered) < len(self.steps):
            raise CycleError(self._cycle_among({*self.steps} - {*ordered}))
        return tuple(ordered)

    def dependents(self, code: str) -> tuple[str, ...]:
        """Return the codes, sorted, of the steps that require this one or ask for it in a criterion."""
        return self._children.get(code, ())

    def hazard(self, code: str) -> bool:
        """Whether the step, or any step that leads to it by requirement, turns the athlete upside down."""
        return code in self._hazards

    @cached_property
    def _children(self) -> dict[str, tuple[str, ...]]:
        children: dict[str, list[str]] = {}
        for code in sorted(self.steps):
            for parent in self.steps[code].parents:
                if parent not in self.steps:
                    raise UnknownStepError(code, parent)
                children.setdefault(parent, []).append(code)
        return {parent: tuple(codes) for parent, codes in children.items()}

    @cached_property
    def _hazards(self) -> frozenset[str]:
        found: set[str] = set()
        for code in self.order:
            step = self.steps[code]
            if step.inverted or not found.isdisjoint(step.requires):
                found.add(code)
        return frozenset(found)

    def _cycle_among(self, stuck: set[str]) -> tuple[str, ...]:
        """Walk from parent to parent among steps that all have a parent there, until one comes again."""
        path = list(_walk_up(self.steps, stuck))
        cycle = path[path.index(path[-1]) :]
        start = cycle.index(min(cycle))
        return (*cycle[start:-1], *cycle[: start + 1])


def _walk_up(steps: Mapping[str, StepRule], stuck: set[str]) -> Iterator[str]:
    code, seen = min(stuck), set[str]()
    while code not in seen:
        yield code
        seen.add(code)
        code = next(parent for parent in steps[code].parents if parent in stuck)
    yield code
