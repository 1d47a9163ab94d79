"""New groups beside groups that stay: against every group tried, what to level, and properties of any stock."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import LevelTo, Objective, Question, StandingGroup, propose_repair, verify_repair
from tests.packs.matching_stock import LIMITS, NAMES, deals, keeps, stock_of, table_of

REPEATABILITY = 0.005


def standing(capacity, ohm, rest=3600.0):
    """Three groups that stay; the least holds ``capacity``, the middle resistance is ``ohm``."""
    return [
        StandingGroup(capacity + 90, ohm - 700, rest),
        StandingGroup(capacity, ohm, rest),
        StandingGroup(capacity + 40, ohm + 900, rest),
    ]


def resistance(group, ohm):
    return 1 / sum(1 / ohm[cell] for cell in group)


def best_of_every_group(columns, parallel, question, asked, target):
    """Enough with least above it, then nearest in resistance among those the tests cannot tell from it."""
    capacity, ohm, _ = columns
    may = [group for group in combinations(range(len(capacity)), parallel) if keeps(group, columns, question)]
    sums = {group: sum(capacity[cell] for cell in group) for group in may}
    if not may:
        return None
    enough = [group for group in may if sums[group] >= asked]
    least = min(sums[group] for group in enough) if enough else max(sums.values())
    slack = REPEATABILITY * max(asked if enough else least, 0) / parallel**0.5
    near = [group for group in may if least <= sums[group] <= least + slack]
    return min((abs(resistance(group, ohm) - target), sums[group]) for group in near)


# Exhaustive search: every group of the cells is tried. What is asked runs from easy to out of reach.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize(("parallel", "count"), [(1, 9), (2, 12), (3, 12), (4, 11)])
def test_one_new_group_is_the_best_of_every_group_tried(parallel, count, limits):
    for seed, each in enumerate((1700, 2100, 2500)):
        columns = stock_of(160 + seed, count)
        cells, question = table_of(columns), Question(1, parallel, **limits)
        asked, target = each * parallel, 40_000 // parallel
        best = best_of_every_group(columns, parallel, question, asked, target)
        stay = standing(float(asked), float(target))
        if best is None:
            with pytest.raises(Infeasible):
                propose_repair(cells, question, stay)
            continue
        answer = propose_repair(cells, question, stay, iterations=40)
        verify_repair(cells, question, stay, answer)
        assert abs(answer.resistance_off_uohm[0]) == pytest.approx(best[0], abs=1e-3)
        assert answer.proposal.weakest_mah == best[1]
        assert answer.falls_short == (best[1] < asked)
        assert answer.pack_weakest_mah == min(asked, best[1]) <= answer.pack_bound_mah


# Exhaustive search: every deal of two new groups.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
def test_two_new_groups_hold_what_the_others_hold_wherever_some_deal_does(limits):
    for seed, asked in enumerate((3600, 4200, 4600, 5000)):
        columns = stock_of(180 + seed, 9)
        question = Question(2, 2, **limits)
        weakest = [
            min(sum(columns[0][cell] for cell in group) for group in deal)
            for deal in deals(range(9), [2, 2])
            if all(keeps(group, columns, question) for group in deal)
        ]
        stay = standing(float(asked), 20_000.0)
        answer = propose_repair(table_of(columns), question, stay, iterations=40)
        verify_repair(table_of(columns), question, stay, answer)
        assert answer.pack_weakest_mah == min(asked, max(weakest))


def test_a_good_cell_is_not_wasted_and_of_two_the_tests_cannot_tell_apart_the_nearer_resistance_is_taken():
    """By hand: 2500 asked of one cell, slack 12.5: 2505 and 2510 count alike, 2600 would be wasted."""
    cells = table_of(([2505, 2510, 2600, 2400], [30_000, 21_000, 20_000, 20_000], [3600] * 4))
    answer = propose_repair(cells, Question(1, 1), standing(2500.0, 20_000.0))
    assert answer.proposal.groups == ((1,),)
    assert (answer.asked_mah, answer.falls_short, answer.pack_weakest_mah) == (2500, False, 2500)
    assert (answer.resistance_target_uohm, answer.resistance_off_uohm) == (20_000, (1000,))


def test_where_no_capacity_is_known_the_group_holds_as_much_as_it_can():
    cells = table_of(stock_of(4, 9))
    answer = propose_repair(cells, Question(1, 2, capacity_window=None), [StandingGroup(), StandingGroup()])
    assert answer.asked_mah is None
    assert not answer.falls_short
    assert answer.proposal.weakest_mah == sum(sorted(cells.capacity_mah.tolist())[-2:])
    assert (answer.level_mv, answer.resistance_target_uohm, answer.resistance_off_uohm) == (None, None, ())


def test_new_cells_are_levelled_to_the_middle_of_the_groups_that_stay():
    """By hand: the middle of 3590, 3600 and 3640 is 3600; more than 5 mV away are 3594 and, of those that stay, two."""
    cells = table_of(([2500, 2500, 2500], [20_000] * 3, [3594, 3596, 3605]))
    stay = [StandingGroup(2500.0, None, rest) for rest in (3590.0, 3600.0, 3640.0)]
    answer = propose_repair(cells, Question(1, 3), stay)
    verify_repair(cells, Question(1, 3), stay, answer)
    assert [(one.group, one.code, one.rest_mv, one.target_mv) for one in answer.proposal.levelling] == [
        (1, "C000", 3594, 3600)
    ]
    assert (answer.level_mv, answer.standing_to_level, answer.unmeasured) == (3600, (1, 3), ())


def test_a_flat_voltage_is_levelled_by_charge_and_a_cell_without_a_voltage_is_named():
    cells = table_of(([2500, 2500], [20_000] * 2, [3294, float("nan")]), chemistry="lfp")
    answer = propose_repair(cells, Question(1, 2), [StandingGroup(5000.0, 10_000.0, 3310.0)])
    assert answer.level_to is LevelTo.CHARGE
    assert [(one.code, one.target_mv) for one in answer.proposal.levelling] == [("C000", None), ("C001", None)]
    assert answer.unmeasured == ("C001",)


def test_a_shop_size_stock_wastes_next_to_nothing():
    """Too many groups to try: an invented stock of 300; what is asked is met within the tests' repeatability."""
    rng = np.random.default_rng(3)
    capacity = np.rint(rng.normal(2300, 170, 300)).clip(1500)
    ohm = np.rint(90_000 - 20 * capacity + rng.normal(0, 2500, 300)).clip(12_000)
    cells = table_of((capacity.tolist(), ohm.tolist(), rng.integers(3590, 3630, 300).tolist()))
    for limits in LIMITS:
        question, stay = Question(1, 5, **limits), standing(11_000.0, 8_800.0)
        answer = propose_repair(cells, question, stay, iterations=30)
        verify_repair(cells, question, stay, answer)
        assert 11_000 <= answer.proposal.weakest_mah <= 11_000 + 2 * REPEATABILITY * 11_000 / 5**0.5
        assert abs(answer.resistance_off_uohm[0]) < 100


@pytest.mark.parametrize(
    ("stay", "question", "said"),
    [
        ([], Question(1, 2), "no repair"),
        ([StandingGroup()], Question(1, 2, objective=Objective.USE_UP_WEAKER, required_mah=1.0), "most capacity"),
    ],
)
def test_impossible_repairs(stay, question, said):
    with pytest.raises(ImpossibleValue, match=said):
        propose_repair(table_of(stock_of(1, 6)), question, stay)


@pytest.mark.parametrize(
    "values", [(0.0, None, None), (None, -1.0, None), (None, None, -1.0), (float("nan"), None, None)]
)
def test_impossible_groups_that_stay(values):
    with pytest.raises(ImpossibleValue, match="stays"):
        StandingGroup(*values)


def test_the_check_refuses_every_false_statement():
    cells, question, stay = table_of(stock_of(2, 9)), Question(1, 2, capacity_window=None), standing(4000.0, 20_000.0)
    good = propose_repair(cells, question, stay)
    false = [
        replace(good, asked_mah=4001.0),
        replace(good, pack_weakest_mah=good.pack_weakest_mah + 1),
        replace(good, pack_bound_mah=0.0),
        replace(good, level_mv=3610.0),
        replace(good, level_mv=None),
        replace(good, resistance_off_uohm=(good.resistance_off_uohm[0] + 1,)),
        replace(good, standing_to_level=(1,)),
        replace(good, proposal=replace(good.proposal, levelling=())),
    ]
    assert good.proposal.levelling
    for statement in false:
        with pytest.raises(ImpossibleValue):
            verify_repair(cells, question, stay, statement)


@settings(max_examples=25)
@given(
    st.lists(st.integers(15_000, 26_000), min_size=6, max_size=12),
    st.integers(4000, 8000),
    st.sampled_from(LIMITS),
    st.randoms(use_true_random=False),
    st.data(),
)
def test_the_order_of_the_cells_does_not_matter_and_forbidding_cells_never_helps_the_pack(
    values, asked, limits, rnd, data
):
    order = list(range(len(values)))
    rnd.shuffle(order)
    codes = [f"C{place:03}" for place in range(len(values))]
    refused = tuple(data.draw(st.lists(st.sampled_from(codes), max_size=2, unique=True)))
    stay, found = standing(float(asked), 15_000.0), []
    for places, forbidden in ((range(len(values)), ()), (order, ()), (order, refused)):
        some = [values[place] for place in places]
        columns = ([v / 10 for v in some], [90_000 - 2 * v for v in some], [3550 + v % 97 for v in some])
        cells = table_of(columns, codes=[codes[place] for place in places])
        question = Question(1, 3, must_not_use=forbidden, **limits)
        try:
            answer = propose_repair(cells, question, stay, iterations=8)
        except Infeasible:
            found.append((0.0, []))
            continue
        verify_repair(cells, question, stay, answer)
        named = [[cells.codes[row] for row in group] for group in answer.proposal.groups]
        found.append((answer.pack_weakest_mah, named))
    assert found[0] == found[1]
    assert found[2][0] <= found[1][0]
