"""What the tests leave open: the 5th percentile against simulated tests, its best against every deal, its bound."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import Objective, Question, propose, verify
from packs.matching.sure import fifth_percentile, fifth_percentile_bound, held_bound
from tests.packs.matching_stock import LIMITS, NAMES, deals, keeps, stock_of, table_of

DRAWS = 200_000


def percentile(groups, repeatability):
    """5th percentile of the weakest group from its definition, by halving in standard normal distributions."""
    low, high = 0.0, min(sum(group) for group in groups)
    for _ in range(60):
        middle = (low + high) / 2
        above = 1.0
        for group in groups:
            deviation = repeatability * sum(value**2 for value in group) ** 0.5
            above *= 1 - NormalDist(sum(group), deviation).cdf(middle)
        low, high = (middle, high) if above > 0.95 else (low, middle)
    return low


# Simulation with a fixed seed: every cell is tested anew 200 000 times. One case of twenty falls short; the share
# that does is itself known to 4 standard errors, sqrt(0.05 x 0.95 / 200 000) each.
@pytest.mark.parametrize(
    ("series", "parallel", "repeatability", "objective"),
    [
        (4, 3, 0.005, Objective.MOST_CAPACITY),
        (4, 3, 0.005, Objective.ASSURED_CAPACITY),
        (10, 2, 0.01, Objective.ASSURED_CAPACITY),
        (3, 1, 0.02, Objective.MOST_CAPACITY),
    ],
)
def test_one_simulated_pack_of_twenty_falls_short_of_the_stated_percentile(series, parallel, repeatability, objective):
    cells = table_of(stock_of(5, 26))
    question = Question(series, parallel, capacity_window=None, repeatability=repeatability, objective=objective)
    answer = propose(cells, question, iterations=30)
    rng = np.random.default_rng(20)
    weakest = np.full(DRAWS, np.inf)
    for group in answer.groups:
        capacity = cells.capacity_mah[list(group)]
        tested = capacity * (1 + repeatability * rng.standard_normal((DRAWS, parallel)))
        weakest = np.minimum(weakest, tested.sum(1))
    short = float((weakest < answer.pack_capacity_p5_mah).mean())
    assert short == pytest.approx(0.05, abs=4 * (0.05 * 0.95 / DRAWS) ** 0.5)


# Exhaustive search: the 5th percentile of every deal that keeps the limits.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize(("series", "parallel", "count"), [(2, 2, 8), (2, 3, 8), (3, 2, 8), (3, 1, 7)])
def test_the_surest_capacity_is_that_of_every_deal_tried(series, parallel, count, limits):
    for seed in range(3):
        columns = stock_of(120 + seed, count)
        cells = table_of(columns)
        question = Question(series, parallel, objective=Objective.ASSURED_CAPACITY, repeatability=0.02, **limits)
        best = max(
            (
                percentile([[columns[0][cell] for cell in group] for group in deal], 0.02)
                for deal in deals(range(count), [parallel] * series)
                if all(keeps(group, columns, question) for group in deal)
            ),
            default=None,
        )
        if best is None:
            with pytest.raises(Infeasible):
                propose(cells, question)
            continue
        answer = propose(cells, question, iterations=20)
        verify(cells, question, answer)
        assert answer.pack_capacity_p5_mah == pytest.approx(best, abs=1e-6)
        assert best <= answer.pack_capacity_p5_bound_mah + 1e-6
        assert answer.p5_gap_mah == pytest.approx(0, abs=1e-6)
        most = propose(cells, replace(question, objective=Objective.MOST_CAPACITY), iterations=20)
        assert most.pack_capacity_p5_mah <= best + 1e-6 <= most.pack_capacity_p5_bound_mah + 2e-6


# Exhaustive search: the bound alone, without the deals tried.
@pytest.mark.parametrize("sizes", [(2, 2), (3, 3), (2, 3), (2, 2, 2), (1, 1, 1)])
@pytest.mark.parametrize("repeatability", [0.005, 0.02, 0.1])
def test_no_deal_lies_above_the_bound_of_the_percentile(sizes, repeatability):
    for seed in range(4):
        capacity = stock_of(140 + seed, 8)[0]
        bound = fifth_percentile_bound(np.array(capacity), sizes, repeatability)
        for deal in deals(range(8), sizes):
            groups = [[capacity[cell] for cell in group] for group in deal]
            found = fifth_percentile([np.array(group, dtype=float) for group in groups], repeatability)
            assert found <= bound + 1e-6
            assert found <= held_bound(min(sum(group) for group in groups), sizes, repeatability) + 1e-6


def test_the_bound_of_equal_cells_is_what_they_reach():
    """Four groups of three cells of 2000 mAh: all at once above x, each with the fourth root of 0.95."""
    by_hand = NormalDist(6000, 0.01 * 2000 * 3**0.5).inv_cdf(1 - 0.95**0.25)
    assert fifth_percentile_bound(np.full(12, 2000), [3] * 4, 0.01) == pytest.approx(by_hand, abs=1e-6)
    answer = propose(table_of(([2000] * 12, [20_000] * 12, [3600] * 12)), Question(4, 3, repeatability=0.01))
    assert answer.p5_gap_mah == pytest.approx(0, abs=1e-6)


def test_stronger_cells_beside_the_weakest_group_make_the_pack_surer():
    """By hand: 1000 is the weakest either way; beside it 1000 is held less surely together than 1100."""
    cells = table_of(([1000, 1000, 1100, 1200], [20_000] * 4, [3600] * 4))
    question = Question(2, 1, repeatability=0.02, must_use=("C000",))
    assured_gap = propose(cells, replace(question, objective=Objective.ASSURED_CAPACITY))
    assert {row for group in assured_gap.groups for row in group} == {0, 3}
    assert assured_gap.pack_capacity_p5_mah > propose(cells, question).pack_capacity_p5_mah


def test_tests_that_repeat_exactly_leave_nothing_open():
    question = Question(2, 2, capacity_window=None, repeatability=0.0, objective=Objective.ASSURED_CAPACITY)
    answer = propose(table_of(stock_of(3, 12)), question)
    assert answer.pack_capacity_p5_mah == answer.weakest_mah


def test_a_larger_pack_is_no_less_sure_than_that_of_most_capacity():
    cells = table_of(stock_of(9, 120))
    for limits in (LIMITS[0], {"capacity_window": None, "max_resistance_ratio": 1.2}):
        question = Question(8, 5, objective=Objective.ASSURED_CAPACITY, **limits)
        assured_gap = propose(cells, question, iterations=60)
        verify(cells, question, assured_gap)
        most = propose(cells, replace(question, objective=Objective.MOST_CAPACITY), iterations=60)
        assert most.pack_capacity_p5_mah < assured_gap.pack_capacity_p5_mah <= assured_gap.pack_capacity_p5_bound_mah
        assert assured_gap.p5_gap_mah < assured_gap.pack_capacity_mah - assured_gap.pack_capacity_p5_mah


def test_the_stronger_of_two_models_is_the_surer():
    columns = ([2400, 2500, 2400, 2500, 2380, 2300], [20_000] * 6, [3600] * 6)
    cells = table_of(columns, model=["B", "A", "B", "A", "B", "A"])
    question = Question(2, 1, repeatability=0.02, objective=Objective.ASSURED_CAPACITY)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.groups == ((1,), (3,))


def test_the_check_refuses_a_percentile_above_its_bound():
    cells, question = table_of(stock_of(3, 12)), Question(2, 2, capacity_window=None)
    answer = propose(cells, question)
    with pytest.raises(ImpossibleValue, match="above its bound"):
        verify(cells, question, replace(answer, pack_capacity_p5_bound_mah=answer.pack_capacity_p5_mah - 1))


@settings(max_examples=12)
@given(
    st.lists(st.integers(15_000, 26_000), min_size=8, max_size=14),
    st.sampled_from(LIMITS),
    st.randoms(use_true_random=False),
    st.data(),
)
def test_the_order_of_the_cells_does_not_matter_and_forbidding_cells_is_never_surer(values, limits, rnd, data):
    order = list(range(len(values)))
    rnd.shuffle(order)
    codes = [f"C{place:03}" for place in range(len(values))]
    refused = tuple(data.draw(st.lists(st.sampled_from(codes), max_size=2, unique=True)))
    question = Question(2, 3, objective=Objective.ASSURED_CAPACITY, **limits)
    found = []
    for places, forbidden in ((range(len(values)), ()), (order, ()), (order, refused)):
        some = [values[place] for place in places]
        columns = ([v / 10 for v in some], [90_000 - 2 * v for v in some], [3550 + v % 97 for v in some])
        cells = table_of(columns, codes=[codes[place] for place in places])
        asked = replace(question, must_not_use=forbidden)
        try:
            answer = propose(cells, asked, iterations=8)
        except Infeasible:
            found.append((0.0, 0.0))
            continue
        verify(cells, asked, answer)
        found.append((answer.pack_capacity_p5_mah, answer.pack_capacity_p5_bound_mah))
    assert found[0] == pytest.approx(found[1], abs=1e-6)
    assert found[2][0] <= found[1][0] + 1e-6
