"""Matching: small packs against exhaustive search, published pack figures, properties that hold for any stock."""

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import CellTable, Proposal, Question, answers, propose, verify, weakest_group_bound

NO_LIMIT = {"capacity_window": None}


def table(capacities, **columns):
    columns = {"model": "A", "chemistry": "nmc", "resistance_method": "dc"} | columns
    codes = columns.pop("codes", [f"C{number:03}" for number in range(len(capacities))])
    return CellTable.of(codes, capacities, **columns)


def deals(cells, parallel, series):
    """Every way to choose `series` groups of `parallel` cells, groups in order of their first cell."""
    if series == 0:
        yield ()
        return
    for first in range(len(cells)):
        later = cells[first + 1 :]
        for others in combinations(later, parallel - 1):
            left = [cell for cell in later if cell not in others]
            for rest in deals(left, parallel, series - 1):
                yield ((cells[first], *others), *rest)


def keeps(group, capacity, ohm, volt, question):
    """Limits of a group, written out in floats from their definitions."""
    mean = sum(capacity[cell] for cell in group) / len(group)
    ohms, volts = [ohm[cell] for cell in group], [volt[cell] for cell in group]
    ratio, window, band = question.max_resistance_ratio, question.capacity_window, question.ocv_window_mv
    return (
        (ratio is None or max(ohms) <= ratio * min(ohms) * (1 + 1e-12))
        and (band is None or max(volts) - min(volts) <= band)
        and (window is None or all(abs(capacity[cell] - mean) <= window * mean * (1 + 1e-12) for cell in group))
    )


def exhaustive(capacity, ohm, volt, question):
    """Best (weakest, -spread) of all deals, or None where none keeps the limits."""
    best = None
    good = {
        group: sum(capacity[cell] for cell in group)
        for group in combinations(range(len(capacity)), question.parallel)
        if keeps(group, capacity, ohm, volt, question)
    }
    for groups in deals(list(range(len(capacity))), question.parallel, question.series):
        if all(group in good for group in groups):
            sums = [good[group] for group in groups]
            rank = (min(sums), min(sums) - max(sums))
            best = rank if best is None or rank > best else best
    return best


def stock_of(seed, count):
    """Reclaimed cells, invented: capacity falls as resistance rises."""
    rng = np.random.default_rng(seed)
    capacity = rng.integers(1500, 2600, count)
    ohm = np.rint(90_000 - 25 * capacity + rng.normal(0, 3000, count)).clip(10_000)
    return capacity.tolist(), ohm.tolist(), rng.integers(3550, 3650, count).tolist()


# Exhaustive search: every deal is tried.
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("series", "parallel", "count"), [(2, 2, 8), (2, 3, 9), (3, 2, 8), (4, 1, 9)])
def test_reaches_what_exhaustive_search_finds(series, parallel, count, seed):
    capacity, ohm, volt = stock_of(seed, count)
    question = Question(series, parallel, **NO_LIMIT)
    answer = propose(table(capacity, dcir_uohm=ohm, ocv_mv=volt), question)
    assert (answer.weakest_mah, -answer.spread_mah) == exhaustive(capacity, ohm, volt, question)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "limits",
    [
        {"capacity_window": None, "max_resistance_ratio": 1.2},
        {"capacity_window": None, "ocv_window_mv": 30.0},
        {"capacity_window": 0.05},
        {"capacity_window": 0.08, "max_resistance_ratio": 1.3, "ocv_window_mv": 60.0},
    ],
    ids=["ratio", "voltage", "window", "all"],
)
def test_limits_against_exhaustive_search(limits, seed):
    capacity, ohm, volt = stock_of(seed, 9)
    question = Question(2, 3, **limits)
    best = exhaustive(capacity, ohm, volt, question)
    cells = table(capacity, dcir_uohm=ohm, ocv_mv=volt)
    if best is None:
        with pytest.raises(Infeasible):
            propose(cells, question)
        return
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.weakest_mah == best[0]


def test_a_single_string_takes_the_strongest_cells_that_lie_closest():
    answer = propose(table([2500, 2400, 2300, 2300, 2900]), Question(3, 1))
    assert (answer.weakest_mah, answer.spread_mah, answer.gap_mah) == (2400, 500, 0)


@pytest.mark.parametrize("seed", range(4))
def test_cells_far_above_all_others_cost_the_other_groups_nothing_that_could_be_kept(seed):
    """Invented stock of worn cells with three fresh ones: their groups take the smallest of the largest cells."""
    rng = np.random.default_rng(seed)
    capacity = np.concatenate([np.rint(rng.normal(2300, 180, 200)), [3450, 3430, 3400]])
    answer = propose(table(capacity), Question(12, 5, **NO_LIMIT))
    largest = np.sort(capacity)[-60:]
    fresh = largest[-3:].sum() + largest[:12].sum()
    assert answer.weakest_mah >= (largest.sum() - fresh) // 9 - 1
    assert answer.weakest_mah < largest.sum() / 12 - 3


@pytest.mark.parametrize(("window", "bound"), [(None, 2100), (Fraction(2, 100), 2040), (Fraction(5, 100), 2100)])
def test_the_bound_under_a_capacity_window_is_that_of_the_smallest_cells_group(window, bound):
    """2 x 1000 / 0.98 = 2040.8; with 5 % the pair of the largest and the smallest, 2100, is the stricter."""
    capacity = np.array([1100, 1100, 1100, 1100, 1090, 1000])
    assert weakest_group_bound(capacity, 3, 2, window=window) == bound


def test_group_resistance_is_that_of_cells_in_parallel():
    # Two resistors in parallel: R = R1 R2 / (R1 + R2), Kirchhoff; 20 and 30 give 12.
    answer = propose(table([2500, 2500], dcir_uohm=[20_000, 30_000]), Question(1, 2))
    assert answer.group_resistance_uohm == pytest.approx((12_000,))


def test_equal_cells_are_dealt_so_that_group_resistances_agree():
    ohm = [20_000, 20_000, 30_000, 30_000]
    answer = propose(table([2500] * 4, dcir_uohm=ohm), Question(2, 2))
    assert answer.resistance_spread_uohm == pytest.approx(0)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("limits", [{}, {"max_resistance_ratio": 2.5, "ocv_window_mv": 96.0}], ids=["free", "limited"])
def test_group_resistances_come_together_and_capacities_stay(limits, seed):
    """Invented stock, all of it used: dealt by capacity alone its groups would lie 30 % and more apart."""
    capacity, ohm, volt = stock_of(seed, 36)
    cells, question = table(capacity, dcir_uohm=ohm, ocv_mv=volt), Question(6, 6, capacity_window=None, **limits)
    found = list(answers(cells, question))
    verify(cells, question, found[-1])
    alike = [one for one in found if (one.weakest_mah, one.spread_mah) == (found[-1].weakest_mah, found[-1].spread_mah)]
    assert alike[-1].resistance_spread_uohm < 0.75 * alike[0].resistance_spread_uohm


def test_unknown_resistance_leaves_the_group_resistance_unknown():
    cells = table([2500, 2500], dcir_uohm=[20_000, float("nan")])
    answer = propose(cells, Question(1, 2))
    assert np.isnan(answer.group_resistance_uohm[0])
    verify(cells, Question(1, 2), answer)


@pytest.mark.parametrize(
    ("columns", "question", "reason"),
    [
        ({"capacity": float("nan")}, {}, "capacity not known"),
        ({"reserved": True}, {}, "reserved"),
        ({"quarantined": True}, {}, "quarantine"),
        ({"chemistry": "unknown"}, {}, "chemistry not known"),
        ({"chemistry": "lfp"}, {}, "does not go with"),
        ({"model": ""}, {}, "model not known"),
        ({"model": "B"}, {}, "does not go with"),
        ({"method": "ac"}, {}, "does not go with"),
        ({"lot": "2"}, {"allow_mixed_lots": False}, "does not go with"),
        ({"ohm": float("nan")}, {"max_resistance_ratio": 2.0}, "resistance not known"),
        ({"volt": float("nan")}, {"ocv_window_mv": 50.0}, "rest voltage not known"),
        ({"capacity": 1999.9}, {"min_capacity_mah": 2000.0}, "1999.9 mAh, at least 2000 mAh"),
        ({}, {"must_not_use": ("X",)}, "asked not to be used"),
    ],
)
def test_a_cell_left_out_is_named_with_its_reason(columns, question, reason):
    cell = {"capacity": 3000.0, "ohm": 20_000.0, "volt": 3600.0, "model": "A", "chemistry": "nmc"}
    cell |= {"method": "dc", "lot": "1", "reserved": False, "quarantined": False} | columns
    four = [2500.0] * 4
    cells = CellTable.of(
        ["X", "A", "B", "C", "D"],
        [cell["capacity"], *four],
        dcir_uohm=[cell["ohm"], *[20_000.0] * 4],
        ocv_mv=[cell["volt"], *[3600.0] * 4],
        lot=[cell["lot"], *"1111"],
        model=[cell["model"], *"AAAA"],
        chemistry=[cell["chemistry"], *["nmc"] * 4],
        resistance_method=[cell["method"], *["dc"] * 4],
        reserved=[cell["reserved"], *[False] * 4],
        quarantined=[cell["quarantined"], *[False] * 4],
    )
    answer = propose(cells, Question(2, 2, **question))
    assert [exclusion.code for exclusion in answer.excluded] == ["X"]
    assert reason in answer.excluded[0].reason


@pytest.mark.parametrize(("capacity", "used"), [(1999.9, False), (2000.0, True), (2000.1, True)])
def test_lowest_capacity_itself_may_be_used(capacity, used):
    answer = propose(table([capacity, 2500, 2500]), Question(1, 2, min_capacity_mah=2000, capacity_window=None))
    assert used == (not answer.excluded)


@pytest.mark.parametrize(("ohm", "kept"), [(21_999, True), (22_000, True), (22_001, False)])
def test_resistance_ratio_at_its_limit(ohm, kept):
    cells = table([2500, 2500], dcir_uohm=[20_000, ohm])
    question = Question(1, 2, max_resistance_ratio=1.1)
    if kept:
        verify(cells, question, propose(cells, question))
    else:
        with pytest.raises(Infeasible, match="proven"):
            propose(cells, question)


@pytest.mark.parametrize(("volt", "kept"), [(3649.999, True), (3650, True), (3650.001, False)])
def test_voltage_window_at_its_limit(volt, kept):
    cells = table([2500, 2500], ocv_mv=[3600, volt])
    question = Question(1, 2, ocv_window_mv=50)
    if kept:
        verify(cells, question, propose(cells, question))
    else:
        with pytest.raises(Infeasible, match="proven"):
            propose(cells, question)


# 1900 and 2100 mAh lie exactly 5 % from their mean of 2000 mAh.
@pytest.mark.parametrize(("capacity", "kept"), [(2099.9, True), (2100, True), (2100.1, False)])
def test_capacity_window_at_its_limit(capacity, kept):
    cells = table([1900, capacity])
    if kept:
        verify(cells, Question(1, 2), propose(cells, Question(1, 2)))
    else:
        with pytest.raises(Infeasible, match="proven"):
            propose(cells, Question(1, 2))


# Three cells for one pair: the two strongest just keep, or just miss, a limit that the weaker two keep.
PAIRS = [
    ({"ocv_mv": [3600, 3650, 3690]}, {"ocv_window_mv": 50.0}, True),
    ({"ocv_mv": [3600, 3650.001, 3690]}, {"ocv_window_mv": 50.0}, False),
    ({"dcir_uohm": [20_000, 22_000, 23_000]}, {"max_resistance_ratio": 1.1}, True),
    ({"dcir_uohm": [20_000, 22_000.001, 23_000]}, {"max_resistance_ratio": 1.1}, False),
    ({"capacity": [2100, 1900, 1850]}, {"capacity_window": 0.05}, True),
    ({"capacity": [2100.1, 1900, 1850]}, {"capacity_window": 0.05}, False),
]


@pytest.mark.parametrize(("columns", "limit", "kept"), PAIRS)
def test_the_strongest_pair_is_used_only_where_it_keeps_the_limit(columns, limit, kept):
    columns = {"capacity": [2500, 2500, 2400], "dcir_uohm": [20_000] * 3, "ocv_mv": [3600] * 3} | columns
    cells = table(columns.pop("capacity"), **columns)
    question = Question(1, 2, **({"capacity_window": None} | limit))
    answer = propose(cells, question)
    verify(cells, question, answer)
    assert answer.groups == (((0, 1) if kept else (1, 2)),)


@pytest.mark.parametrize(("columns", "limit", "kept"), PAIRS)
def test_verify_holds_a_pair_against_the_limit(columns, limit, kept):
    columns = {"capacity": [2500, 2500, 2400], "dcir_uohm": [20_000] * 3, "ocv_mv": [3600] * 3} | columns
    cells = table(columns.pop("capacity"), **columns)
    strongest = propose(cells, Question(1, 2, **NO_LIMIT))
    question = Question(1, 2, **({"capacity_window": None} | limit))
    if kept:
        verify(cells, question, strongest)
        return
    with pytest.raises(ImpossibleValue, match="Group 1"):
        verify(cells, question, strongest)


@pytest.mark.parametrize("seed", range(5))
def test_group_resistances_of_equal_cells_are_as_close_as_one_change_of_cells_can_bring_them(seed):
    ohm = np.random.default_rng(seed).integers(15_000, 40_000, 8).tolist()
    answer = propose(table([2500] * 8, dcir_uohm=ohm), Question(2, 4))

    def spread(groups):
        values = [1 / sum(1 / ohm[cell] for cell in group) for group in groups]
        return max(values) - min(values)

    one, other = answer.groups
    assert answer.resistance_spread_uohm == pytest.approx(spread(answer.groups))
    for here in one:
        for there in other:
            changed_groups = [{*one, there} - {here}, {*other, here} - {there}]
            assert answer.resistance_spread_uohm <= spread(changed_groups) + 1e-9


def test_of_two_models_the_stronger_is_used_and_the_bound_is_its_own():
    cells = table([2400, 2500, 2400, 2500], model=["B", "A", "B", "A"])
    answer = propose(cells, Question(2, 1))
    verify(cells, Question(2, 1), answer)
    assert (answer.groups, answer.bound_mah, answer.gap_mah) == (((1,), (3,)), 2500, 0)
    assert [exclusion.code for exclusion in answer.excluded] == ["C000", "C002"]
    mixed = propose(cells, Question(4, 1, allow_mixed_models=True))
    assert (mixed.weakest_mah, mixed.excluded) == (2400, ())


def test_a_stronger_model_that_is_proven_unable_to_keep_a_limit_bounds_nothing():
    cells = table([2400, 2500, 2400, 2500], model=["B", "A", "B", "A"], ocv_mv=[3600, 3600, 3600, 3700])
    answer = propose(cells, Question(1, 2, ocv_window_mv=50))
    assert (answer.groups, answer.weakest_mah, answer.gap_mah) == (((0, 2),), 4800, 0)


def test_cells_that_must_be_used_are_used():
    capacity, ohm, volt = stock_of(3, 30)
    cells = table(capacity, dcir_uohm=ohm, ocv_mv=volt)
    weakest = cells.codes[int(np.argmin(capacity))]
    for limits in ({"capacity_window": None}, {"capacity_window": 0.2, "max_resistance_ratio": 2.0}):
        question = Question(2, 3, must_use=(weakest,), **limits)
        answer = propose(cells, question)
        verify(cells, question, answer)
        assert weakest in {cells.codes[row] for group in answer.groups for row in group}


def test_too_few_cells_says_how_many_are_usable_and_how_many_are_needed():
    with pytest.raises(Infeasible, match="2 of 3 cells are usable; 4 are needed"):
        propose(table([2500, 2400, float("nan")]), Question(2, 2))


def test_a_cell_that_must_be_used_but_may_not_is_refused():
    with pytest.raises(Infeasible, match="C002 must be used, but it cannot be: capacity not known"):
        propose(table([2500, 2400, float("nan")]), Question(1, 2, must_use=("C002",)))


@pytest.mark.parametrize(
    "change",
    [
        {"series": 0},
        {"max_resistance_ratio": 0.99},
        {"max_resistance_ratio": float("nan")},
        {"capacity_window": 1.0},
        {"capacity_window": 0.12345},
        {"ocv_window_mv": -1.0},
        {"must_use": ("A",), "must_not_use": ("A",)},
        {"must_use": ("A", "B", "C", "D", "E")},
    ],
)
def test_impossible_questions(change):
    with pytest.raises(ImpossibleValue):
        Question(**({"series": 2, "parallel": 2} | change))


@pytest.mark.parametrize(
    ("capacities", "columns"),
    [
        ([2500, 0], {}),
        ([2500, float("inf")], {}),
        ([2500, 2400], {"dcir_uohm": [1.0, -1.0]}),
        ([2500, 2400], {"codes": ["A", "A"]}),
        ([2500, 2400], {"lot": ["1"]}),
    ],
)
def test_impossible_tables(capacities, columns):
    with pytest.raises(ImpossibleValue):
        table(capacities, **columns)


def changed(answer, **change):
    return Proposal(**({name: getattr(answer, name) for name in answer.__dataclass_fields__} | change))


def test_verify_refuses_every_false_statement():
    cells = table([2500, 2400, 2450, 2350, 1900], quarantined=[False] * 4 + [True])
    question = Question(2, 2)
    good = propose(cells, question)
    (one, two), three, four = good.groups[0], good.groups[1][0], good.groups[1][1]
    false = [
        changed(good, weakest_mah=good.weakest_mah + 0.1),
        changed(good, spread_mah=good.spread_mah + 1),
        changed(good, used_mah=good.used_mah + 1),
        changed(good, pack_capacity_p5_mah=good.weakest_mah),
        changed(good, bound_mah=good.weakest_mah - 1),
        changed(good, groups=((one, two), (three, three))),
        changed(good, groups=((one, two), (three, 4))),
        changed(good, groups=((one, two), (three, 5))),
        changed(good, groups=((one, two, three, four),)),
        changed(good, groups=((one, three), (two, four))),
        changed(good, group_resistance_uohm=(10_000.0, 10_000.0)),
    ]
    verify(cells, question, good)
    for statement in false:
        with pytest.raises(ImpossibleValue):
            verify(cells, question, statement)


stocks = st.lists(st.integers(10_000, 30_000), min_size=6, max_size=16)
shapes = st.sampled_from([(2, 2), (2, 3), (3, 2), (6, 1), (1, 4)])


@settings(max_examples=30)
@given(stocks, shapes, st.data())
def test_any_proposal_verifies_and_stays_below_its_bound(tenths, shape, data):
    count = len(tenths)
    ohm = data.draw(st.lists(st.integers(10_000, 40_000), min_size=count, max_size=count))
    volt = data.draw(st.lists(st.integers(3500, 3700), min_size=count, max_size=count))
    flags = data.draw(st.lists(st.booleans(), min_size=count, max_size=count))
    ratio = data.draw(st.sampled_from([None, 1.5, 3.0]))
    window = data.draw(st.sampled_from([None, 0.2, 0.5]))
    band = data.draw(st.sampled_from([None, 100.0]))
    cells = table([value / 10 for value in tenths], dcir_uohm=ohm, ocv_mv=volt, reserved=flags)
    question = Question(*shape, max_resistance_ratio=ratio, capacity_window=window, ocv_window_mv=band)
    try:
        answer = propose(cells, question, iterations=10)
    except Infeasible:
        return
    found = verify(cells, question, answer)
    assert found.weakest_tenths <= round(answer.bound_mah * 10)
    assert {cells.codes[row] for group in answer.groups for row in group}.isdisjoint(
        exclusion.code for exclusion in answer.excluded
    )


@settings(max_examples=60)
@given(stocks, shapes, st.integers(10_000, 30_000))
def test_one_more_cell_never_lowers_the_bound(tenths, shape, extra):
    question = Question(*shape, **NO_LIMIT)
    before = propose(table([value / 10 for value in tenths]), question, iterations=0)
    after = propose(table([value / 10 for value in [*tenths, extra]]), question, iterations=0)
    assert after.bound_mah >= before.bound_mah


@settings(max_examples=40)
@given(st.lists(st.integers(20_000, 25_000), min_size=9, max_size=20), st.randoms(use_true_random=False), st.booleans())
def test_the_order_of_the_cells_does_not_matter(tenths, rnd, limited):
    rows = [(f"C{number}", value / 10, 20_000 + 7 * value % 9000, 3600) for number, value in enumerate(tenths)]
    shuffled = rows.copy()
    rnd.shuffle(shuffled)
    question = Question(3, 3, capacity_window=None, max_resistance_ratio=1.4 if limited else None)
    told = []
    for order in (rows, shuffled):
        codes, capacity, ohm, volt = zip(*order, strict=True)
        cells = table(capacity, codes=codes, dcir_uohm=ohm, ocv_mv=volt)
        try:
            answer = propose(cells, question, iterations=10)
        except Infeasible as refusal:
            told.append(str(refusal))
        else:
            told.append([[cells.codes[row] for row in group] for group in answer.groups])
    assert told[0] == told[1]


def test_the_same_seed_gives_the_same_proposal():
    capacity, ohm, volt = stock_of(1, 40)
    cells = table(capacity, dcir_uohm=ohm, ocv_mv=volt)
    question = Question(4, 4, capacity_window=None, max_resistance_ratio=1.5)
    assert propose(cells, question, seed=5) == propose(cells, question, seed=5)
