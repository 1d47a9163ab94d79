"""What a rebuild is sold for, and whether it makes sense; sums worked out by hand, the practice without source."""

from decimal import Decimal

import pytest

from packs.errors import ImpossibleValue
from packs.faultfinding import Fault, PartKind, State
from packs.terms import Risk, Verdict
from packs.units import show_price
from packs.worth import Cause, Found, Item, Life, Rates, Work, cause, estimate, recommend

RATES = Rates("EUR", labour=Decimal(66), margin=Decimal("0.15"), tax=Decimal("0.20"))
PARTS = [Item("cells", 8, Decimal("3.45")), Item("strip and wire", 1, Decimal("2.10"))]
WORK = [Work("rebuild", 75), Work("testing", 20)]
FEES = [Item("waste fee", 1, Decimal("4.00"))]


def test_the_columns_add_up_as_they_are_printed() -> None:
    """8 × 3.45 = 27.60; 75 min at 66 = 82.50, 20 min = 22.00; with 15 %: 31.74, 2.415 → 2.42, 94.875 → 94.88, 25.30."""
    asked = estimate(PARTS, WORK, FEES, RATES)
    assert [str(line.cost) for line in asked.lines] == ["27.60", "2.10", "82.50", "22.00", "4.00"]
    assert [str(line.price) for line in asked.lines] == ["31.74", "2.42", "94.88", "25.30", "4.00"]
    assert str(asked.cost) == "138.20"
    assert str(asked.net) == "158.34"
    assert str(asked.tax) == "31.67"  # 31.668
    assert str(asked.total) == "190.01"


def test_a_currency_without_decimals() -> None:
    """20 min at 5000 an hour = 1666.67 → 1667, 10 % tax of it = 166.7 → 167."""
    asked = estimate([], [Work("testing", 20)], [], Rates("JPY", Decimal(5000), Decimal(0), Decimal("0.1")))
    assert (str(asked.net), str(asked.tax), str(asked.total)) == ("1667", "167", "1834")


@pytest.mark.parametrize("bad", [Decimal(-1), Decimal("NaN"), Decimal("Infinity")])
def test_what_cannot_be_is_refused(bad: Decimal) -> None:
    with pytest.raises(ImpossibleValue):
        estimate([Item("cells", 8, bad)], [], [], RATES)
    with pytest.raises(ImpossibleValue):
        estimate([], [Work("testing", -1)], [], RATES)
    with pytest.raises(ImpossibleValue):
        estimate([], [], [], Rates("EUR", bad, Decimal(0), Decimal(0)))
    with pytest.raises(ImpossibleValue):
        recommend(Life(bad, Decimal(1)), None, [], currency="EUR")


REBUILT = Life(Decimal(120), Decimal(4))


@pytest.mark.parametrize(
    ("new", "verdict"),
    [
        (Life(Decimal("120.04"), Decimal(4)), Verdict.REBUILD),
        (Life(Decimal(120), Decimal(4)), Verdict.REPLACE),
        (Life(Decimal(60), Decimal(4)), Verdict.REPLACE),
        (Life(Decimal(60), Decimal(1)), Verdict.REBUILD),
        (None, Verdict.REBUILD),
    ],
)
def test_the_cheaper_expected_year_is_recommended(new: Life | None, verdict: Verdict) -> None:
    advice = recommend(REBUILT, new, [], currency="EUR")
    assert advice.verdict is verdict
    assert advice.reasons


@pytest.mark.parametrize("risk", list(Risk))
def test_a_risk_says_no_by_itself_however_cheap(risk: Risk) -> None:
    dear = Life(Decimal(10_000), Decimal(1))
    told = recommend(REBUILT, dear, [risk], currency="EUR")
    assert told.verdict is Verdict.REPLACE
    assert risk.label.lower() in told.reasons[0].lower()
    assert recommend(REBUILT, None, [risk], currency="EUR").verdict is Verdict.RECYCLE


def test_the_reason_prints_both_sums() -> None:
    (first,) = recommend(REBUILT, Life(Decimal(200), Decimal(4)), [], currency="EUR", locale="de").reasons
    assert "EUR\xa030,00" in first
    assert "EUR\xa050,00" in first


def test_where_both_cost_the_same_the_new_one_is_said_to_be_the_better_buy() -> None:
    assert len(recommend(REBUILT, REBUILT, [], currency="EUR").reasons) == 2


LATCHED = Fault(PartKind.BOARD, State.LATCHED_OFF)
TRIPPED = Fault(PartKind.BOARD, State.TRIPPED)
WEAK = Fault(PartKind.GROUP, State.WEAK, 3)


@pytest.mark.parametrize(
    ("faults", "may_charge", "verdict"),
    [
        ([LATCHED], True, Verdict.CHARGE_FIRST),
        ([LATCHED], False, Verdict.BOARD_FIRST),
        ([TRIPPED], True, Verdict.BOARD_FIRST),
        ([LATCHED, Fault(PartKind.GROUP, State.LOW, 2)], True, Verdict.CHARGE_FIRST),
        ([Fault(PartKind.JOINT, State.RESISTIVE, 2)], True, Verdict.MEND),
        ([Fault(PartKind.POSITIVE_LEAD, State.OPEN)], True, Verdict.MEND),
        ([WEAK], True, Verdict.REPAIR),
        ([Fault(PartKind.GROUP, State.LOW, 1), Fault(PartKind.JOINT, State.OPEN, 1)], True, Verdict.REPAIR),
        ([WEAK, Fault(PartKind.GROUP, State.WEAK, 1)], True, Verdict.REBUILD),
        ([Fault(PartKind.STACK, State.WORN)], True, Verdict.REBUILD),
        ([Fault(PartKind.STACK, State.WORN), LATCHED], True, Verdict.REBUILD),
    ],
    ids=lambda value: " and ".join(map(str, value)) if isinstance(value, list) else None,
)
def test_what_was_found_comes_before_the_price(faults: list[Fault], may_charge: bool, verdict: Verdict) -> None:
    """However dear a new one is, nobody replaces all cells for a board that is off, a joint or one group.

    What decides is told first: what was found, but the price where it leaves a rebuild.
    """
    words = tuple(str(fault) for fault in faults)
    found = Found(cause([faults], may_charge=may_charge), (words,))
    told = recommend(REBUILT, Life(Decimal(900), Decimal(1)), [], currency="EUR", found=found)
    assert told.verdict is verdict
    assert all(word in told.reasons[-1 if verdict is Verdict.REBUILD else 0] for word in words)


def test_the_repair_of_one_group_says_what_it_means_and_a_new_one_may_still_be_cheaper() -> None:
    found = Found(cause([[WEAK]], may_charge=True), ((str(WEAK),),))
    cheap = recommend(REBUILT, Life(Decimal(10), Decimal(4)), [], currency="EUR", found=found)
    assert cheap.verdict is Verdict.REPLACE
    for told in (cheap, recommend(REBUILT, None, [], currency="EUR", found=found)):
        assert any("New cells then stand beside old ones" in reason and "a lead" in reason for reason in told.reasons)
    assert cheap.reasons[0].startswith("For each year")
    repair = recommend(REBUILT, None, [], currency="EUR", repair=True, found=found)
    assert not any("a kind of job of its own" in reason for reason in repair.reasons)


@pytest.mark.parametrize(
    ("risk", "fault", "verdict"),
    [
        (Risk.RECALLED, LATCHED, Verdict.RECYCLE),
        (Risk.UNKNOWN_HISTORY, LATCHED, Verdict.RECYCLE),
        (Risk.POTTED, LATCHED, Verdict.CHARGE_FIRST),
        (Risk.LOCKS_FOR_GOOD, LATCHED, Verdict.CHARGE_FIRST),
        (Risk.POTTED, Fault(PartKind.JOINT, State.OPEN, 1), Verdict.RECYCLE),
    ],
)
def test_a_risk_of_opening_is_none_to_a_board_that_is_only_off(risk: Risk, fault: Fault, verdict: Verdict) -> None:
    found = Found(cause([[fault]], may_charge=True), ((str(fault),),))
    assert recommend(REBUILT, None, [risk], currency="EUR", found=found).verdict is verdict


def test_what_explains_the_readings_alike_is_told_and_what_takes_least_comes_first() -> None:
    """Latched off, tripped or failed look the same until it sees a charger; a worn stack beside them leaves the price."""
    board = [[LATCHED], [TRIPPED], [Fault(PartKind.BOARD, State.FAILED)]]
    assert cause(board, may_charge=True) is Cause.LATCHED_OFF
    assert cause(board, may_charge=False) is Cause.BOARD_OFF
    assert cause([*board, [Fault(PartKind.STACK, State.WORN)]], may_charge=True) is None
    assert cause([[WEAK], [Fault(PartKind.GROUP, State.LOW, 1)]], may_charge=True) is Cause.GROUP
    assert cause([[WEAK], [Fault(PartKind.JOINT, State.OPEN, 1)]], may_charge=True) is None
    found = Found(cause(board, may_charge=True), tuple((str(one),) for (one,) in board))
    told = recommend(REBUILT, None, [], currency="EUR", found=found)
    assert told.verdict is Verdict.CHARGE_FIRST
    assert told.reasons[0].count("; or ") == 2


def test_with_spent_groups_no_board_is_mended_and_no_repair_keeps_them() -> None:
    """Common practice, no source: cells below the line of recovery are never charged again, whatever else is found."""
    board = [[LATCHED], [TRIPPED], [Fault(PartKind.BOARD, State.FAILED)]]
    for may_charge in (True, False):
        assert cause(board, may_charge=may_charge, spent=[1, 2, 3, 4]) is None
        assert cause([[LATCHED, WEAK]], may_charge=may_charge, spent=[3]) is None
    low = [Fault(PartKind.GROUP, State.LOW, 3)]
    assert cause([low], may_charge=True, spent=[3]) is Cause.GROUP
    assert cause([[WEAK]], may_charge=True, spent=[1]) is None
    told = recommend(REBUILT, None, [], currency="EUR", found=Found(None, (("board: failed",),), spent="Cells spent."))
    assert told.verdict is Verdict.REBUILD
    assert "Cells spent." in told.reasons
    kept = recommend(
        REBUILT, None, [], currency="EUR", repair=True, found=Found(None, (), spent="Cells spent.", kept=(2,))
    )
    assert kept.verdict is Verdict.RECYCLE
    assert "group 2" in kept.reasons[1]


def test_a_price_that_is_multiplied_keeps_its_decimals_and_the_line_alone_is_rounded() -> None:
    """2 m at 5.335 are 10.67, not twice 5.34; by hand."""
    asked = estimate([Item("Strip", Decimal(2), Decimal("5.335"), "m")], [], [], Rates("EUR", *[Decimal(0)] * 3))
    assert (str(asked.lines[0].cost), str(asked.net)) == ("10.67", "10.67")
    assert show_price(Decimal("5.335"), "EUR", locale="de") == "EUR\xa05,335"
