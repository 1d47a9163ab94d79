"""The worked cases of removed cells: sizes, dates, masses, conditions and claims, each with the rule it follows from."""

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


def wh(capacity_ah: str, voltage_v: str, cells: int = 1) -> Decimal:
    return rated_energy_wh(D(capacity_ah) * 1000, D(voltage_v) * 1000, cells)


# --- 1 to 9: rated energy, 49 CFR 171.8; 20 and 100 Wh, 49 CFR 173.185(c)(1)(i) and ADR special provision 188;
#     60 and 300 Wh, 49 CFR 173.185(c)(1)(iv) as quoted 2019


@pytest.mark.parametrize(
    ("number", "capacity", "voltage", "energy", "size"),
    [
        (1, "2.6", "3.6", "9.36", Size.SMALL),
        (2, "5.0", "3.6", "18", Size.SMALL),
        (3, "6.0", "3.2", "19.2", Size.SMALL),
        (3, "6.25", "3.2", "20", Size.SMALL),
        (3, "6.5", "3.2", "20.8", Size.LARGE),
    ],
)
@pytest.mark.parametrize("place", [EU, UK, OTHER])
def test_1_to_3_cells(number: int, capacity: str, voltage: str, energy: str, size: Size, place: Jurisdiction) -> None:
    assert wh(capacity, voltage) == D(energy)
    assert size_of(wh(capacity, voltage), 1, place, TODAY).size is size


@pytest.mark.parametrize(
    ("number", "energy", "exact", "cells", "place", "size"),
    [
        (4, wh("2.5", "3.6", 10), "90", 10, EU, Size.SMALL),
        (5, wh("2.6", "3.6", 40), "374.4", 40, EU, Size.LARGE),
        (5, wh("2.6", "3.6", 40), "374.4", 40, US, Size.LARGE),
        (6, wh("2.9", "3.6", 28), "292.32", 28, US, Size.MIDDLE),
        (6, wh("2.9", "3.6", 28), "292.32", 28, EU, Size.LARGE),
        (7, D("100.00"), "100", 10, EU, Size.SMALL),
        (7, D("100.01"), "100.01", 10, EU, Size.LARGE),
        (8, D(24), "24", 1, EU, Size.LARGE),
        (8, D(24), "24", 1, US, Size.MIDDLE),  # above small all the same, by highway and rail only up to 60 Wh
        (9, D(3 * 95), "285", 30, EU, Size.LARGE),  # PHMSA 11-0143: connected packs count as one
        (9, D(3 * 95), "285", 30, US, Size.MIDDLE),
    ],
)
def test_4_to_9_batteries(
    number: int, energy: Decimal, exact: str, cells: int, place: Jurisdiction, size: Size
) -> None:
    assert energy == D(exact)
    assert size_of(energy, cells, place, TODAY).size is size


# --- 10: UN Manual of Tests and Criteria 38.3.2.2(b), as printed in a maker's test report


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
    assert rating_change(D(old_wh), D(new_wh), D(old_v), D(new_v)).new_type is new_type


# --- 11 to 14: 40 CFR 273.15; 40 CFR 273.9; ADR P909(2); ADR special provision 636


@pytest.mark.parametrize(
    ("began", "last"),
    [
        ([date(2026, 3, 1)], date(2027, 3, 1)),
        ([date(2026, 6, 1), date(2026, 3, 1), date(2026, 9, 9)], date(2027, 3, 1)),
        ([date(2028, 2, 29)], date(2029, 2, 28)),
    ],
)
def test_11_universal_waste_leaves_within_a_year_of_its_earliest_item(began: list[date], last: date) -> None:
    assert leave_by(began, US, TODAY) == last
    assert leave_by(began, EU, TODAY) is None


@pytest.mark.parametrize(
    ("kg", "margin"),
    [
        ("4499.9", Margin.CLEAR),
        ("4500", Margin.NEAR),
        ("4999.9", Margin.NEAR),
        ("5000", Margin.REACHED),
        ("5000.1", Margin.REACHED),
    ],
)
def test_12_the_site_stays_below_five_tonnes(kg: str, margin: Margin) -> None:
    assert site(D(kg), US, TODAY).margin is margin
    assert site(D(kg), EU, TODAY).margin is Margin.NONE
    assert large_handler_until(TODAY) == date(2026, 12, 31)


@pytest.mark.parametrize(
    ("kg", "margin"),
    [("26.9", Margin.CLEAR), ("27", Margin.NEAR), ("30.0", Margin.NEAR), ("30.1", Margin.REACHED)],
)
@pytest.mark.parametrize("place", Jurisdiction)
def test_13_thirty_kilograms_to_a_package(kg: str, margin: Margin, place: Jurisdiction) -> None:
    assert package(D(kg), place, TODAY).margin is margin
    assert package(D(kg), place, TODAY, approved=True).margin is Margin.NONE


@pytest.mark.parametrize(("kg", "margin"), [("333", Margin.NEAR), ("333.1", Margin.REACHED)])
def test_14_a_transport_unit_of_a_collecting_point(kg: str, margin: Margin) -> None:
    assert transport_unit(D(kg), EU, TODAY).margin is margin


# --- 15 to 17: PHMSA 24-0050 and ADR special provision 376; EPA RCRA Online 14634


@pytest.mark.parametrize(("place", "under"), [(US, "173.185(f)"), (EU, "P908"), (UK, "P908"), (OTHER, "P908")])
@pytest.mark.parametrize("size", Size)
def test_15_a_dented_cell_never_takes_the_easier_rules(place: Jurisdiction, under: str, size: Size) -> None:
    condition = condition_of([DangerSign.DROPPED])
    asked = carriage(chemistry=Chemistry.NMC, condition=condition, size=size, place=place, on=TODAY)
    assert under in asked.packed_under
    assert not any("173.185(d)" in row.code or "P909" in row.code for row in (*asked.packing, *asked.marks))


def test_16_an_unknown_state_is_damaged() -> None:
    assert condition_of(None) is Condition.DAMAGED
    assert condition_of([DangerSign.UNKNOWN_HISTORY]) is Condition.DAMAGED
    assert condition_of([]) is Condition.INTACT
    assert condition_of([DangerSign.DROPPED, DangerSign.HOT]) is Condition.REACTIVE


@pytest.mark.parametrize(("closed", "universal"), [(True, True), (False, False), (None, False)])
def test_17_a_breached_casing_is_no_universal_waste(closed: bool | None, universal: bool) -> None:
    assert universal_waste(closed) is universal


# --- 18 and 23: Decision 2000/532/EC; Decision (EU) 2025/934 with corrigendum OJ L 2025/90657


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
    found = waste_code(EU, on, chemistry)
    assert found.code == code
    assert ("national practice" in found.text) is (on.day == 8)


@pytest.mark.parametrize("condition", Condition)
@pytest.mark.parametrize("place", Jurisdiction)
def test_19_never_by_air(condition: Condition, place: Jurisdiction) -> None:
    """Industry guide to ADR, IMDG Code and IATA rules: forbidden, or only with approvals no shop has."""
    asked = carriage(chemistry=Chemistry.NMC, condition=condition, size=Size.SMALL, place=place, on=TODAY)
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


@pytest.mark.parametrize(
    ("capacity", "spread", "evaluated", "allowed"),
    [
        ("90.0", "3.0", True, True),
        ("89.9", "3.0", True, False),
        ("90.0", "3.1", True, False),
        ("90.0", "3.0", False, False),
    ],
)
def test_21_remanufactured(capacity: str, spread: str, evaluated: bool, allowed: bool) -> None:
    """Regulation (EU) 2023/1542, Art. 3(32)."""
    said = may_say_remanufactured(D(capacity), D(spread), EU, TODAY, all_evaluated=evaluated)
    assert said is allowed


@pytest.mark.parametrize(
    ("side", "on_packaging", "printed"), [("0.46", True, "1"), ("0.47", False, "0.47"), ("6", False, "5")]
)
def test_22_the_size_of_the_bin(side: str, on_packaging: bool, printed: str) -> None:
    """Regulation (EU) 2023/1542, Annex VI part B: below 0.47 cm on the packaging at 1 cm; at most 5 cm."""
    mark = bin_mark(D(side))
    assert (mark.on_packaging, mark.side_cm) == (on_packaging, D(printed))


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
    found = waste_code(EU, on, Chemistry.LFP)
    assert found.code == code
    assert ("apply from 9 December 2026" in found.text) is notice


@pytest.mark.parametrize("place", Jurisdiction)
def test_23_without_a_date_nothing_is_looked_up(place: Jurisdiction) -> None:
    for look_up in (
        lambda: waste_code(place, None, Chemistry.NMC),
        lambda: size_of(D(10), 1, place, None),
        lambda: leave_by([TODAY], place, None),
        lambda: site(D(1), place, None),
        lambda: items_to_a_package(Condition.INTACT, place, None),
        lambda: needs_bin(place, None),
        lambda: carriage(chemistry=Chemistry.NMC, condition=Condition.INTACT, size=Size.SMALL, place=place, on=None),
    ):
        with pytest.raises(MissingFact, match="date"):
            look_up()


# --- beside the vectors


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
