"""A mixed-integer model put together row by row and solved by HiGHS; nothing here knows what it is about."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

#: One number of threads for the life of a process: HiGHS fails silently when it changes.
THREADS = 1
#: Costs are whole numbers: a gap below one is none.
WHOLE_GAP = 0.99
#: What rounding inside HiGHS may have added to a bound.
SAFETY = 0.01

Terms = Mapping[int, float]
#: Seconds of work, the bound and the cost of the best assignment so far (infinite where there is none) -> go on?
Watch = Callable[[float, float, float], bool]
#: Every so many seconds at most a run is asked about.
HEARTBEAT = 0.25


@dataclass(frozen=True)
class Outcome:
    """What a run ended with. values: by column, None if no assignment was found; bound: no assignment costs less."""

    optimal: bool
    bound: float
    cost: float
    values: npt.NDArray[np.float64] | None


class Model:
    """Columns with costs and limits, rows `low <= terms <= high`; costs are minimised."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.whole: list[bool] = []
        self.constant = 0
        self._row_low: list[float] = []
        self._row_high: list[float] = []
        self._starts, self._columns, self._values = [0], list[int](), list[float]()

    def column(self, cost: float = 0, high: float = 1, whole: bool = False) -> int:
        """Add a column of at least 0 and return its place."""
        self.costs.append(cost)
        self.low.append(0)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(self, terms: Terms, low: float = -highspy.kHighsInf, high: float = highspy.kHighsInf) -> None:
        """Add the row low <= terms <= high."""
        self._row_low.append(low)
        self._row_high.append(high)
        self._columns += terms.keys()
        self._values += terms.values()
        self._starts.append(len(self._columns))

    def forbid(self, columns: Iterable[int]) -> None:
        """Hold columns at 0."""
        for column in columns:
            self.high[column] = 0

    def run(
        self, seconds: float, start: Mapping[int, float] | None = None, watch: Watch | None = None
    ) -> Outcome:
        """Minimise for at most so many seconds, from a partial assignment if one is given.

        watch: asked now and then, where HiGHS allows it; False ends the run with what there is.
        """
        solver = highspy.Highs()
        # Before anything else: HiGHS greets on standard output.
        solver.setOptionValue("output_flag", False)
        for option, value in (
            ("threads", THREADS), ("time_limit", float(seconds)), ("mip_rel_gap", 0.0), ("mip_abs_gap", WHOLE_GAP),
        ):  # fmt: skip
            solver.setOptionValue(option, value)
        solver.passModel(self._linear())
        if start:
            places = np.array(sorted(start), dtype=np.int32)
            solver.setSolution(len(places), places, np.array([start[at] for at in places], dtype=np.float64))
        if watch is not None:
            solver.cbMipInterrupt.subscribe(_Asked(watch))
        solver.run()
        info = solver.getInfo()
        optimal = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        cost = info.objective_function_value
        mixed = any(self.whole)
        return Outcome(
            optimal=optimal,
            bound=info.mip_dual_bound if mixed else (cost if optimal else -highspy.kHighsInf),
            cost=cost,
            values=np.array(solver.getSolution().col_value) if found else None,
        )

    @property
    def signature(self) -> tuple[object, ...]:
        """Return what two models share exactly when they are the same."""
        return tuple(
            tuple(each)
            for each in (
                self.costs, self.high, self.whole, self._row_low, self._row_high, self._starts,
                self._columns, self._values,
            )
        )  # fmt: skip

    def _linear(self) -> highspy.HighsLp:
        linear = highspy.HighsLp()
        linear.num_col_, linear.num_row_ = len(self.costs), len(self._row_low)
        linear.col_cost_ = np.array(self.costs, dtype=np.float64)
        linear.col_lower_ = np.array(self.low, dtype=np.float64)
        linear.col_upper_ = np.array(self.high, dtype=np.float64)
        linear.row_lower_ = np.array(self._row_low, dtype=np.float64)
        linear.row_upper_ = np.array(self._row_high, dtype=np.float64)
        linear.offset_ = float(self.constant)
        linear.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        linear.a_matrix_.start_ = np.array(self._starts, dtype=np.int32)
        linear.a_matrix_.index_ = np.array(self._columns, dtype=np.int32)
        linear.a_matrix_.value_ = np.array(self._values, dtype=np.float64)
        whole, free = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
        linear.integrality_ = [whole if each else free for each in self.whole]
        return linear


class _Asked:
    """Passes a watcher's word on to HiGHS, which may ask thousands of times a second."""

    def __init__(self, watch: Watch) -> None:
        self.watch, self.next, self.going = watch, 0.0, True

    def __call__(self, event: highspy.HighsCallbackEvent) -> None:
        out = event.data_out
        if self.going and out.running_time >= self.next:
            self.next = out.running_time + HEARTBEAT
            self.going = self.watch(out.running_time, out.mip_dual_bound, out.mip_primal_bound)
        if event.data_in is not None:
            event.data_in.user_interrupt = not self.going
