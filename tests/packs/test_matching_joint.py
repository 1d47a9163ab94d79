"""The parts of a shared stock: their bounds against every deal tried, their local search without that."""

from random import Random

import numpy as np
import pytest

from packs.matching import CellTable, Question, propose_together, propose_uneven, verify_together, verify_uneven
from packs.matching.joint_bound import highest_level
from packs.matching.joint_program import level_bound
from packs.matching.mixed_search import climb_together, first_deal, level_of, narrow_together
from packs.matching.parts import Asked, parts_of
from tests.packs.matching_stock import LIMITS, NAMES, deals, keeps, stock_of, table_of

SIZES = [(2, 3), (2, 2, 3), (1, 3, 3)]


def parts_for(columns, sizes, limits):
    cells = table_of(columns)
    question = Question(len(sizes), max(sizes), **limits)
    rows = np.arange(len(cells))
    asked = [Asked(question, sizes.count(size), size, rows) for size in sorted(set(sizes))]
    return parts_of(cells, asked)


def best_of_every_deal(columns, sizes, limits):
    question = Question(len(sizes), max(sizes), **limits)
    return max(
        (
            min(sum(columns[0][cell] for cell in group) for group in deal)
            for deal in deals(range(len(columns[0])), sizes)
            if all(keeps(group, columns, question) for group in deal)
        ),
        default=None,
    )


# Exhaustive search: no deal lies above either bound.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize("sizes", SIZES)
def test_no_deal_lies_above_the_bounds(sizes, limits):
    for seed in range(4):
        columns = stock_of(40 + seed, 8)
        best = best_of_every_deal(columns, sizes, limits)
        parts = parts_for(columns, sizes, limits)
        step, floors = parts[0].cells.step, [None] * len(parts)
        ceiling = highest_level(parts, floors)
        closer = level_bound(parts, floors, -1, ceiling)
        assert closer <= ceiling
        if best is not None:
            assert 10 * best <= closer * step


def test_the_bound_without_limits_is_reached_by_hand():
    """Ten, nine and eight hundred mAh for groups of one and of two: 1000 alone, 900 + 800 beside it."""
    parts = parts_for(([1000, 900, 800], [20_000] * 3, [3600] * 3), (1, 2), {"capacity_window": None})
    assert highest_level(parts, [None, None]) * parts[0].cells.step == 10_000
    assert highest_level(parts, [9000 // parts[0].cells.step, None]) * parts[0].cells.step == 18_000


# Exhaustive search: the changes of cells alone, without the deals tried, come close to the best and never above.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
def test_changes_of_cells_alone_find_the_best_deal_of_most_small_stocks(limits):
    reached = possible = 0
    for seed in range(8):
        columns, sizes = stock_of(60 + seed, 9), (2, 2, 3)
        best = best_of_every_deal(columns, sizes, limits)
        parts = parts_for(columns, sizes, limits)
        floors = [None] * len(parts)
        rnd, ceiling = Random(seed), highest_level(parts, floors)
        groups = first_deal(parts, floors, ceiling, rnd) if ceiling >= 0 else None
        possible += best is not None
        if groups is None:
            continue
        groups = climb_together(parts, floors, groups, ceiling, rnd, 120)
        found = level_of(parts, floors, groups) * parts[0].cells.step
        assert best is not None
        assert found <= 10 * best
        least = [int(part.cells.capacity[dealt].sum(1).min()) for part, dealt in zip(parts, groups, strict=True)]
        narrowed = narrow_together(parts, least, groups, rnd, 100)
        assert level_of(parts, floors, narrowed) * parts[0].cells.step >= found
        reached += found == 10 * best
    assert reached >= 0.7 * possible


def reclaimed(count: int) -> CellTable:
    """Reclaimed cells of three former packs, invented."""
    rng = np.random.default_rng(8)
    capacity = np.rint(rng.normal(2300, 170, count)).clip(1500)
    ohm = np.rint(90_000 - 20 * capacity + rng.normal(0, 2500, count)).clip(12_000).astype(int)
    return table_of((capacity.tolist(), ohm.tolist(), rng.integers(3590, 3630, count).tolist()))


# A size of the shop's own, too large to try every deal; the bound is what nothing can exceed.
@pytest.mark.parametrize("limits", [LIMITS[0], {"capacity_window": None, "max_resistance_ratio": 1.3}])
def test_larger_packs_come_close_to_the_bound(limits):
    cells, question = reclaimed(160), Question(7, 4, **limits)
    answer = propose_together(cells, [question, Question(10, 3, **limits)], iterations=60)
    verify_together(cells, [question, Question(10, 3, **limits)], answer)
    assert answer.gap <= 0.003
    uneven = propose_uneven(cells, Question(14, 6, **limits), [5, 6] * 7, iterations=60)
    verify_uneven(cells, Question(14, 6, **limits), [5, 6] * 7, uneven)
    assert uneven.gap_mah <= 0.002 * uneven.bound_mah
    assert uneven.spread_mah <= 0.005 * uneven.bound_mah
