"""Several packs out of one stock, and groups of unlike size: against every deal tried, and properties of any stock."""

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import (
    CellTable,
    Question,
    Shares,
    propose,
    propose_together,
    propose_uneven,
    verify_together,
    verify_uneven,
)
from tests.packs.matching_stock import LIMITS, NAMES, deals, keeps, stock_of, table_of


def every_pair_of_packs(columns, questions):
    """Weakest group of each pack for every deal that keeps the limits."""
    one, other = questions
    sizes = [one.parallel] * one.series + [other.parallel] * other.series
    allowed = {}

    def may(group, question, pack):
        if (group, pack) not in allowed:
            allowed[group, pack] = keeps(group, columns, question)
        return allowed[group, pack]

    def split(deal):
        yield deal[: one.series], deal[one.series :]
        if one.parallel == other.parallel:
            for at in range(1, len(deal)):
                turned = deal[at:] + deal[:at]
                yield turned[: one.series], turned[one.series :]
            if (one.series, other.series) == (2, 2):
                yield (deal[0], deal[2]), (deal[1], deal[3])
                yield (deal[1], deal[3]), (deal[0], deal[2])

    found = set()
    for deal in deals(range(len(columns[0])), sizes):
        for first, second in split(deal):
            if all(may(group, one, 0) for group in first) and all(may(group, other, 1) for group in second):
                found.add(
                    tuple(min(sum(columns[0][cell] for cell in group) for group in pack) for pack in (first, second))
                )
    return found


def weakest_alone(columns, question):
    """Weakest group of a pack that has the stock to itself, over every deal."""
    return max(
        min(sum(columns[0][cell] for cell in group) for group in deal)
        for deal in deals(range(len(columns[0])), [question.parallel] * question.series)
        if all(keeps(group, columns, question) for group in deal)
    )


ALIKE = [((1, 2), (1, 2), 8), ((2, 2), (1, 2), 8), ((1, 3), (1, 3), 9), ((2, 1), (2, 1), 7)]
UNLIKE = [((1, 2), (1, 3), 8), ((2, 2), (1, 3), 9), ((1, 3), (2, 2), 8), ((2, 1), (1, 3), 8)]


def asked(shape, limits):
    return Question(*shape, **limits)


# Exhaustive search: every deal into two packs is tried.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize(("one", "other", "count"), ALIKE + UNLIKE)
def test_two_packs_are_as_good_as_every_deal_tried(one, other, count, limits):
    for seed in range(2):
        columns = stock_of(seed, count)
        cells, questions = table_of(columns), [asked(one, limits), asked(other, limits)]
        every = every_pair_of_packs(columns, questions)
        if not every:
            for shares in Shares:
                with pytest.raises(Infeasible):
                    propose_together(cells, questions, shares=shares, iterations=20)
            continue
        fair = propose_together(cells, questions, iterations=20)
        first = propose_together(cells, questions, shares=Shares.BY_PRIORITY, iterations=20)
        for answer in (fair, first):
            verify_together(cells, questions, answer)
        alone = fair.alone_mah or (1.0, 1.0)
        best = max(min(pair[0] / alone[0], pair[1] / alone[1]) for pair in every)
        assert min(fair.levels) == pytest.approx(best, abs=2e-9)
        assert min(fair.levels) <= best + 2e-9 <= fair.bounds[fair.order[0]] + 4e-9
        assert tuple(proposal.weakest_mah for proposal in first.proposals) == max(every)
        if one[1] != other[1]:
            both = max(sorted((pair[0] / alone[0], pair[1] / alone[1])) for pair in every)
            assert sorted(fair.levels) == pytest.approx(both, abs=2e-9)
            assert alone == tuple(weakest_alone(columns, question) for question in questions)


# Exhaustive search: every deal into groups of these sizes is tried.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize(("parallels", "count"), [((2, 3), 8), ((3, 2, 2), 9), ((1, 2, 1), 7), ((2, 2, 3), 8)])
def test_groups_of_unlike_size_are_as_good_as_every_deal_tried(parallels, count, limits):
    for seed in range(2):
        columns = stock_of(20 + seed, count)
        cells, question = table_of(columns), Question(len(parallels), max(parallels), **limits)
        best = max(
            (
                min(sum(columns[0][cell] for cell in group) for group in deal)
                for deal in deals(range(count), parallels)
                if all(keeps(group, columns, question) for group in deal)
            ),
            default=None,
        )
        if best is None:
            with pytest.raises(Infeasible):
                propose_uneven(cells, question, parallels, iterations=20)
            continue
        answer = propose_uneven(cells, question, parallels, iterations=20)
        verify_uneven(cells, question, parallels, answer)
        assert answer.weakest_mah == best
        assert best <= answer.bound_mah


def test_equal_counts_throughout_are_the_question_for_one_pack():
    cells, question = table_of(stock_of(3, 30)), Question(3, 4, capacity_window=None)
    assert propose_uneven(cells, question, [4, 4, 4]).weakest_mah == propose(cells, question).weakest_mah


def test_packs_asked_alike_are_one_question_dealt_back():
    """Two packs of two groups out of eight cells: the four best groups of two, and neighbours in capacity together."""
    cells = table_of(([2600, 2500, 2400, 2300, 2200, 2100, 2000, 1900], [20_000] * 8, [3600] * 8))
    question = Question(2, 2, capacity_window=None)
    answer = propose_together(cells, [question, question])
    verify_together(cells, [question, question], answer)
    assert [proposal.weakest_mah for proposal in answer.proposals] == [4500, 4500]
    assert (answer.levels, answer.bounds, answer.gap) == ((4500, 4500), (4500, 4500), 0)


def test_by_priority_the_first_pack_is_as_good_as_alone_and_the_second_no_better_than_fair():
    cells, question = table_of(stock_of(4, 60)), Question(3, 4, capacity_window=None, max_resistance_ratio=1.4)
    fair = propose_together(cells, [question, question], iterations=40)
    first = propose_together(cells, [question, question], shares=Shares.BY_PRIORITY, iterations=40)
    verify_together(cells, [question, question], first)
    assert first.levels[0] >= fair.levels[0] >= first.levels[1]
    assert first.levels[0] >= propose(cells, question, iterations=40).weakest_mah - 5


@pytest.mark.parametrize("seed", range(3))
def test_packs_of_one_place_are_shared_fairly_after_those_before_them(seed):
    """Every deal of eight cells into three packs of 1s2p is tried: the first place first, then the two alike."""
    columns = stock_of(seed, 8)
    cells, question = table_of(columns), Question(1, 2, capacity_window=None)
    capacity = columns[0]
    every = [
        [sum(capacity[cell] for cell in group) for group in turned]
        for deal in deals(range(8), [2, 2, 2])
        for turned in permutations(deal)
    ]
    answer = propose_together(cells, [question] * 3, shares=Shares.BY_PRIORITY, places=(2, 1, 2), iterations=20)
    verify_together(cells, [question] * 3, answer)
    held = [proposal.weakest_mah for proposal in answer.proposals]
    best = max((b, *sorted((a, c))) for a, b, c in every)
    assert (held[1], *sorted((held[0], held[2]))) == pytest.approx(best)
    as_one = propose_together(cells, [question] * 3, shares=Shares.BY_PRIORITY, places=(1, 1, 1), iterations=20)
    fair = propose_together(cells, [question] * 3, iterations=20)
    assert as_one.levels == fair.levels
    with pytest.raises(ImpossibleValue, match="do not fit"):
        propose_together(cells, [question] * 3, shares=Shares.BY_PRIORITY, places=(1, 2))


def test_each_pack_takes_the_model_it_finds_enough_cells_of():
    columns = ([2500, 2500, 2400, 2400], [20_000] * 4, [3600] * 4)
    cells = table_of(columns, model=["A", "B", "A", "B"])
    question = Question(1, 2, capacity_window=None)
    answer = propose_together(cells, [question, question])
    verify_together(cells, [question, question], answer)
    assert answer.levels == (4900, 4900)


def test_reserved_cells_stay_where_they_are():
    columns = stock_of(5, 8)
    strongest = max(range(8), key=lambda cell: columns[0][cell])
    cells = table_of(columns, reserved=[cell == strongest for cell in range(8)])
    question = Question(1, 2, capacity_window=None)
    answer = propose_together(cells, [question, question])
    assert strongest not in {row for proposal in answer.proposals for group in proposal.groups for row in group}
    assert all("reserved" in proposal.excluded[0].reason for proposal in answer.proposals)


def test_a_cell_that_one_pack_must_use_is_in_that_pack():
    cells = table_of(stock_of(6, 9))
    questions = [Question(1, 2, capacity_window=None), Question(1, 2, capacity_window=None, must_use=("C004",))]
    for shares in Shares:
        answer = propose_together(cells, questions, shares=shares)
        verify_together(cells, questions, answer)
    uneven = propose_uneven(cells, Question(2, 3, capacity_window=None, must_use=("C004",)), [2, 3])
    assert any(cells.codes[row] == "C004" for group in uneven.groups for row in group)


@pytest.mark.parametrize(
    ("questions", "said"),
    [
        ([], "At least one pack"),
        ([Question(1, 2, must_use=("C001",))] * 2, "C001 is to be used in two packs"),
    ],
)
def test_impossible_wishes_for_several_packs(questions, said):
    with pytest.raises(ImpossibleValue, match=said):
        propose_together(table_of(stock_of(1, 8)), questions)


@pytest.mark.parametrize(("parallels", "said"), [((2,), "do not fit"), ((2, 2), "largest"), ((0, 3), "largest")])
def test_counts_that_do_not_fit_the_question(parallels, said):
    with pytest.raises(ImpossibleValue, match=said):
        propose_uneven(table_of(stock_of(1, 8)), Question(2, 3), parallels)


def test_too_few_cells_for_all_packs_is_said():
    cells, question = table_of(stock_of(1, 7)), Question(2, 2, capacity_window=None)
    with pytest.raises(Infeasible, match="7 of 7 cells are usable and 8 are needed for all packs"):
        propose_together(cells, [question, question])


def test_the_check_refuses_a_cell_in_two_packs_and_a_false_level():
    cells, question = table_of(stock_of(1, 9)), Question(1, 3, capacity_window=None)
    good = propose_together(cells, [question, question])
    false = [
        replace(good, proposals=(good.proposals[0],) * 2),
        replace(good, levels=(good.levels[0] + 9000, good.levels[1])),
        replace(good, bounds=(0.0, 0.0)),
        replace(good, order=(0, 0)),
        replace(good, places=(2, 1)),
        replace(good, proposals=good.proposals[:1]),
    ]
    for statement in false:
        with pytest.raises(ImpossibleValue):
            verify_together(cells, [question, question], statement)


limits = st.sampled_from(LIMITS)
tenths = st.lists(st.integers(15_000, 26_000), min_size=9, max_size=14)
shapes = st.sampled_from([((1, 2), (1, 3)), ((2, 2), (1, 2)), ((2, 1), (1, 3)), ((1, 3), (1, 3))])


def columns_of(values):
    return (
        [value / 10 for value in values],
        [90_000 - 2 * value for value in values],
        [3550 + value % 97 for value in values],
    )


def told(cells: CellTable, answer):
    return [[[cells.codes[row] for row in group] for group in proposal.groups] for proposal in answer.proposals]


@settings(max_examples=12)
@given(tenths, shapes, limits, st.sampled_from(Shares), st.randoms(use_true_random=False))
def test_no_cell_twice_bounds_hold_and_the_order_of_the_cells_does_not_matter(values, pair, limit, shares, rnd):
    questions = [Question(*shape, **limit) for shape in pair]
    order = list(range(len(values)))
    rnd.shuffle(order)
    found = []
    for places in (range(len(values)), order):
        columns = columns_of([values[place] for place in places])
        cells = table_of(columns, codes=[f"C{place:03}" for place in places])
        try:
            answer = propose_together(cells, questions, shares=shares, iterations=8)
        except Infeasible as refusal:
            found.append(str(refusal))
            continue
        verify_together(cells, questions, answer)
        found.append(told(cells, answer))
    assert found[0] == found[1]


@settings(max_examples=15)
@given(tenths, st.sampled_from([(2, 3), (3, 2, 2), (1, 2, 1)]), limits, st.data())
def test_a_pack_of_unlike_groups_never_gets_better_by_forbidding_cells(values, parallels, limit, data):
    cells, question = table_of(columns_of(values)), Question(len(parallels), max(parallels), **limit)
    try:
        answer = propose_uneven(cells, question, parallels, iterations=8)
    except Infeasible:
        return
    verify_uneven(cells, question, parallels, answer)
    refused = data.draw(st.lists(st.sampled_from(cells.codes), max_size=3, unique=True))
    try:
        fewer = propose_uneven(cells, replace(question, must_not_use=tuple(refused)), parallels, iterations=8)
    except Infeasible:
        return
    assert fewer.weakest_mah <= answer.weakest_mah
    assert fewer.bound_mah <= answer.bound_mah
