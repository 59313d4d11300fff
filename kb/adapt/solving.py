"""Solve the linear problem with HiGHS: relaxed or whole-numbered, absolute and relative gap 0."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from kb.adapt.problem import Answer, Floats, Ints, Problem

#: Feasibility tolerance of rows and bounds, and of whole numbers.
_TOLERANCE = 1e-7


@dataclass(slots=True)
class _Matrix:
    """Rows of a sparse matrix in the making."""

    starts: list[int] = field(default_factory=list)
    index: list[Ints] = field(default_factory=list)
    value: list[Floats] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    held: int = 0

    def add(self, index: Ints, value: Floats, low: float, high: float) -> None:
        keep = value != 0.0
        index, value = index[keep], value[keep]
        self.starts.append(self.held)
        self.index.append(index)
        self.value.append(value)
        self.low.append(low)
        self.high.append(high)
        self.held += len(index)

    def add_pairs(self, index: Ints, value: Floats, high: float) -> None:
        """Add many rows of equally many entries at once: one a line of the arrays."""
        rows, wide = index.shape
        self.starts += [self.held + n * wide for n in range(rows)]
        self.index.append(index.ravel())
        self.value.append(value.ravel())
        self.low += [-np.inf] * rows
        self.high += [high] * rows
        self.held += rows * wide


def solve(
    problem: Problem,
    *,
    whole: bool = True,
    seconds: float = math.inf,
    cutoff: float = math.inf,
) -> tuple[Answer, Floats]:
    """Solve a problem, or its relaxation.

    Parameters
    ----------
    problem : Problem
    whole : bool
        Whether choices are taken or not; else they may be taken in part.
    seconds : float
        Time limit.
    cutoff : float
        Answers at this value or above are of no interest.

    Returns
    -------
    tuple of Answer and ndarray
        The answer, and the dual values of the linking rows (zeros with ``whole``).

    Notes
    -----
    Columns are taken (z), above best (p), below best (m) of each choice, then given and taken of
    each kept line. HiGHS stops at a relative gap of 1e-4 unless told; both gaps are set to 0. One
    thread and no random start, so that an answer repeats.
    """
    from highspy import HighsModelStatus

    model, linked = _model(problem, whole=whole)
    engine = _quiet()
    for name, value in (
        ("threads", 1),
        ("random_seed", 0),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("mip_feasibility_tolerance", _TOLERANCE),
        ("primal_feasibility_tolerance", _TOLERANCE),
        ("dual_feasibility_tolerance", _TOLERANCE),
    ):
        engine.setOptionValue(name, value)
    if math.isfinite(seconds):
        engine.setOptionValue("time_limit", max(seconds, 0.0))
    if whole and math.isfinite(cutoff):
        engine.setOptionValue("objective_bound", cutoff)
    engine.passModel(model)
    engine.run()
    status, info = engine.getModelStatus(), engine.getInfo()
    n, k = len(problem.choices), len(problem.kept)
    nothing = np.zeros(len(linked))
    if status in {HighsModelStatus.kInfeasible, HighsModelStatus.kUnboundedOrInfeasible}:
        return Answer("infeasible", math.inf, math.inf), nothing
    found = info.primal_solution_status == 2
    done = status == HighsModelStatus.kOptimal
    bound = float(info.mip_dual_bound if whole else info.objective_function_value)
    if not found:
        return Answer("stopped", math.inf, bound if whole else -math.inf), nothing
    solution = engine.getSolution()
    x = np.asarray(solution.col_value)
    duals = nothing if whole else np.asarray(solution.row_dual)[: len(linked)]
    taken = x[:n]
    places = np.flatnonzero(taken > 0.5) if whole else np.arange(n)
    part = np.ones(len(places)) if whole else taken
    levels = (problem.choices.best * part if not whole else problem.choices.best[places]) + (
        x[n : 2 * n] - x[2 * n : 3 * n]
    )[places]
    kept = problem.kept.level + x[3 * n : 3 * n + k] - x[3 * n + k : 3 * n + 2 * k]
    value = float(info.objective_function_value)
    if whole:
        value = problem.cost_of(places, levels, kept)
    return Answer("optimal" if done else "stopped", value, bound, places, levels, kept), duals


def _quiet() -> Any:
    """Return a solver that prints nothing: its own class prints a banner when it is made."""
    from highspy import Highs

    class Quiet(Highs):  # type: ignore[misc, unused-ignore]
        def __init__(self) -> None:
            super(Highs, self).__init__()
            self.setOptionValue("output_flag", False)

    return Quiet()


def _model(problem: Problem, *, whole: bool) -> tuple[Any, tuple[Any, ...]]:
    from highspy import HighsLp, HighsVarType, MatrixFormat, ObjSense

    choices, kept = problem.choices, problem.kept
    n, k = len(choices), len(kept)
    matrix = _Matrix()
    linked = problem.linked()
    every = np.arange(3 * n + 2 * k)
    for row in linked:
        # Lines as they stand are a constant: bring it to the other side.
        constant = float(row.kept @ kept.level)
        values = np.concatenate((row.at_best, row.up, -row.down, row.kept, -row.kept))
        matrix.add(every, values, row.low - constant, row.high - constant)
    one = np.arange(n)
    for slot in range(problem.slots):
        mine = one[choices.slot == slot]
        least = 0.0 if problem.optional[slot] else 1.0
        matrix.add(mine, np.ones(len(mine)), least, 1.0)
    above, below = choices.high - choices.best, choices.best - choices.low
    if n:
        matrix.add_pairs(
            np.stack((one, one + n), 1), np.stack((-np.maximum(above, 0.0), np.ones(n)), 1), 0.0
        )
        matrix.add_pairs(
            np.stack((one, one + 2 * n), 1), np.stack((-np.maximum(below, 0.0), np.ones(n)), 1), 0.0
        )
    for clash in problem.clashes:
        few, many = sorted((clash.first, clash.second), key=len)
        # A star for each choice on the smaller side, one row a slot on the other.
        for place in few:
            for slot in np.unique(choices.slot[many]):
                others = many[(choices.slot[many] == slot) & (many != place)]
                if choices.slot[place] == slot or not len(others):
                    continue
                index = np.concatenate(([place], others))
                matrix.add(index, np.ones(len(index)), -np.inf, 1.0)
    for cut in problem.cuts:
        index = np.array((*cut.places, *cut.unless), dtype=np.intp)
        values = np.concatenate((np.ones(len(cut.places)), -np.ones(len(cut.unless))))
        matrix.add(index, values, -np.inf, float(cut.most))
    model = HighsLp()
    model.num_col_, model.num_row_ = 3 * n + 2 * k, len(matrix.starts)
    model.sense_ = ObjSense.kMinimize
    model.col_cost_ = np.concatenate(
        (choices.cost, choices.rate, choices.rate, kept.rate, kept.rate)
    )
    model.col_lower_ = np.zeros(3 * n + 2 * k)
    model.col_upper_ = np.concatenate(
        (np.ones(n), np.maximum(above, 0.0), np.maximum(below, 0.0))
        + (np.maximum(kept.high - kept.level, 0.0), np.maximum(kept.level - kept.low, 0.0))
    )
    model.row_lower_, model.row_upper_ = np.array(matrix.low), np.array(matrix.high)
    model.a_matrix_.format_ = MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array([*matrix.starts, matrix.held])
    model.a_matrix_.index_ = np.concatenate(matrix.index)
    model.a_matrix_.value_ = np.concatenate(matrix.value)
    if whole:
        binary, real = HighsVarType.kInteger, HighsVarType.kContinuous
        model.integrality_ = [binary] * n + [real] * (2 * n + 2 * k)
    return model, linked
