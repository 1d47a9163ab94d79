"""The 23 worked cases of removed cells: sizes, dates, masses, conditions and claims.

Each test bears the number of its case and names the published rule that it follows from. Figures without another source
are worked out from that rule.
"""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest

from packs.documents import rating_change
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import Chemistry, Condition, DangerSign, Mode
from packs.topology import rated_energy_wh
from packs.waste import (
    Jurisdiction,
    Margin,
    Size,
    Sized,
    bin_mark,
    carriage,
    condition_of,
    items_to_a_package,
    large_handler_until,
    leave_by,
    may_say_remanufactured,
    needs_bin,
    package,
    rated_wh,
    require_mode,
    site,
    size_of,
    transport_unit,
    universal_waste,
    waste_code,
)

EU, US, UK, OTHER = Jurisdiction.EU, Jurisdiction.US, Jurisdiction.UK, Jurisdiction.OTHER
TODAY = date(2026, 11, 25)
D = Decimal
everywhere = pytest.mark.parametrize("place", Jurisdiction)


def wh(capacity_ah: str, voltage_v: str, cells: int = 1) -> Decimal:
    """Return the rated energy: rated Ah times nominal V (49 CFR 171.8)."""
    return rated_energy_wh(D(capacity_ah) * 1000, D(voltage_v) * 1000, cells)


@everywhere
def test_01_a_cell_of_2_6_ah(place: Jurisdiction) -> None:
    """49 CFR 171.8: 2.6 Ah × 3.6 V = 9.36 Wh; 49 CFR 173.185(c)(1)(i), ADR special provision 188(a): up to 20 Wh."""
    assert wh("2.6", "3.6") == D("9.36")
    assert size_of(D("9.36"), 1, place, TODAY).size is Size.SMALL


@everywhere
def test_02_a_cell_of_5_ah(place: Jurisdiction) -> None:
    """5.0 Ah × 3.6 V = 18.0 Wh; 20 Wh as for case 1."""
    assert wh("5.0", "3.6") == D(18)
    assert size_of(D(18), 1, place, TODAY).size is Size.SMALL


@everywhere
@pytest.mark.parametrize(
    ("capacity", "energy", "size"),
    [("6.0", "19.2", Size.SMALL), ("6.25", "20.0", Size.SMALL), ("6.5", "20.8", Size.LARGE)],
)
def test_03_cells_about_twenty_watt_hours(capacity: str, energy: str, size: Size, place: Jurisdiction) -> None:
    """6.0, 6.25 and 6.5 Ah × 3.2 V; “may not exceed” 20 Wh: 20.0 itself is inside, as case 1."""
    assert wh(capacity, "3.2") == D(energy)
    assert size_of(wh(capacity, "3.2"), 1, place, TODAY).size is size


@everywhere
def test_04_a_5s2p(place: Jurisdiction) -> None:
    """18 V × 5 Ah = 90 Wh; 49 CFR 173.185(c)(1)(i), ADR special provision 188(b): a battery up to 100 Wh."""
    assert wh("2.5", "3.6", 10) == D(90)
    assert size_of(D(90), 10, place, TODAY).size is Size.SMALL


@everywhere
def test_05_a_10s4p(place: Jurisdiction) -> None:
    """36 V × 10.4 Ah = 374.4 Wh, above the 300 Wh of 49 CFR 173.185(c)(1)(iv) as quoted 2019 too."""
    assert wh("2.6", "3.6", 40) == D("374.4")
    sized = size_of(D("374.4"), 40, place, TODAY)
    assert (sized.size, sized.by_land) == (Size.LARGE, False)


@everywhere
def test_06_a_7s4p(place: Jurisdiction) -> None:
    """25.2 V × 11.6 Ah = 292.32 Wh; up to 300 Wh by highway and rail in the United States, 49 CFR 173.185(c)(1)(iv)."""
    assert wh("2.9", "3.6", 28) == D("292.32")
    assert size_of(D("292.32"), 28, place, TODAY).by_land is (place is US)
    assert not size_of(D("300.01"), 28, place, TODAY).by_land


@everywhere
@pytest.mark.parametrize(("energy", "size"), [("100.00", Size.SMALL), ("100.01", Size.LARGE)])
def test_07_a_hundred_watt_hours(energy: str, size: Size, place: Jurisdiction) -> None:
    """49 CFR 173.185(c)(1)(i), ADR special provision 188(b): “may not exceed”."""
    assert size_of(D(energy), 10, place, TODAY).size is size


@everywhere
def test_08_a_battery_of_one_cell(place: Jurisdiction) -> None:
    """24 Wh is large: one cell counts as a cell with its 20 Wh (UN amendment of 2014; PHMSA 17-0101), not as a battery."""
    assert size_of(D(24), 1, place, TODAY).size is Size.LARGE
    assert size_of(D(24), 2, place, TODAY).size is Size.SMALL


@everywhere
def test_09_three_connected_packs(place: Jurisdiction) -> None:
    """PHMSA 11-0143: connected packs count as one battery, 3 × 95 Wh = 285 Wh, large."""
    assert size_of(D(95), 10, place, TODAY).size is Size.SMALL
    assert size_of(sum((D(95),) * 3, D(0)), 30, place, TODAY).size is Size.LARGE


@pytest.mark.parametrize(
    ("old_wh", "new_wh", "old_v", "new_v", "new_type"),
    [
        ("400", "480", "36", "36", False),
        ("400", "480.1", "36", "36", True),
        ("400", "319", "36", "36", True),
        ("400", "320", "36", "36", False),
        ("400", "400", "36", "43.2", False),
        ("400", "400", "36", "48", True),
        ("400", "400", "48", "36", False),
    ],
)
def test_10_a_new_type(old_wh: str, new_wh: str, old_v: str, new_v: str, new_type: bool) -> None:
    """UN Manual of Tests and Criteria 38.3.2.2(b), as printed in a maker's test report."""
    assert rating_change(D(old_wh), D(new_wh), D(old_v), D(new_v)).new_type is new_type


@pytest.mark.parametrize(
    ("began", "last"),
    [
        ([date(2026, 3, 1)], date(2027, 3, 1)),
        ([date(2026, 6, 1), date(2026, 3, 1), date(2026, 9, 9)], date(2027, 3, 1)),
        ([date(2028, 2, 29)], date(2029, 2, 28)),  # the earlier day: common practice, no source
    ],
)
def test_11_universal_waste_leaves_within_a_year_of_its_earliest_item(began: list[date], last: date) -> None:
    """40 CFR 273.15."""
    assert leave_by(began, US, TODAY) == last
    assert leave_by(began, EU, TODAY) is None


@pytest.mark.parametrize(
    ("kg", "margin"),
    [
        ("4499.9", Margin.CLEAR),
        ("4500", Margin.NEAR),  # nine tenths, a warning: common practice, no source
        ("4999.9", Margin.NEAR),
        ("5000", Margin.REACHED),
        ("5000.1", Margin.REACHED),
    ],
)
def test_12_the_site_stays_below_five_tonnes(kg: str, margin: Margin) -> None:
    """40 CFR 273.9: less than 5,000 kg at any time; reaching it makes a large handler until 31 December."""
    assert site(D(kg), US, TODAY).margin is margin
    assert site(D(kg), EU, TODAY).margin is Margin.NONE
    assert large_handler_until(TODAY) == date(2026, 12, 31)


@pytest.mark.parametrize(
    ("kg", "margin"),
    [("26.9", Margin.CLEAR), ("27", Margin.NEAR), ("30.0", Margin.NEAR), ("30.1", Margin.REACHED)],
)
@everywhere
def test_13_thirty_kilograms_to_a_package(kg: str, margin: Margin, place: Jurisdiction) -> None:
    """ADR special provision 377 and P909(2): 30 kg gross. United States: 49 CFR 173.185(c), from memory."""
    assert package(D(kg), place, TODAY).margin is margin
    assert package(D(kg), place, TODAY, approved=True).margin is Margin.NONE


@pytest.mark.parametrize("place", [EU, UK])
@pytest.mark.parametrize(("kg", "margin"), [("333", Margin.NEAR), ("333.1", Margin.REACHED)])
def test_14_a_transport_unit_of_a_collecting_point(kg: str, margin: Margin, place: Jurisdiction) -> None:
    """ADR special provision 636, quoted elsewhere."""
    assert transport_unit(D(kg), place, TODAY).margin is margin
    assert transport_unit(D(kg), US, TODAY).margin is Margin.NONE


@pytest.mark.parametrize(("place", "under"), [(US, "49 CFR 173.185(f)"), (EU, "P908"), (UK, "P908"), (OTHER, "P908")])
@pytest.mark.parametrize("sized", [Sized(size, "") for size in Size], ids=list(Size))
def test_15_a_dented_cell_never_takes_the_easier_rules(place: Jurisdiction, under: str, sized: Sized) -> None:
    """PHMSA 24-0050: damaged ones never under 173.185(d); ADR special provision 376: P908, never P909."""
    condition = condition_of([DangerSign.DROPPED])
    asked = carriage(chemistry=Chemistry.NMC, condition=condition, sized=sized, place=place, on=TODAY)
    assert asked.packed_under == under
    assert not any("173.185(d)" in row.code or "P909" in row.code for row in (*asked.packing, *asked.marks))


def test_16_an_unknown_state_is_damaged() -> None:
    """ADR special provision 376: what cannot be diagnosed before carriage is damaged or defective."""
    assert condition_of(None) is Condition.DAMAGED
    assert condition_of([DangerSign.UNKNOWN_HISTORY]) is Condition.DAMAGED
    assert condition_of([]) is Condition.INTACT
    assert condition_of([DangerSign.DROPPED, DangerSign.HOT]) is Condition.REACTIVE


@pytest.mark.parametrize(("closed", "universal"), [(True, True), (False, False), (None, False)])
def test_17_a_breached_casing_is_no_universal_waste(closed: bool | None, universal: bool) -> None:
    """EPA, RCRA Online 14634."""
    assert universal_waste(closed) is universal


@pytest.mark.parametrize(
    ("on", "chemistry", "code"),
    [
        (date(2026, 12, 8), Chemistry.NMC, "16 06 05"),
        (date(2026, 12, 9), Chemistry.NMC, "16 06 07*"),
        (date(2026, 12, 8), Chemistry.NIMH, "16 06 05"),
        (date(2026, 12, 9), Chemistry.NIMH, "16 06 08*"),
    ],
)
def test_18_codes_of_the_two_days(on: date, chemistry: Chemistry, code: str) -> None:
    """Decision 2000/532/EC; Decision (EU) 2025/934 with corrigendum OJ L 2025/90657."""
    found = waste_code(EU, on, chemistry)
    assert found.code == code
    assert ("national practice" in found.text) is (on.day == 8)


@everywhere
@pytest.mark.parametrize("condition", Condition)
def test_19_never_by_air(condition: Condition, place: Jurisdiction) -> None:
    """Industry guide to ADR, IMDG Code and IATA rules: forbidden, or only with approvals no shop has."""
    small = Sized(Size.SMALL, "")
    asked = carriage(chemistry=Chemistry.NMC, condition=condition, sized=small, place=place, on=TODAY)
    assert "Not by air" in asked.forbidden[0].text
    with pytest.raises(ImpossibleValue, match="never go by air"):
        require_mode(Mode.AIR)
    for mode in (Mode.ROAD, Mode.RAIL, Mode.SEA):
        require_mode(mode)


@pytest.mark.parametrize(
    ("place", "on", "needed"),
    [
        (EU, date(2025, 8, 17), False),
        (EU, date(2025, 8, 18), True),
        (EU, TODAY, True),
        (US, TODAY, False),
    ],
)
def test_20_the_crossed_out_bin(place: Jurisdiction, on: date, needed: bool) -> None:
    """Regulation (EU) 2023/1542, Art. 13(4): from 18 August 2025."""
    assert needs_bin(place, on) is needed
    assert (bin_mark(D(100), place, on, cylinder=False) is not None) is needed


@pytest.mark.parametrize(
    ("capacity", "spread", "evaluated", "same", "allowed"),
    [
        ("90.0", "3.0", True, True, True),
        ("89.9", "3.0", True, True, False),
        ("90.0", "3.1", True, True, False),
        ("90.0", "3.0", False, True, False),
        ("90.0", "3.0", True, False, False),
    ],
)
def test_21_remanufactured(capacity: str, spread: str, evaluated: bool, same: bool, allowed: bool) -> None:
    """Regulation (EU) 2023/1542, Art. 3(32), quoted elsewhere."""
    shares = (D(capacity), D(spread))
    said = may_say_remanufactured(*shares, EU, TODAY, all_evaluated=evaluated, same_purpose=same)
    assert said is allowed
    assert not may_say_remanufactured(*shares, US, TODAY, all_evaluated=True, same_purpose=True)


@pytest.mark.parametrize(
    ("side", "cylinder", "on_packaging", "printed"),
    [
        ("0.46", True, True, "1"),
        ("0.47", True, False, "0.47"),
        ("0.47", False, False, "0.47"),
        ("6", False, False, "5"),
    ],
)
def test_22_the_size_of_the_bin(side: str, cylinder: bool, on_packaging: bool, printed: str) -> None:
    """Regulation (EU) 2023/1542, Annex VI part B: 1.5 % of a cylinder's surface, 3 % of a largest side, at most 5 cm a side.

    Below 0.47 cm a side it is on the packaging, 1 cm a side. The area is the one whose share has the side of the case.
    """
    share = D("0.015") if cylinder else D("0.03")
    area = (D(side) ** 2 / share).quantize(D("1e-12"), "ROUND_UP")
    mark = bin_mark(area, EU, TODAY, cylinder=cylinder)
    assert mark is not None
    assert (mark.on_packaging, mark.side_cm.quantize(D("0.0001"))) == (on_packaging, D(printed).quantize(D("0.0001")))


@pytest.mark.parametrize(
    ("on", "code", "notice"),
    [
        (date(2025, 6, 8), "16 06 05", False),
        (date(2025, 6, 9), "16 06 05", True),
        (date(2026, 11, 9), "16 06 05", True),  # the day before its correction
        (date(2026, 12, 8), "16 06 05", True),
        (date(2026, 12, 9), "16 06 07*", False),
    ],
)
def test_23_the_code_by_date(on: date, code: str, notice: bool) -> None:
    """Decision (EU) 2025/934: in force 9 June 2025, applies 9 December 2026 as corrected by OJ L 2025/90657."""
    found = waste_code(EU, on, Chemistry.LFP)
    assert found.code == code
    assert ("apply from 9 December 2026" in found.text) is notice


def _look_ups(place: Jurisdiction) -> list[Callable[[], object]]:
    """Return everything that depends on a date, asked without one."""
    nmc, intact = Chemistry.NMC, Condition.INTACT
    sized = Sized(Size.SMALL, "")
    return [
        lambda: waste_code(place, None, nmc),
        lambda: size_of(D(10), 1, place, None),
        lambda: leave_by([TODAY], place, None),
        lambda: site(D(1), place, None),
        lambda: package(D(1), place, None),
        lambda: transport_unit(D(1), place, None),
        lambda: items_to_a_package(intact, place, None),
        lambda: needs_bin(place, None),
        lambda: bin_mark(D(1), place, None, cylinder=True),
        lambda: may_say_remanufactured(D(100), D(0), place, None, all_evaluated=True, same_purpose=True),
        lambda: carriage(chemistry=nmc, condition=intact, sized=sized, place=place, on=None),
    ]


@everywhere
def test_23_a_missing_date_is_refused(place: Jurisdiction) -> None:
    """Common practice, no source: what depends on a date is not guessed."""
    for look_up in _look_ups(place):
        with pytest.raises(MissingFact, match="date"):
            look_up()


# --- beside the cases


@pytest.mark.parametrize(
    ("energy", "cells", "by_land"), [("60", 1, True), ("60.01", 1, False), ("300", 2, True), ("300.01", 2, False)]
)
def test_large_ones_by_highway_and_rail(energy: str, cells: int, by_land: bool) -> None:
    """49 CFR 173.185(c)(1)(iv) as quoted 2019: 60 Wh a cell, 300 Wh a battery; nowhere else."""
    for place in Jurisdiction:
        sized = size_of(D(energy), cells, place, TODAY)
        assert (sized.size, sized.by_land) == (Size.LARGE, by_land and place is US)


@pytest.mark.parametrize(("energy", "cells"), [(None, 1), (None, None), (D(50), None)])
def test_what_is_not_known_is_the_larger_class_and_says_so(energy: Decimal | None, cells: int | None) -> None:
    """Common practice, no source: the stricter rule is never wrong."""
    sized = size_of(energy, cells, EU, TODAY)
    assert sized.size is Size.LARGE
    assert sized.assumed
    assert "not known" in sized.words


def test_no_lower_value_counts() -> None:
    """PHMSA 22-0113: the rating that is declared; no shop declares below capacity times voltage."""
    assert rated_wh(D("9.36"), D("7.2"), None) == D("9.36")
    assert rated_wh(None) is None
    for impossible in (D("NaN"), D(-1), D("Infinity")):
        with pytest.raises(ImpossibleValue):
            rated_wh(impossible)
        with pytest.raises(ImpossibleValue):
            package(impossible, EU, TODAY)


def test_damaged_ones_are_alone_in_their_package_in_the_united_states() -> None:
    """49 CFR 173.185(f)."""
    assert items_to_a_package(Condition.DAMAGED, US, TODAY) == 1
    assert items_to_a_package(Condition.DAMAGED, EU, TODAY) is None
    assert items_to_a_package(Condition.INTACT, US, TODAY) is None


@pytest.mark.parametrize(("kg", "most"), [(None, None), ("30", None), ("30.001", 1)])
def test_a_heavy_damaged_one_has_an_outer_packaging_to_itself(kg: str | None, most: int | None) -> None:
    """ADR packing instruction P908: over 30 kg net one to an outer packaging."""
    heaviest = None if kg is None else D(kg)
    assert items_to_a_package(Condition.DAMAGED, EU, TODAY, heaviest_kg=heaviest) == most
    assert items_to_a_package(Condition.INTACT, EU, TODAY, heaviest_kg=heaviest) is None
