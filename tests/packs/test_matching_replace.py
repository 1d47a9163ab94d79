"""One cell of a plan replaced: against every plan tried, joints that are made, and properties of any stock."""

from dataclasses import replace
from itertools import combinations
from math import isnan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import Objective, Question, replace_cell, verify_replacement
from tests.packs.matching_stock import LIMITS, NAMES, keeps, stock_of, table_of


def every_plan(cells, sizes):
    """Every way to fill groups of these sizes, group by group."""
    if not sizes:
        yield ()
        return
    for group in combinations(cells, sizes[0]):
        for rest in every_plan([cell for cell in cells if cell not in group], sizes[1:]):
            yield (group, *rest)


def best_of_every_plan(columns, question, before, out, joined):
    """Fewest changed places, then the weakest group, then the spread, over every plan; None where none does."""
    cells = [cell for cell in range(len(columns[0])) if cell != out]
    best = None
    for plan in every_plan(cells, [len(group) for group in before]):
        changed = [len(set(new) - set(old)) for new, old in zip(plan, before, strict=True)]
        if any(not joined & set(old) <= set(new) for new, old in zip(plan, before, strict=True)):
            continue
        if not all(keeps(new, columns, question) for new, many in zip(plan, changed, strict=True) if many):
            continue
        sums = [sum(columns[0][cell] for cell in group) for group in plan]
        rank = (-sum(changed), min(sums), min(sums) - max(sums))
        best = rank if best is None or rank > best else best
    return best


def code(cell):
    return f"C{cell:03}"


PLANS = [([[0, 1], [2, 3]], 8), ([[0, 1, 2], [3, 4, 5]], 8), ([[0, 1], [2, 3], [4, 5]], 8), ([[0, 1], [2, 3, 4]], 7)]


# Exhaustive search: every plan of the cells is tried. Few free cells, so that one change often does not do.
@pytest.mark.parametrize("limits", LIMITS, ids=NAMES)
@pytest.mark.parametrize(("before", "count"), PLANS)
def test_a_replacement_is_as_good_as_every_plan_tried(before, count, limits):
    for seed in range(6):
        columns = stock_of(80 + seed, count)
        out = before[0][seed % 2]
        movable = [cell for group in before for cell in group if cell != out]
        joined = set(movable[: seed % 3])
        groups = [[code(cell) for cell in group] for group in before]
        question = Question(len(before), max(len(group) for group in before), **limits)
        best = best_of_every_plan(columns, question, before, out, joined)
        cells, fixed = table_of(columns), [code(cell) for cell in joined]
        if best is None:
            with pytest.raises(Infeasible, match="Every exchange of cells was tried"):
                replace_cell(cells, question, groups, code(out), joined=fixed)
            continue
        answer = replace_cell(cells, question, groups, code(out), joined=fixed)
        verify_replacement(cells, question, groups, code(out), answer, joined=fixed)
        assert (-len(answer.changes), answer.weakest_mah, -answer.spread_mah) == best
        assert (answer.proven, answer.gap_mah) == (True, 0)


def test_some_of_those_plans_need_one_change_some_two_and_some_more():
    """The cases above are hard enough: without limits one place always does, with them up to three are changed."""
    needed = set()
    for before, count in PLANS:
        for seed in range(6):
            for limits in LIMITS:
                question = Question(len(before), 3, **limits)
                best = best_of_every_plan(stock_of(80 + seed, count), question, before, before[0][seed % 2], set())
                needed |= {-best[0]} if best else set()
    assert needed >= {1, 2, 3}


def invented(ohm=(20_000,) * 6, capacity=(2500, 2400, 2450, 2350, 2300, 2480), **others):
    return table_of((list(capacity), list(ohm), [3600] * 6), **others)


GROUPS = [["C000", "C001"], ["C002", "C003"]]
FREE = Question(2, 2, capacity_window=None)


def test_the_cell_that_keeps_the_weakest_group_strongest_takes_the_place_and_no_other_place_changes():
    """By hand: 2500 leaves; 2480 beside 2400 makes 4880, so that 2450 + 2350 stays the weakest as before."""
    answer = replace_cell(invented(), FREE, GROUPS, "C000")
    assert [(one.group, one.out, one.into) for one in answer.changes] == [(1, "C000", "C005")]
    assert answer.groups == (("C005", "C001"), ("C002", "C003"))
    assert (answer.weakest_mah, answer.weakest_before_mah, answer.spread_mah) == (4800, 4800, 80)


def test_two_places_change_where_no_free_cell_goes_with_the_group():
    """By hand: 30 mΩ goes with nothing at a ratio of 1.2 but 28 mΩ, which moves over from the other group."""
    ohm = (20_000, 30_000, 28_000, 24_500, 22_000, 22_000)
    question = Question(2, 2, capacity_window=None, max_resistance_ratio=1.2)
    answer = replace_cell(invented(ohm), question, GROUPS, "C000")
    assert {(one.group, one.out) for one in answer.changes} == {(1, "C000"), (2, "C002")}
    assert answer.groups[0] == ("C002", "C001")
    with pytest.raises(Infeasible, match="No replacement for cell C000"):
        replace_cell(invented(ohm), question, GROUPS, "C000", joined=["C001", "C002"])


def test_a_joined_cell_cannot_be_taken_out():
    with pytest.raises(Infeasible, match="C000 is joined already"):
        replace_cell(invented(), FREE, GROUPS, "C000", joined=["C000"])


def test_cells_reserved_for_the_plan_stay_and_cells_reserved_elsewhere_do_not_enter():
    reserved = [True, True, True, True, False, True]
    answer = replace_cell(invented(reserved=reserved), FREE, GROUPS, "C000")
    assert [one.into for one in answer.changes] == ["C004"]


def test_another_cell_of_the_plan_that_may_not_stay_is_named():
    with pytest.raises(Infeasible, match="C003 of the plan may not stay either: in quarantine"):
        replace_cell(invented(quarantined=[False, False, False, True, False, False]), FREE, GROUPS, "C000")


def test_a_dead_cell_without_a_capacity_can_be_taken_out():
    dead = invented(capacity=(float("nan"), 2400, 2450, 2350, 2300, 2480))
    answer = replace_cell(dead, FREE, GROUPS, "C000")
    assert answer.groups[0] == ("C005", "C001")
    assert isnan(answer.weakest_before_mah)


def test_the_poorest_cell_that_does_takes_the_place_where_weaker_cells_are_used_up():
    question = replace(FREE, objective=Objective.USE_UP_WEAKER, required_mah=4650.0)
    answer = replace_cell(invented(), question, GROUPS, "C000")
    assert answer.groups[0] == ("C004", "C001")
    with pytest.raises(Infeasible):
        replace_cell(invented(), replace(question, required_mah=5000.0), GROUPS, "C000")


def test_a_cell_that_must_be_used_stays_in_the_pack():
    ohm = (20_000, 30_000, 28_000, 24_500, 29_000, 29_500)
    question = Question(2, 2, capacity_window=None, max_resistance_ratio=1.2, must_use=("C001",))
    answer = replace_cell(invented(ohm), question, GROUPS, "C000")
    assert "C001" in {one for group in answer.groups for one in group}


def test_without_a_free_cell_nothing_can_be_replaced():
    with pytest.raises(Infeasible, match="No free cell in stock goes with"):
        replace_cell(invented(reserved=[False] * 4 + [True] * 2), FREE, GROUPS, "C000")


def test_a_search_that_ends_early_says_so():
    with pytest.raises(Infeasible, match="no proof"):
        replace_cell(invented(), FREE, GROUPS, "C000", tries=0)


@pytest.mark.parametrize(
    ("groups", "out", "joined", "said"),
    [
        (GROUPS, "C005", [], "C005 is not in the plan"),
        (GROUPS, "C000", ["C004"], "C004 is not in the plan"),
        ([["C000", "C000"]], "C000", [], "each of its cells once"),
        ([["C000", "X"]], "C000", [], "X is not among"),
        ([["C000"], []], "C000", [], "every group has cells"),
    ],
)
def test_impossible_plans(groups, out, joined, said):
    with pytest.raises(ImpossibleValue, match=said):
        replace_cell(invented(), FREE, groups, out, joined=joined)


def test_the_check_refuses_every_false_statement():
    good = replace_cell(invented(), FREE, GROUPS, "C000")
    false = [
        replace(good, changes=()),
        replace(good, weakest_mah=good.weakest_mah + 1),
        replace(good, bound_mah=0.0),
        replace(good, groups=good.groups[:1]),
        replace(good, groups=(("C000", "C001"), good.groups[1])),
        replace(good, groups=(("C005", "C005"), good.groups[1])),
    ]
    for statement in false:
        with pytest.raises(ImpossibleValue):
            verify_replacement(invented(), FREE, GROUPS, "C000", statement)
    with pytest.raises(ImpossibleValue, match="joined"):
        verify_replacement(invented(), FREE, GROUPS, "C000", good, joined=["C000"])


tenths = st.lists(st.integers(15_000, 26_000), min_size=9, max_size=12)


@settings(max_examples=30)
@given(tenths, st.sampled_from(LIMITS), st.randoms(use_true_random=False), st.data())
def test_the_order_of_the_cells_does_not_matter_and_fewer_free_cells_are_never_better(values, limits, rnd, data):
    order = list(range(len(values)))
    rnd.shuffle(order)
    groups = [["C000", "C001", "C002"], ["C003", "C004", "C005"]]
    question = Question(2, 3, **limits)
    refused = data.draw(st.lists(st.sampled_from([code(cell) for cell in range(6, len(values))]), max_size=2))
    found = []
    for places, asked in (
        (range(len(values)), question),
        (order, question),
        (order, replace(question, must_not_use=tuple(set(refused)))),
    ):
        some = [values[place] for place in places]
        columns = ([v / 10 for v in some], [90_000 - 2 * v for v in some], [3550 + v % 97 for v in some])
        cells = table_of(columns, codes=[code(place) for place in places])
        try:
            answer = replace_cell(cells, asked, groups, "C001")
        except Infeasible:
            found.append((0, 0.0, 0.0, ()))
            continue
        verify_replacement(cells, asked, groups, "C001", answer)
        found.append((100 - len(answer.changes), answer.weakest_mah, -answer.spread_mah, answer.groups))
    assert found[0] == found[1]
    assert found[2][:3] <= found[1][:3]
