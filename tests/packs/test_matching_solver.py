"""Matching against a constraint solver and against exhaustive search, on small seeded stocks."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from ortools.sat.python import cp_model

from packs.errors import Infeasible
from packs.matching import CellTable, Question, answers, propose, verify

SHAPES = [(2, 2, 8), (3, 2, 10), (2, 3, 9), (3, 3, 11), (2, 4, 10)]


def small_stock(seed, count):
    rng = np.random.default_rng(seed)
    capacity = rng.integers(1500, 2600, count)
    ohm = np.rint(90 - capacity / 40 + rng.normal(0, 3, count)).astype(int).clip(10)
    return [[int(value) for value in column] for column in (capacity, ohm, rng.integers(3550, 3650, count))]


def small_table(capacity, ohm, volt):
    codes = [f"C{number:03}" for number in range(len(capacity))]
    return CellTable.of(codes, capacity, dcir_uohm=[1000 * r for r in ohm], ocv_mv=volt, model="A", chemistry="nmc")


def clashes(one, other, question, ohm, volt):
    low, high = sorted((ohm[one], ohm[other]))
    ratio, window = question.max_resistance_ratio, question.ocv_window_mv
    apart = window is not None and abs(volt[one] - volt[other]) > window
    return apart or (ratio is not None and 100 * high > round(100 * ratio) * low)


def solver_weakest(capacity, ohm, volt, question):
    """Largest weakest group by CP-SAT, from the definition: cells to groups, pairs that may not meet, each group's sum."""
    model, cells, groups = cp_model.CpModel(), range(len(capacity)), range(question.series)
    at = {(cell, group): model.new_bool_var("") for cell in cells for group in groups}
    weakest = model.new_int_var(0, sum(capacity), "")
    for cell in cells:
        model.add_at_most_one(at[cell, group] for group in groups)
    for group in groups:
        total = sum(capacity[cell] * at[cell, group] for cell in cells)
        model.add(sum(at[cell, group] for cell in cells) == question.parallel)
        model.add(total >= weakest)
        for one, other in combinations(cells, 2):
            if clashes(one, other, question, ohm, volt):
                model.add_bool_or(at[one, group].negated(), at[other, group].negated())
        if question.capacity_window is not None:
            hundredths = round(100 * question.capacity_window)
            for cell in cells:
                own = 100 * question.parallel * capacity[cell]
                model.add(own <= (100 + hundredths) * total).only_enforce_if(at[cell, group])
                model.add(own >= (100 - hundredths) * total).only_enforce_if(at[cell, group])
    model.maximize(weakest)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.value(weakest) if status == cp_model.OPTIMAL else None


LIMITS = [
    {"capacity_window": None},
    {"capacity_window": None, "max_resistance_ratio": 1.25},
    {"capacity_window": None, "max_resistance_ratio": 1.4, "ocv_window_mv": 60.0},
    {"capacity_window": 0.08},
]


# OR-Tools CP-SAT 9.15 solves the same question from its definition; 200 stocks, with and without limits.
@pytest.mark.parametrize("seed", range(50))
@pytest.mark.parametrize("limits", LIMITS, ids=["none", "ratio", "ratio and voltage", "capacity window"])
def test_weakest_group_equals_that_of_a_constraint_solver(limits, seed):
    series, parallel, count = SHAPES[seed % len(SHAPES)]
    columns = small_stock(seed, count)
    question = Question(series, parallel, **limits)
    best = solver_weakest(*columns, question)
    cells = small_table(*columns)
    if best is None:
        with pytest.raises(Infeasible):
            propose(cells, question)
        return
    answer = propose(cells, question, iterations=40)
    verify(cells, question, answer)
    assert (answer.weakest_mah, answer.bound_mah >= best) == (best, True)


def halves(capacity, parallel):
    """Best weakest of two groups over every choice and every split."""
    total = {group: sum(capacity[cell] for cell in group) for group in combinations(range(len(capacity)), parallel)}
    best = 0
    for one, sum_one in total.items():
        if sum_one > best:
            inside = set(one)
            best = max([best, *(min(sum_one, two) for other, two in total.items() if inside.isdisjoint(other))])
    return best


# Exhaustive search: every choice of two groups, for all packs up to 2s3p from 10 cells and 2s5p from 12.
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(("parallel", "count"), [(1, 10), (2, 10), (3, 10), (4, 12), (5, 12)])
def test_two_groups_reach_what_every_choice_tried_reaches(parallel, count, seed):
    capacity, ohm, volt = small_stock(100 + seed, count)
    answer = propose(small_table(capacity, ohm, volt), Question(2, parallel, capacity_window=None))
    assert answer.weakest_mah == halves(capacity, parallel)


def test_answers_get_better_and_their_bounds_lower():
    columns = small_stock(7, 40)
    cells, question = small_table(*columns), Question(5, 4, capacity_window=None, max_resistance_ratio=1.2)
    found = list(answers(cells, question))
    for before, after in pairwise(found):
        assert after.weakest_mah >= before.weakest_mah
        assert after.bound_mah <= before.bound_mah
    for answer in found:
        verify(cells, question, answer)


def test_a_deadline_ends_the_search_with_what_it_has():
    columns, ticks = small_stock(7, 40), iter(range(10_000))
    cells, question = small_table(*columns), Question(5, 4, capacity_window=None, max_resistance_ratio=1.2)
    early = list(answers(cells, question, deadline=3.0, clock=lambda: float(next(ticks))))
    verify(cells, question, early[-1])
    assert len(early) < len(list(answers(cells, question)))
    assert early[-1].weakest_mah <= propose(cells, question).weakest_mah


def test_the_caller_may_stop_after_any_answer():
    columns = small_stock(7, 40)
    cells, question = small_table(*columns), Question(5, 4, capacity_window=None, max_resistance_ratio=1.2)
    search = answers(cells, question)
    verify(cells, question, next(search))
    search.close()
