"""The same classes in several solvers: `python -m tests.bench.solvers [CLASSES]` writes rows of a table.

Ours (`skills.core.rotation.solving`); HiGHS alone on the same programme; CP-SAT on the same programme; CP-SAT on a
plain one (`tests.core.rotation.second`: a Boolean for everybody, everywhere, always). One thread each, to a gap of a
hundredth. Times are of the processor, so that they say something on a busy machine too; CP-SAT ends by its
deterministic time, which is about that.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import process_time

from ortools.sat.python import cp_model

from skills.core.rotation.asks import Ask
from skills.core.rotation.highs import Highs
from skills.core.rotation.programme import FREE, Programme, programme_of
from skills.core.rotation.solving import best_plan
from tests.core.rotation import second
from tests.core.rotation.classes import gyms

GAP, SECONDS, AT_LAST = 0.01, 10.0, 90.0
SIZES = {
    "12 × 4 × 6, two bars": {"people": 12, "rotations": 4, "stations": 6, "adjustable": 2},
    "24 × 5 × 8, three bars": {"people": 24, "rotations": 5, "stations": 8, "adjustable": 3},
}


@dataclass(frozen=True, slots=True)
class Found:
    """What a solver came to: seconds of the processor, and the gap as a share of its bound (1 for no plan)."""

    seconds: float
    gap: float


def ours(ask: Ask) -> float:
    """Return our gap."""
    return best_plan(ask).gap


def highs(ask: Ask) -> float:
    """Return the gap of HiGHS alone."""
    found = Highs(made := programme_of(ask)).whole(gap=GAP, nodes=10**6, seconds=AT_LAST)
    if found is None:
        return 1.0
    values, bound = found
    return 1 - sum(worth * value for worth, value in zip(made.worth, values, strict=True)) / bound


def cp_sat(ask: Ask) -> float:
    """Return the gap of CP-SAT on our programme."""
    return _solved(_model(programme_of(ask)))


def cp_sat_plain(ask: Ask) -> float:
    """Return the gap of CP-SAT on the plain one."""
    return _solved(second.model_of(ask))


SOLVERS: dict[str, Callable[[Ask], float]] = {
    "ours": ours,
    "HiGHS, our programme": highs,
    "CP-SAT, our programme": cp_sat,
    "CP-SAT, plain": cp_sat_plain,
}


def _model(made: Programme) -> cp_model.CpModel:
    model = cp_model.CpModel()
    variables = [model.new_int_var(low, high, "") for low, high in zip(made.low, made.high, strict=True)]
    for row in made.rows:
        total = sum(times * variables[at] for at, times in row.terms)
        model.add_linear_constraint(total, -(10**6) if row.low == FREE else row.low, row.high)
    model.maximize(sum(worth * variable for worth, variable in zip(made.worth, variables, strict=True)))
    return model


def _solved(model: cp_model.CpModel) -> float:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.relative_gap_limit = GAP
    solver.parameters.max_deterministic_time = SECONDS
    solver.parameters.max_time_in_seconds = AT_LAST
    status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return 1.0
    return 1 - solver.objective_value / solver.best_objective_bound


def timed(solve: Callable[[Ask], float], ask: Ask) -> Found:
    """Solve and time."""
    began = process_time()
    gap = solve(ask)
    return Found(process_time() - began, gap)


def main(classes: int = 5) -> None:
    """Print a row for each size and solver."""
    for solve in SOLVERS.values():
        solve(gyms(0, people=4, rotations=2, stations=4, adjustable=1))
    for size, numbers in SIZES.items():
        asks = [gyms(seed, **numbers) for seed in range(classes)]
        for name, solve in SOLVERS.items():
            found = [timed(solve, ask) for ask in asks]
            seconds = [each.seconds for each in found]
            within = sum(each.gap <= GAP + 1e-6 for each in found)
            worst = max(each.gap for each in found)
            row = (
                size,
                name,
                f"{median(seconds):.2f} s",
                f"{max(seconds):.2f} s",
                f"{within} of {classes}",
                f"{worst:.1%}",
            )
            sys.stdout.write(f"| {' | '.join(row)} |\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
