"""Matching: filters with their counts, levelling, shares of current, percentile, weaker cells, cells kept together."""

from contextlib import suppress
from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import CellTable, Filter, LevelTo, Objective, Question, Together, answers, propose, verify


def table(capacities, **columns):
    columns = {"model": "A", "chemistry": "nmc", "resistance_method": "dc"} | columns
    return CellTable.of([f"C{number:03}" for number in range(len(capacities))], capacities, **columns)


# Each column's last cell falls out; the filter that counts it, and words of its reason.
@pytest.mark.parametrize(
    ("columns", "asked", "kind", "reason"),
    [
        ({}, {"max_capacity_mah": 2599.0}, "capacity", "2600 mAh, at most 2599 mAh"),
        ({"rated_mah": [2500] * 4 + [4000]}, {"min_health": 0.8}, "health", "65.0%, at least 80.0%"),
        ({"rated_mah": [2500] * 4 + [2000]}, {"max_health": 1.1}, "health", "130.0%, at most 110.0%"),
        ({"rated_mah": [2500] * 4 + [float("nan")]}, {"min_health": 0.8}, "value not known", "rated capacity"),
        (
            {"self_discharge_mv_per_day": [0.5] * 4 + [2.1]},
            {"max_self_discharge_mv_per_day": 2.0},
            "self-discharge",
            "2.1 mV/day, at most 2 mV/day",
        ),
        (
            {"history": ["sound"] * 4 + ["deep discharged"]},
            {"refused_histories": ("deep discharged",)},
            "history",
            "was deep discharged",
        ),
        ({"history": ["sound"] * 4 + [""]}, {"refused_histories": ("flooded",)}, "value not known", "history"),
        (
            {"ocv_mv": [3600, 3601, 3602, 3600, 3589], "lot": "L", "charged_on": "2026-03-01"},
            {},
            "drifted from lot-mates",
            "-11 mV from its lot-mates, at most 10 mV",
        ),
        ({"test_conditions": ["25 °C"] * 4 + ["0 °C"]}, {}, "does not go with the cells chosen", "25 °C"),
        ({"donor": ["D"] * 4 + [""]}, {"together": Together.DONOR}, "value not known", "donor"),
    ],
)
def test_every_filter_counts_and_explains(columns, asked, kind, reason):
    cells = table([2500, 2500, 2500, 2500, 2600], **columns)
    question = Question(2, 2, **asked)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.excluded_by == {kind: 1}
    assert (answer.excluded[0].code, reason in answer.excluded[0].reason) == ("C004", True)
    with pytest.raises(ImpossibleValue):
        verify(cells, question, replace(answer, groups=(answer.groups[0], (answer.groups[1][0], 4))))


@pytest.mark.parametrize(("volt", "used"), [(3610, True), (3610.001, False)])
def test_drift_at_its_limit(volt, used):
    cells = table([2500, 2500, 2500, 2500], ocv_mv=[3600, 3600, 3600, volt], lot="L", charged_on="1")
    assert used == (not propose(cells, Question(1, 2)).excluded)


def test_cells_of_another_chemistry_only_where_mixing_is_allowed():
    cells = table([2500] * 4, chemistry=["nmc", "nmc", "nca", "nca"])
    with pytest.raises(Infeasible):
        propose(cells, Question(2, 2))
    question = Question(2, 2, allow_mixed_chemistries=True)
    verify(cells, question, propose(cells, question))


@pytest.mark.parametrize("together", [Together.LOT, Together.DONOR])
def test_lots_or_donors_kept_together(together):
    origin = ["X", "X", "Y", "Y", "Z"]
    cells = table([2500, 2400, 2450, 2440, 2600], **{together.value: origin})
    question = Question(2, 2, together=together)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.groups == ((0, 1), (2, 3))
    assert (answer.weakest_mah, answer.gap_mah) == (4890, 0)
    assert answer.limiting == ("lots or donors kept together",)
    with pytest.raises(ImpossibleValue, match="more than one"):
        verify(cells, question, propose(cells, Question(2, 2)))


def test_weaker_cells_are_used_up():
    # By hand: 4000 mAh per pair out of the poorest cells is 1950 + 2050 and 1990 + 2010; 2400 and 2500 stay.
    cells = table([1950, 1990, 2010, 2050, 2400, 2500])
    question = Question(2, 2, objective=Objective.USE_UP_WEAKER, required_mah=4000.0)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert {row for group in answer.groups for row in group} == {0, 1, 2, 3}
    assert (answer.used_mah, answer.least_used_mah, answer.weakest_mah) == (8000, 8000, 4000)
    with pytest.raises(Infeasible, match="proven"):
        propose(cells, replace(question, required_mah=4500.1))
    with pytest.raises(ImpossibleValue, match="below the 4001"):
        verify(cells, replace(question, required_mah=4001.0), answer)


def test_weaker_cells_are_used_up_in_a_single_group():
    # By hand: the two poorest that reach 4000 mAh are 1990 and 2010; a group alone has none to change cells with.
    cells = table([1950, 1990, 2010, 2050, 2400, 2500])
    question = Question(1, 2, objective=Objective.USE_UP_WEAKER, required_mah=4000.0)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.used_mah == 4000
    only = table([2400, 2500])
    assert propose(only, question).groups == ((0, 1),)


def test_to_use_up_weaker_cells_a_capacity_must_be_asked():
    with pytest.raises(ImpossibleValue, match="which capacity"):
        Question(2, 2, objective=Objective.USE_UP_WEAKER)


# Kirchhoff: of 20 and 30 mΩ in parallel the 20 mΩ carry three fifths.
def test_share_of_the_worst_cell():
    share = propose(table([2500, 2500], dcir_uohm=[20_000, 30_000]), Question(1, 2)).worst_share
    assert (share.code, share.share, share.even_share) == ("C000", pytest.approx(0.6), 0.5)


# One group of normal errors: mean less 1.645 standard deviations (standard normal table, one-sided 5 %).
def test_fifth_percentile_of_one_group():
    answer = propose(table([2000] * 4), Question(1, 4))
    assert answer.pack_capacity_mah == 8000
    assert answer.pack_capacity_p5_mah == pytest.approx(8000 - 1.6449 * 0.005 * 2000 * 2, abs=0.01)


# n equal groups: the smallest is above x when all are, so each must be with the n-th root of 0.95.
def test_fifth_percentile_of_equal_groups():
    answer = propose(table([2000] * 10), Question(10, 1, repeatability=0.01))
    assert answer.pack_capacity_p5_mah == pytest.approx(NormalDist(2000, 20).inv_cdf(1 - 0.95**0.1), abs=0.01)


def test_every_cell_is_levelled_once_straight_to_where_it_ends():
    cells = table([2500] * 6, ocv_mv=[3600, 3601, 3640, 3700, 3701, 3702])
    question = Question(2, 3, ocv_window_mv=40.0)
    levelling = propose(cells, question).levelling
    assert [(entry.group, entry.code, entry.target_mv) for entry in levelling] == [
        (1, "C000", 3651.0),
        (1, "C001", 3651.0),
        (1, "C002", 3651.0),
        (2, "", 3651.0),
    ]


def test_flat_voltage_is_levelled_by_charge():
    cells = table([2500] * 2, ocv_mv=[3290, 3310], chemistry="lfp")
    answer = propose(cells, Question(1, 2))
    assert {(entry.to.value, entry.target_mv) for entry in answer.levelling} == {("to equal charge", None)}


# The ends of the flat part by `state_of_charge` (published curves): 3.29 V is 14 to 99 % charged, so no two cells there
# are known to be alike however near they rest; above 3.45 V all are full, below 2.7 V all are empty.
@pytest.mark.parametrize(
    ("rest", "listed"),
    [
        ([3290, 3293, 3296, 3298], 4),
        ([3290, 3290, 3290, 3290], 4),
        ([3460, 3470, 3480, 3500], 0),
        ([2600, 2620, 2640, 2660], 0),
        ([3460, 3470, 3480, 2600], 4),
        ([3460, 3470, 3480, float("nan")], 4),
    ],
)
def test_a_flat_voltage_says_nothing_unless_all_are_full_or_all_are_empty(rest, listed):
    cells = table([2500] * 4, ocv_mv=rest, chemistry="lfp")
    question = Question(2, 2)
    answer = propose(cells, question)
    assert sorted((one.code, one.to.value, one.target_mv) for one in answer.levelling) == [
        (f"C{row:03}", "to equal charge", None) for row in range(listed)
    ]
    verify(cells, question, answer)
    for false in ((), answer.levelling[1:]):
        if false != answer.levelling:
            with pytest.raises(ImpossibleValue, match="levelled"):
                verify(cells, question, replace(answer, levelling=false))


def test_the_check_refuses_every_false_statement():
    cells = table(
        [2500, 2480, 2490, 2510, 1500, 2505],
        dcir_uohm=[20_000, 21_000, 22_000, 25_000, 20_000, 20_000],
        ocv_mv=[3600, 3650, 3600, 3600, 3600, 3600],
        test_conditions=["1 A"] * 5 + ["2 A"],
    )
    question = Question(2, 2, min_capacity_mah=2000.0, max_resistance_ratio=1.3)
    good = propose(cells, question)
    verify(cells, question, good)
    assert good.levelling
    assert good.worst_share is not None
    left_out, other = good.excluded
    assert (left_out.filter, other.filter) == (Filter.CAPACITY, Filter.KIND)
    level = good.levelling[0]
    false = {
        "worst share not known": {"worst_share": None},
        "another cell's share": {"worst_share": replace(good.worst_share, code=cells.codes[good.groups[0][1]])},
        "a smaller share": {"worst_share": replace(good.worst_share, share=good.worst_share.share - 0.001)},
        "another even share": {"worst_share": replace(good.worst_share, even_share=0.25)},
        "a cell outside": {"worst_share": replace(good.worst_share, code="C004")},
        "spread below zero": {"resistance_spread_uohm": -5.0},
        "spread not known": {"resistance_spread_uohm": float("nan")},
        "limiting nothing known": {"limiting": ("nonsense",)},
        "limiting not asked": {"limiting": ("voltage window",)},
        "limiting twice": {"limiting": ("capacity window", "capacity window")},
        "nobody left out": {"excluded": ()},
        "one not left out": {"excluded": (left_out,)},
        "left out twice": {"excluded": (left_out, left_out, other)},
        "left out for another reason": {"excluded": (replace(left_out, filter=Filter.DRIFT), other)},
        "left out as strange": {"excluded": (replace(left_out, filter=Filter.KIND), other)},
        "a chosen cell left out": {"excluded": (left_out, other, replace(other, code="C000"))},
        "a cell that is not there left out": {"excluded": (left_out, other, replace(other, code="X"))},
        "nothing to level": {"levelling": ()},
        "levelled elsewhere": {"levelling": (replace(level, target_mv=3601.0), *good.levelling[1:])},
        "levelled by charge": {"levelling": (replace(level, to=LevelTo.CHARGE, target_mv=None),)},
        "how far it repeats": {"weakest_repeats_mah": good.weakest_repeats_mah + 1},
        "resistance of a group": {"group_resistance_uohm": (1.0, good.group_resistance_uohm[1])},
    }
    believed = []
    for name, change in false.items():
        with suppress(ImpossibleValue):
            verify(cells, question, replace(good, **change))
            believed.append(name)
    assert believed == []


def test_a_voltage_within_reach_needs_no_levelling():
    assert propose(table([2500] * 2, ocv_mv=[3600, 3610]), Question(1, 2)).levelling == ()


def test_a_deadline_needs_a_clock():
    with pytest.raises(ImpossibleValue, match="clock"):
        next(answers(table([2500] * 2), Question(1, 2), deadline=1.0))


limits = st.fixed_dictionaries(
    {
        "capacity_window": st.sampled_from([None, 0.1, 0.3]),
        "max_resistance_ratio": st.sampled_from([None, 1.2, 2.0]),
        "ocv_window_mv": st.sampled_from([None, 60.0]),
    }
)
cell = st.tuples(st.integers(1500, 2600), st.integers(10_000, 30_000), st.integers(3500, 3650))


@settings(max_examples=25)
@given(st.lists(cell, min_size=6, max_size=11), cell, st.sampled_from([(2, 2), (2, 3), (3, 2)]), limits)
def test_one_more_cell_never_lowers_the_bound_under_limits(cells, extra, shape, asked):
    question = Question(*shape, **asked)
    bounds = []
    for rows in (cells, [*cells, extra]):
        capacity, ohm, volt = zip(*rows, strict=True)
        try:
            bounds.append(propose(table(capacity, dcir_uohm=ohm, ocv_mv=volt), question, iterations=12).bound_mah)
        except Infeasible:
            bounds.append(0.0)
    assert bounds[0] <= bounds[1]


@pytest.mark.parametrize("objective", [Objective.MOST_CAPACITY, Objective.ASSURED_CAPACITY])
def test_a_required_capacity_is_a_limit_whatever_is_better(objective):
    # By hand: the strongest four make two pairs of 4450 at best (2400 + 2050, 2500 + 2010 gives 4510 and 4450).
    cells = table([1950, 1990, 2010, 2050, 2400, 2500])
    question = Question(2, 2, objective=objective, required_mah=4450.0, capacity_window=None)
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.weakest_mah == 4450
    with pytest.raises(Infeasible, match="It is proven that no pack of these cells has 4481 mAh"):
        propose(cells, replace(question, required_mah=4481.0))
    for more in (4451.0, 4480.0):
        with pytest.raises(Infeasible):
            propose(cells, replace(question, required_mah=more))
    with pytest.raises(ImpossibleValue, match="below the 4451"):
        verify(cells, replace(question, required_mah=4451.0), answer)
