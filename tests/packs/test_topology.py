"""Series and parallel sums. Arithmetic by Kirchhoff's laws; figures of standards name their source."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.cells import Cell, CellModelData
from packs.chemistry import limits
from packs.errors import ImpossibleValue, MissingFact, ParseError
from packs.terms import CellFormat, Chemistry, Terminals
from packs.topology import (
    Arrangement,
    RemovedCell,
    c_rate,
    cell_current,
    group_capacities,
    pack_capacity,
    pack_energy,
    pack_figures,
    parse_arrangement,
    rated_energy_wh,
    removed_totals,
    step_down_possible,
    weakest_groups,
)
from packs.units import Quantity, ureg

MAH = "mAh"
WORKED_GROUPS: list[tuple[float, ...]] = [(2.6, 2.5), (2.55, 2.45), (2.7, 2.4), (2.6, 2.6)]


def volts(number: float) -> Quantity:
    return ureg.Quantity(number, "V")


def groups_of(capacities_ah: list[tuple[float, ...]]) -> list[list[Cell]]:
    return [
        [Cell(f"C{number}-{place}", ureg.Quantity(capacity, "Ah")) for place, capacity in enumerate(group)]
        for number, group in enumerate(capacities_ah)
    ]


def model(chemistry: Chemistry = Chemistry.NMC, **facts: Quantity) -> CellModelData:
    return CellModelData("a cell", chemistry, CellFormat.ROUND, Terminals.OPPOSITE_ENDS, **facts)


@pytest.mark.parametrize(
    ("text", "series", "parallel"),
    [("4s2p", 4, 2), ("10S3P", 10, 3), (" 13 s 4 p ", 13, 4), ("4s", 4, 1), ("1s1p", 1, 1)],
)
def test_an_arrangement_is_read_as_the_trade_writes_it(text: str, series: int, parallel: int) -> None:
    """Common practice, no source."""
    assert parse_arrangement(text) == Arrangement(series, parallel)


@pytest.mark.parametrize(
    "text", ["", "4", "s", "0s2p", "4s0p", "-4s2p", "4p", "4s2p3", "4,5s2p", "\u0664s2p", "4000s1p"]
)
def test_what_is_no_arrangement_is_refused(text: str) -> None:
    with pytest.raises(ParseError, match="such as 4s2p"):
        parse_arrangement(text)


@pytest.mark.parametrize(("series", "parallel"), [(0, 1), (1, 0), (-4, 2)])
def test_a_pack_has_cells(series: int, parallel: int) -> None:
    with pytest.raises(ImpossibleValue):
        Arrangement(series, parallel)


@given(series=st.integers(1, 999), parallel=st.integers(1, 999))
def test_a_written_arrangement_is_read_back(series: int, parallel: int) -> None:
    arrangement = Arrangement(series, parallel)
    assert parse_arrangement(str(arrangement)) == arrangement
    assert arrangement.cells == series * parallel


@pytest.mark.parametrize(
    ("chemistry", "series", "expected"),
    [
        pytest.param(Chemistry.NMC, 3, 12.60, id="4.20-3S"),
        pytest.param(Chemistry.NMC, 4, 16.80, id="4.20-4S"),
        pytest.param(Chemistry.NMC, 7, 29.40, id="4.20-7S"),
        pytest.param(Chemistry.NMC, 10, 42.00, id="4.20-10S"),
        pytest.param(Chemistry.NMC, 13, 54.60, id="4.20-13S-as-in-a-published-pack-specification"),
        pytest.param(Chemistry.NMC, 14, 58.80, id="4.20-14S"),
        pytest.param(Chemistry.LFP, 4, 14.60, id="LFP-3.65-4S"),
        pytest.param(Chemistry.LFP, 8, 29.20, id="LFP-3.65-8S"),
        pytest.param(Chemistry.LFP, 16, 58.40, id="LFP-3.65-16S"),
    ],
)
def test_the_charge_voltage_of_a_pack(chemistry: Chemistry, series: int, expected: float) -> None:
    """Groups in series times the cell's limit; the values are those printed on chargers (common practice, no source)."""
    charge_limit = limits(chemistry).require("charge_limit")
    figures = pack_figures(Arrangement(series, 2), model(chemistry, charge_limit=charge_limit))
    assert figures.voltage_high is not None
    assert figures.voltage_high.to("V").magnitude == pytest.approx(expected, abs=1e-9)


def test_the_figures_of_a_pack() -> None:
    """10s3p of 2.5 Ah, 3.6 V: 36 V, 7.5 Ah, 270 Wh; 3.0 V × 10 = 30 V at the end of discharge. By arithmetic."""
    figures = pack_figures(
        Arrangement(10, 3),
        model(
            rated_capacity=ureg.Quantity(2500, MAH),
            nominal_voltage=volts(3.6),
            end_of_discharge=ureg.Quantity(3000, "mV"),
        ),
    )
    assert figures.nominal_voltage is not None
    assert figures.rated_capacity is not None
    assert figures.rated_energy is not None
    assert figures.voltage_low is not None
    assert figures.nominal_voltage.to("V").magnitude == pytest.approx(36)
    assert figures.rated_capacity.to("Ah").magnitude == pytest.approx(7.5)
    assert figures.rated_energy.to("Wh").magnitude == pytest.approx(270)
    assert figures.voltage_low.to("V").magnitude == pytest.approx(30)
    assert figures.voltage_high is None, "the model does not say"


def test_a_silent_data_sheet_gives_no_figures() -> None:
    figures = pack_figures(Arrangement(4, 2), model())
    assert {figures.nominal_voltage, figures.rated_capacity, figures.rated_energy, figures.voltage_low} == {None}


def test_a_pack_current_is_shared() -> None:
    assert cell_current(ureg.Quantity(15000, "mA"), Arrangement(10, 3)).to("A").magnitude == pytest.approx(5)


@pytest.mark.parametrize(
    ("amps", "capacity_mah", "expected"),
    [
        pytest.param(0.25, 2500, 0.1, id="18650-specification-8-1-precharge-0.25-A-at-2.5-Ah"),
        pytest.param(0.52, 2600, 0.2, id="IEC-61960-3-7.7.3-I1-0.2-It"),
        pytest.param(2.6, 2600, 1.0, id="IEC-61960-3-7.7.3-I2-1.0-It"),
    ],
)
def test_a_current_as_a_rate(amps: float, capacity_mah: float, expected: float) -> None:
    rate = c_rate(ureg.Quantity(amps, "A"), ureg.Quantity(capacity_mah, MAH))
    assert rate.to("1/hour").magnitude == pytest.approx(expected)


@pytest.mark.parametrize("capacity_mah", [0.0, -2500.0, float("nan")])
def test_no_rate_without_capacity(capacity_mah: float) -> None:
    with pytest.raises(ImpossibleValue):
        c_rate(ureg.Quantity(1, "A"), ureg.Quantity(capacity_mah, MAH))


def test_the_weakest_group_decides() -> None:
    """4S2P worked by hand: groups 5.1, 5.0, 5.1, 5.2 Ah; pack 5.0 Ah and 72.0 Wh at 3.6 V."""
    groups = groups_of(WORKED_GROUPS)
    assert [group.to("Ah").magnitude for group in group_capacities(groups)] == pytest.approx([5.1, 5.0, 5.1, 5.2])
    assert weakest_groups(group_capacities(groups)).group_indexes == (1,)
    assert pack_capacity(groups).to("Ah").magnitude == pytest.approx(5.0)
    assert pack_energy(groups, volts(3.6)).to("Wh").magnitude == pytest.approx(72.0)


@pytest.mark.parametrize(
    ("held", "weakest"),
    [((3.0, 2.5, 2.5), (1, 2)), ((2.5, 3.0, 2.5, 2.6), (0, 2)), ((2.5, 2.5), ()), ((2.5,), ()), ((2.5, 2.5001), (0,))],
)
def test_equal_groups_are_all_the_weakest_unless_none_is_stronger(
    held: tuple[float, ...], weakest: tuple[int, ...]
) -> None:
    assert weakest_groups(group_capacities(groups_of([(one,) for one in held]))).group_indexes == weakest


def test_sums_of_the_same_tenths_are_equal() -> None:
    """2550.1 + 2549.9 and 2550.3 + 2549.7 mAh are both 5100 mAh, whatever binary fractions make of them."""
    groups = groups_of([(2.5501, 2.5499), (2.6, 2.6), (2.5503, 2.5497)])
    assert weakest_groups(group_capacities(groups)).group_indexes == (0, 2)


@given(st.lists(st.lists(st.integers(1, 5000), min_size=3, max_size=3), min_size=1, max_size=12))
def test_no_pack_gives_more_than_any_of_its_groups(capacities: list[list[int]]) -> None:
    groups = groups_of([tuple(capacity / 1000 for capacity in group) for group in capacities])
    assert pack_capacity(groups).to(MAH).magnitude == pytest.approx(min(sum(group) for group in capacities))


def test_an_unmeasured_cell_has_no_capacity_to_add() -> None:
    with pytest.raises(MissingFact, match="C7"):
        group_capacities([[Cell("C1", ureg.Quantity(2500, MAH)), Cell("C7")]])


@pytest.mark.parametrize("groups", [[], [[]]])
def test_nothing_has_no_weakest_group(groups: list[list[Cell]]) -> None:
    with pytest.raises(ImpossibleValue):
        pack_capacity(groups)


@pytest.mark.parametrize(
    ("capacity_mah", "voltage_mv", "cells", "expected"),
    [
        pytest.param("2600", "3700", 1, "9.62", id="one-cell"),
        pytest.param("2500", "3600", 8, "72", id="4S2P-of-2.5-Ah"),
        pytest.param("5555.6", "3600", 5, "100.0008", id="IATA-PI-965-just-above-100-Wh"),
        pytest.param("27777.7", "3600", 1, "99.99972", id="IATA-PI-965-just-below-100-Wh"),
        pytest.param("0.1", "0.1", 3, "0.00000003", id="no-digit-is-lost"),
        pytest.param("2600", "3700", 0, "0", id="no-cell"),
    ],
)
def test_rated_energy_is_exact(capacity_mah: str, voltage_mv: str, cells: int, expected: str) -> None:
    energy = rated_energy_wh(Decimal(capacity_mah), Decimal(voltage_mv), cells)
    assert energy == Decimal(expected)


@pytest.mark.parametrize(
    ("capacity_mah", "voltage_mv", "cells"),
    [("-1", "3600", 1), ("2600", "NaN", 1), ("Infinity", "1", 1), ("1", "1", -1)],
)
def test_impossible_figures_have_no_energy(capacity_mah: str, voltage_mv: str, cells: int) -> None:
    with pytest.raises(ImpossibleValue):
        rated_energy_wh(Decimal(capacity_mah), Decimal(voltage_mv), cells)


def test_removed_cells_add_up_and_what_is_not_known_is_counted() -> None:
    """Two cells of 2600 mAh, 3.6 V, 45 g, one without a mass and one without any figure: by hand 28.08 Wh, 90 g."""
    known = RemovedCell(Decimal(2600), Decimal(3600), Decimal(45000))
    totals = removed_totals(
        [known, known, RemovedCell(Decimal(2600), Decimal(3600), None), RemovedCell(None, Decimal(3600), None)]
    )
    assert (totals.cells, totals.rated_energy_wh, totals.mass_mg) == (4, Decimal("28.08"), Decimal(90000))
    assert (totals.energy_unknown, totals.mass_unknown) == (1, 2)


def test_no_removed_cells_weigh_nothing() -> None:
    totals = removed_totals([])
    assert (totals.cells, totals.energy_unknown, totals.mass_unknown) == (0, 0, 0)
    assert totals.rated_energy_wh == totals.mass_mg == 0


@pytest.mark.parametrize(
    ("stack", "outlet", "dropout", "possible"),
    [
        pytest.param(3.0, 5.0, 0.0, False, id="1s-li-ion-never-feeds-5-V"),
        pytest.param(4.2, 5.0, 0.0, False, id="1s-li-ion-not-even-full"),
        pytest.param(6.0, 5.0, 0.5, True, id="2s-li-ion-at-3.0-V-each-feeds-5-V"),
        pytest.param(5.301, 5.0, 0.3, True, id="one-millivolt-above"),
        pytest.param(5.3, 5.0, 0.3, False, id="equal-is-not-enough"),
        pytest.param(5.3, 5.1, 0.2, False, id="equal-although-binary-sums-differ"),
        pytest.param(5.299, 5.0, 0.3, False, id="one-millivolt-below"),
    ],
)
def test_a_step_down_converter_needs_more_than_its_outlet(
    stack: float, outlet: float, dropout: float, possible: bool
) -> None:
    """Common practice, no source."""
    assert step_down_possible(volts(stack), volts(outlet), volts(dropout)) is possible


@pytest.mark.parametrize(("stack", "dropout"), [(6.0, -0.1), (float("nan"), 0.5)])
def test_impossible_voltages_step_nothing_down(stack: float, dropout: float) -> None:
    with pytest.raises(ImpossibleValue):
        step_down_possible(volts(stack), volts(5.0), volts(dropout))
