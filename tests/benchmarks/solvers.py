"""The matching question for two general solvers, from its definition: cells to groups, no capacity window."""

from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from packs.matching import CellTable, Question


def cp_sat(table: CellTable, question: Question, seconds: float) -> str:
    """Weakest group and bound by OR-Tools CP-SAT, two threads."""
    model, capacity = cp_model.CpModel(), np.rint(table.capacity_mah).astype(int).tolist()
    groups, cells = range(question.series), range(len(capacity))
    at = [[model.new_bool_var("") for _ in groups] for _ in cells]
    weakest = model.new_int_var(0, sum(sorted(capacity)[-question.parallel :]), "")
    for row in at:
        model.add_at_most_one(row)
    sums = [sum(capacity[cell] * at[cell][group] for cell in cells) for group in groups]
    for group in groups:
        model.add(sum(at[cell][group] for cell in cells) == question.parallel)
        model.add(sums[group] >= weakest)
        _limits(model, table, question, [at[cell][group] for cell in cells])
    for before, after in pairwise(sums):
        model.add(before <= after)
    model.maximize(weakest)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return solver.status_name(status).lower()
    return f"{solver.objective_value:g} of {solver.best_objective_bound:g} in {solver.wall_time:.1f} s"


def _limits(model: cp_model.CpModel, table: CellTable, question: Question, members: list[cp_model.IntVar]) -> None:
    """The least resistance and voltage of a group as variables that every member agrees with."""
    for column, ratio, width in (
        (table.dcir_nohm, question.max_resistance_ratio, 0.0),
        (table.ocv_uv, 1.0, question.ocv_window_mv),
    ):
        if ratio is None or width is None:
            continue
        least = model.new_int_var(int(column.min()), int(column.max()), "")
        for value, member in zip(column.tolist(), members, strict=True):
            model.add(least <= value).only_enforce_if(member)
            model.add(10_000 * (value - round(1000 * width)) <= round(10_000 * ratio) * least).only_enforce_if(member)


def highs(table: CellTable, question: Question, seconds: float) -> str:
    """Weakest group and bound by HiGHS without limits within the groups."""
    capacity, series, count = table.capacity_mah, question.series, len(table)
    width = count * series
    eye = sparse.eye_array(count)
    once = sparse.hstack([eye] * series + [sparse.csc_array((count, 1))])
    places = sparse.hstack([sparse.kron(sparse.eye_array(series), np.ones((1, count))), sparse.csc_array((series, 1))])
    sums = sparse.hstack([sparse.kron(sparse.eye_array(series), capacity[None, :]), -np.ones((series, 1))])
    found = milp(
        np.concatenate([np.zeros(width), [-1.0]]),
        constraints=[
            LinearConstraint(sparse.csc_array(once), -np.inf, 1),
            LinearConstraint(sparse.csc_array(places), question.parallel, question.parallel),
            LinearConstraint(sparse.csc_array(sums), 0, np.inf),
        ],
        integrality=np.concatenate([np.ones(width), [0]]),
        bounds=Bounds(0, np.concatenate([np.ones(width), [np.inf]])),
        options={"time_limit": seconds},
    )
    return "none" if found.x is None else f"{-found.fun:g} of {-found.mip_dual_bound:g}"
