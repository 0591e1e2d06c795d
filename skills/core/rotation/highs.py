"""The programme inside HiGHS: solved as a relaxation or in whole numbers, with bars held to holes or free.

One thread, so that the same programme gives the same answer to the same calls. HiGHS is imported with the first
programme, which keeps it away from pages that plan nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from skills.core.rotation.programme import FREE, Programme

if TYPE_CHECKING:
    from numpy.typing import NDArray

Line = tuple[int, ...]  # a bar's hole in each rotation
_FEASIBLE: Final = 2  # of HiGHS' kSolutionStatus


class InfeasibleError(ValueError):
    """No plan keeps all the rules; `skills.core.rotation.clashes` names those that clash."""


class Highs:
    """A programme in the solver. Each relaxation starts from where the last one ended."""

    def __init__(self, made: Programme) -> None:
        import highspy  # noqa: PLC0415 (only who plans a class pays for it)

        self.made = made
        self._highspy = highspy
        self._highs: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 0)):
            self._highs.setOptionValue(option, value)
        self._highs.passModel(_model(made))

    def relaxed(self) -> float | None:
        """Return the worth of the relaxation, None if it has no answer."""
        self._highs.run()
        optimal = self._highs.getModelStatus() == self._highspy.HighsModelStatus.kOptimal
        return float(self._highs.getObjectiveValue()) if optimal else None

    def values(self) -> list[float]:
        """Return the values of all variables, as of the last run."""
        return list(self._highs.getSolution().col_value)

    def hold(self, key: str, line: Line | None) -> None:
        """Hold a bar to a hole in each rotation, or let it free."""
        import numpy as np  # noqa: PLC0415 (as above)

        mine = [(rotation, hole, at) for (rotation, bar, hole), at in self.made.hole.items() if bar == key]
        low = np.array([0.0 if line is None else float(line[rotation] == hole) for rotation, hole, _ in mine])
        high = np.array([1.0 if line is None else float(line[rotation] == hole) for rotation, hole, _ in mine])
        self._highs.changeColsBounds(len(mine), np.array([at for *_, at in mine], dtype=np.int32), low, high)

    def whole(self, *, gap: float, nodes: int, seconds: float, start: bool = False) -> tuple[list[int], float] | None:
        """Solve in whole numbers; return the values and the bound, None where nothing was found.

        `start` takes the last answer as the first plan. Raises InfeasibleError.
        """
        kept = self._highs.getSolution() if start else None
        self._declare_whole()
        if kept is not None:
            self._highs.setSolution(kept)
        # HiGHS counts the time of all runs together.
        until = self._highs.getRunTime() + seconds
        for option, value in (("mip_rel_gap", gap), ("mip_max_nodes", nodes), ("time_limit", until)):
            self._highs.setOptionValue(option, value)
        self._highs.run()
        if self._highs.getModelStatus() == self._highspy.HighsModelStatus.kInfeasible:
            raise InfeasibleError("No plan keeps all the rules.")
        info = self._highs.getInfo()
        if not self._highs.getSolution().value_valid or info.primal_solution_status != _FEASIBLE:
            return None
        return [round(value) for value in self.values()], float(info.mip_dual_bound)

    def _declare_whole(self) -> None:
        import numpy as np  # noqa: PLC0415 (as above)

        kinds = self._highspy.HighsVarType
        types = np.array([kinds.kInteger if whole else kinds.kContinuous for whole in self.made.whole])
        self._highs.changeColsIntegrality(len(types), np.arange(len(types), dtype=np.int32), types)


def _model(made: Programme) -> Any:  # noqa: ANN401 (HighsLp is untyped)
    import highspy  # noqa: PLC0415 (as above)
    import numpy as np  # noqa: PLC0415 (as above)

    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(made.worth), len(made.rows)
    model.sense_ = highspy.ObjSense.kMaximize
    model.col_cost_, model.col_lower_, model.col_upper_ = (
        np.array(values, dtype=float) for values in (made.worth, made.low, made.high)
    )
    model.row_lower_ = np.array([-np.inf if row.low == FREE else row.low for row in made.rows], dtype=float)
    model.row_upper_ = np.array([row.high for row in made.rows], dtype=float)
    starts, places, values = _row_wise(made)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_, model.a_matrix_.index_, model.a_matrix_.value_ = starts, places, values
    return model


def _row_wise(made: Programme) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    import numpy as np  # noqa: PLC0415 (as above)

    lengths = [len(row.terms) for row in made.rows]
    terms: Sequence[tuple[int, int]] = [term for row in made.rows for term in row.terms]
    return (
        np.cumsum([0, *lengths], dtype=np.int32),
        np.array([place for place, _ in terms], dtype=np.int32),
        np.array([value for _, value in terms], dtype=float),
    )
