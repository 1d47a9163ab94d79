"""When nothing fits: against listed stocks, against exhaustive search, and by following the advice."""

import csv
import os
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from packs.errors import Infeasible
from packs.matching import Advice, CellTable, Question, advise, price_of_ratio, propose
from tests.packs.test_matching import NO_LIMIT, deals, keeps, table

DATA = Path(os.environ.get("SHARED_DATA", Path(__file__).resolve().parents[3] / "shared" / "data")) / "matching"


def stock(name: str) -> CellTable:
    if not (DATA / f"{name}.csv").exists():
        pytest.skip(f"{DATA} is not there; SHARED_DATA names the folder of measured data")
    with (DATA / f"{name}.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return table(
        [float(row["capacity_mah"]) for row in rows],
        codes=[row["cell"] for row in rows],
        dcir_uohm=[float(row["dcir_mohm"]) * 1000 for row in rows],
        ocv_mv=[float(row["ocv_mv"]) for row in rows],
    )


# Source: shared/data/matching/README.md, "Infeasible, proven".
@pytest.mark.data
@pytest.mark.parametrize(
    ("name", "series", "parallel", "ratio", "most"),
    [
        ("reclaimed_65", 13, 5, 1.25, 10),
        ("reclaimed_65", 13, 5, 1.5, 12),
        ("reclaimed_84", 14, 6, 1.25, 11),
        ("reclaimed_84", 14, 6, 1.4, 13),
        ("reclaimed_40", 10, 4, 1.25, 9),
    ],
)
def test_the_number_of_groups_that_two_limits_leave_is_the_listed_one(name, series, parallel, ratio, most):
    from packs.matching import filters
    from packs.matching.deal import Limits, candidates
    from packs.matching.fitting import room

    cells = stock(name)
    question = Question(series, parallel, max_resistance_ratio=ratio, ocv_window_mv=50, max_drift_mv=None, **NO_LIMIT)
    mask, _ = filters.usable(cells, question)
    among, limits = candidates(cells, np.flatnonzero(mask), question), Limits.of(question)
    found = room(among, limits, series)
    assert (found.most, len(found.groups)) == (most, most)
    assert limits.keep(among, found.groups).all()
    assert len(np.unique(found.groups)) == found.groups.size


@pytest.mark.data
@pytest.mark.parametrize(
    ("limit", "does", "binding"),
    [
        ({"max_resistance_ratio": 1.1}, ("max_resistance_ratio", 1.126), "resistance ratio"),
        ({"ocv_window_mv": 40}, ("ocv_window_mv", 46.0), "voltage window"),
    ],
)
def test_the_least_change_of_one_limit_is_the_listed_one(limit, does, binding):
    advice = advise(stock("reclaimed_40"), Question(10, 4, max_drift_mv=None, **NO_LIMIT, **limit))
    assert advice.binding == (binding,)
    assert (advice.relaxations[0].asked, advice.relaxations[0].does) == does
    assert advice.relaxations[0].least


@pytest.mark.data
def test_two_limits_that_fit_alone_bind_as_a_pair():
    """The ratio of 1.126 fits alone, the window of 46 mV fits alone: shared/data/matching/README.md."""
    asked = Question(10, 4, max_resistance_ratio=1.126, ocv_window_mv=46, max_drift_mv=None, **NO_LIMIT)
    assert advise(stock("reclaimed_40"), asked).binding == ("resistance ratio", "voltage window")


def small(seed: int, count: int) -> CellTable:
    rng = np.random.default_rng(seed)
    return table(
        rng.integers(2000, 2400, count),
        dcir_uohm=rng.integers(40, 61, count) * 1000,
        ocv_mv=rng.integers(3600, 3660, count),
    )


def most_groups(cells: CellTable, question: Question) -> int:
    """By trying every set of groups."""
    columns = (cells.capacity_mah.tolist(), cells.dcir_uohm.tolist(), cells.ocv_mv.tolist())
    rows = list(range(len(cells)))
    good = {group for group in combinations(rows, question.parallel) if keeps(group, *columns, question)}
    for many in range(len(rows) // question.parallel, 0, -1):
        for chosen in deals(rows, question.parallel, many):
            if all(group in good for group in chosen):
                return many
    return 0


LIMITS = [
    {"max_resistance_ratio": 1.1, "ocv_window_mv": 20, "capacity_window": None},
    {"max_resistance_ratio": 1.08, "capacity_window": None},
    {"ocv_window_mv": 12, "capacity_window": None},
    {"max_resistance_ratio": 1.2, "ocv_window_mv": 30, "capacity_window": 0.03},
]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("limits", LIMITS)
def test_the_number_of_groups_against_exhaustive_search(limits, seed):
    cells, question = small(seed, 9), Question(4, 2, max_drift_mv=None, **limits)
    truth = most_groups(cells, question)
    try:
        propose(cells, question)
    except Infeasible:
        advice = advise(cells, question)
        assert advice.found <= truth <= advice.most
        assert limits["capacity_window"] is not None or advice.found == truth == advice.most
    else:
        assert truth == 4


def refused(seed: int, limits: dict[str, float]) -> tuple[CellTable, Question, Advice]:
    cells, question = small(seed, 12), Question(4, 3, max_drift_mv=None, **limits)
    with pytest.raises(Infeasible):
        propose(cells, question)
    return cells, question, advise(cells, question)


TIGHT = [
    {"max_resistance_ratio": 1.05, "capacity_window": None},
    {"ocv_window_mv": 5, "capacity_window": None},
    {"max_resistance_ratio": 1.15, "ocv_window_mv": 8, "capacity_window": None},
]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("limits", TIGHT)
def test_following_each_relaxation_gives_a_pack_and_one_step_less_gives_none(limits, seed):
    cells, question, advice = refused(seed, limits)
    coarse = len(limits) == 3
    step = {"max_resistance_ratio": 0.01 if coarse else 0.001, "ocv_window_mv": 5 if coarse else 1}
    assert {one.asked for one in advice.relaxations} == set(limits) - {"capacity_window"}
    for one in advice.relaxations:
        if one.does is None:
            with pytest.raises(Infeasible):
                propose(cells, replace(question, **{one.asked: None}))
            continue
        propose(cells, replace(question, **{one.asked: one.does}))
        less = round(one.does - step[one.asked], 4)
        if one.least and less >= one.was:
            with pytest.raises(Infeasible):
                propose(cells, replace(question, **{one.asked: less}))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("limits", TIGHT)
def test_buying_what_is_listed_gives_a_pack(limits, seed):
    """Cells anywhere within what a line allows do: at its lower end, at its upper end."""
    cells, question, advice = refused(seed, limits)
    assert advice.to_buy
    new: list[tuple[float, float, float]] = []
    for line in advice.purchases:
        rest = np.median([cells.ocv_mv[cells.codes.index(code)] for code in line.beside] or [3630.0])
        low, high = line.resistance_uohm or (50_000.0, 50_000.0)
        new += [(line.capacity_mah[0], [low + 1, high - 1][number % 2], rest) for number in range(line.cells)]
    grown = table(
        [*cells.capacity_mah, *(one[0] for one in new)],
        dcir_uohm=[*cells.dcir_uohm, *(one[1] for one in new)],
        ocv_mv=[*cells.ocv_mv, *(one[2] for one in new)],
    )
    propose(grown, question)


@pytest.mark.parametrize("seed", range(3))
def test_levelling_what_is_listed_gives_a_pack(seed):
    cells, question, advice = refused(seed, {"ocv_window_mv": 5, "capacity_window": None})
    assert advice.levelling
    assert len(advice.levelling) < 12
    to = {one.code: (one.low_mv + one.high_mv) / 2 for one in advice.levelling}
    rest = [to.get(code, volt) for code, volt in zip(cells.codes, cells.ocv_mv.tolist(), strict=True)]
    propose(table(cells.capacity_mah, dcir_uohm=cells.dcir_uohm, ocv_mv=rest), question)


# Exhaustive search: every choice of cells that could be levelled, with every way to deal all eight cells into pairs.
@pytest.mark.parametrize("seed", range(6))
def test_where_fewest_are_to_be_levelled_one_fewer_does_not_do(seed):
    cells = small(seed, 8)
    question = Question(4, 2, max_drift_mv=None, ocv_window_mv=6, max_resistance_ratio=1.4, capacity_window=None)
    advice = advise(cells, question)
    ohm, volts = cells.dcir_uohm.tolist(), cells.ocv_mv.tolist()
    every = list(deals(list(range(8)), 2, 4))

    def does(levelled):
        return any(
            all(
                max(ohm[one], ohm[other]) <= 1.4 * min(ohm[one], ohm[other])
                and (one in levelled or other in levelled or abs(volts[one] - volts[other]) <= 6)
                for one, other in deal
            )
            for deal in every
        )

    fewest = next(many for many in range(9) if any(does(set(some)) for some in combinations(range(8), many)))
    assert fewest == len(advice.levelling) or not advice.fewest_levelled
    assert 0 < fewest <= len(advice.levelling)
    assert advice.fewest_levelled, "of eight cells it is known"


# Exhaustive search: every way to put the cells in stock into three groups, whose free places are bought. A cell that is
# bought can be like any in its group, so whatever keeps the ratio and the voltage window can be filled up.
@pytest.mark.parametrize("limits", TIGHT)
@pytest.mark.parametrize("seed", range(2))
def test_where_fewest_are_to_be_bought_one_fewer_does_not_do(limits, seed):
    cells = small(seed, 7)
    columns = (cells.capacity_mah.tolist(), cells.dcir_uohm.tolist(), cells.ocv_mv.tolist())
    question = Question(3, 3, max_drift_mv=None, **limits)

    def most_used(row, groups):
        if row == len(cells):
            return sum(map(len, groups))
        best = most_used(row + 1, groups)
        for number, group in enumerate(groups):
            grown = (*group, row)
            if len(grown) <= 3 and keeps(grown, *columns, question):
                best = max(best, most_used(row + 1, [*groups[:number], grown, *groups[number + 1 :]]))
            if not group:
                break
        return best

    fewest = 9 - most_used(0, [(), (), ()])
    advice = advise(cells, question)
    assert fewest == advice.to_buy or not advice.fewest_bought
    assert fewest <= advice.to_buy
    assert advice.fewest_bought, "of seven cells it is known"


# Exhaustive search under a capacity window too: whichever cells are levelled and however all are dealt into pairs.
@pytest.mark.parametrize("window", [0.01, 0.02, 0.04])
@pytest.mark.parametrize("seed", range(3))
def test_fewest_under_a_capacity_window_is_said_only_where_it_is_so(seed, window):
    cells = small(seed, 8)
    question = Question(4, 2, max_drift_mv=None, ocv_window_mv=8, capacity_window=window)
    advice = advise(cells, question)
    mah, volts = cells.capacity_mah.tolist(), cells.ocv_mv.tolist()
    pairs = [
        [pair for pair in deal if abs(volts[pair[0]] - volts[pair[1]]) > 8]
        for deal in deals(list(range(8)), 2, 4)
        if all(abs(mah[one] - mah[other]) <= window * (mah[one] + mah[other]) for one, other in deal)
    ]
    fewest = min(map(len, pairs), default=None)
    if advice.fewest_levelled:
        assert len(advice.levelling) == fewest
    elif advice.levelling:
        assert fewest is not None
        assert fewest <= len(advice.levelling)


def test_too_few_cells_name_the_number_to_buy_and_no_limit():
    advice = advise(table([2000.0] * 7), Question(4, 2, **NO_LIMIT))
    assert (advice.usable, advice.needed, advice.most, advice.binding) == (7, 8, 3, ())
    assert advice.to_buy == 1


def test_of_an_empty_stock_everything_is_to_be_bought():
    advice = advise(table([]), Question(2, 3, required_mah=6000, **NO_LIMIT))
    assert [line.cells for line in advice.purchases] == [3, 3]
    assert {line.capacity_mah for line in advice.purchases} == {(2000.0, None)}


def test_a_capacity_that_is_too_much_is_answered_with_what_can_be_had():
    cells = table([2000, 2100, 2200, 2300])
    question = Question(2, 2, objective="use up weaker cells", required_mah=4400, **NO_LIMIT)
    advice = advise(cells, question)
    assert [(one.asked, one.does) for one in advice.relaxations] == [("required_mah", 4300.0)]


@pytest.mark.parametrize(
    ("asked", "does"),
    [({"min_capacity_mah": 2150}, 2100.0), ({"min_health": 0.9}, 0.84), ({"must_not_use": ("C000", "C003")}, ())],
)
def test_a_filter_that_takes_too_many_cells_away_is_named_with_the_value_that_does(asked, does):
    cells = table([2100, 2200, 2300, 2400, 2500], rated_mah=[2500] * 5)
    question = Question(4 if "must_not_use" in asked else 5, 1, **NO_LIMIT, **asked)
    (name,) = asked
    found = {one.asked: one for one in advise(cells, question).relaxations}
    assert found[name].does == does


def test_a_looser_ratio_never_costs_capacity():
    prices = price_of_ratio(small(1, 12), Question(3, 3, max_drift_mv=None, **NO_LIMIT), [1.05, 1.1, 1.2, 1.5])
    found = [price.weakest_mah or 0.0 for price in prices]
    assert found == sorted(found)
    assert prices[-1].weakest_mah is not None
    assert all((price.weakest_mah or 0) <= (price.bound_mah or 0) for price in prices)


def test_what_is_said_to_be_proven_not_to_do_does_not_do_and_between_two_steps_nothing_is_said():
    """By hand: the pair of 40 and 40.16 mΩ needs a ratio of 1.004; where two limits bind, steps are 0.01 wide."""
    cells = table([2000.0] * 4, dcir_uohm=[40_000, 40_160, 50_000, 50_200], ocv_mv=[3600.0] * 4)
    question = Question(2, 2, max_resistance_ratio=1.0, ocv_window_mv=0, **NO_LIMIT)
    (found,) = (one for one in advise(cells, question).relaxations if one.asked == "max_resistance_ratio")
    assert (found.does, found.not_enough) == (1.01, 1.0)
    propose(cells, replace(question, max_resistance_ratio=1.004))
    with pytest.raises(Infeasible):
        propose(cells, replace(question, max_resistance_ratio=found.not_enough))


def test_cells_to_buy_keep_every_limit_asked():
    """By hand: beside 2600 mAh at 3.600 V, within 5 %, from 2597 mAh on and within 20 mV: 3.590 to 3.610 V."""
    cells = table([2600.0], dcir_uohm=[40_000.0], ocv_mv=[3600.0])
    (line,) = advise(cells, Question(1, 2, min_capacity_mah=2597, ocv_window_mv=20, max_drift_mv=None)).purchases
    assert line.capacity_mah == (2597, pytest.approx(2600 * 1.05**0.5))
    assert line.rest_mv == (3590, 3610)
    (line,) = advise(table([]), Question(1, 2, min_capacity_mah=2597)).purchases
    assert line.capacity_mah == (2597, None)
