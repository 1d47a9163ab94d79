"""The pack as a resistor network. Expected numbers follow from Kirchhoff's laws, worked by hand to the digits shown."""

from decimal import Decimal
from fractions import Fraction
from itertools import permutations
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.errors import ImpossibleValue
from packs.network import (
    agrees,
    branch_currents,
    bus_voltage,
    equalising_currents,
    group_resistance,
    joining_current_against_group,
    largest_joining_current,
    meters_error,
    pack_resistance,
    settling,
    tap_voltages,
)
from packs.units import Quantity, ureg


def volts(*numbers: float) -> list[Quantity]:
    return [ureg.Quantity(number, "V") for number in numbers]


def milliohms(*numbers: float) -> list[Quantity]:
    return [ureg.Quantity(number, "mΩ") for number in numbers]


def amps(number: float) -> Quantity:
    return ureg.Quantity(number, "A")


GROUPS = [
    pytest.param((3.70, 3.70), (20, 24), 10, 10.9091, 3.59091, (5.4545, 4.5455), id="20-24-mohm-10-A"),
    pytest.param((3.70,) * 3, (30, 33, 45), 15, 11.6471, 3.52529, (5.8235, 5.2941, 3.8824), id="30-33-45-mohm-15-A"),
    pytest.param(
        (3.70, 3.65, 3.60), (30, 33, 45), 0, 11.6471, 3.65647, (1.45098, -0.19608, -1.25490), id="unequal-at-rest"
    ),
    pytest.param(
        (3.70, 3.65, 3.60), (30, 33, 45), 15, 11.6471, 3.48176, (7.27451, 5.09804, 2.62745), id="unequal-at-15-A"
    ),
    pytest.param((3.75, 3.70), (30, 30), 0, 15.0, 3.7250, (0.83333, -0.83333), id="50-mV-over-60-mohm"),
    pytest.param((3.80, 3.70), (25, 35), 0, 14.5833, 3.758333, (1.66667, -1.66667), id="100-mV-over-60-mohm"),
    pytest.param((4.20, 3.00), (30, 30), 0, 15.0, 3.60, (20.0, -20.0), id="full-onto-empty"),
    pytest.param((4.10, 3.60, 3.60, 3.60), (40,) * 4, 0, 10.0, 3.725, (9.375, -3.125, -3.125, -3.125), id="1-onto-3"),
]


@pytest.mark.parametrize(("rest", "resistance", "drawn", "ohms", "bus", "branches"), GROUPS)
def test_a_parallel_group(
    rest: tuple[float, ...],
    resistance: tuple[float, ...],
    drawn: float,
    ohms: float,
    bus: float,
    branches: tuple[float, ...],
) -> None:
    cells, inside = volts(*rest), milliohms(*resistance)
    assert group_resistance(inside).to("mΩ").magnitude == pytest.approx(ohms, abs=5e-5)
    assert bus_voltage(cells, inside, amps(drawn)).to("V").magnitude == pytest.approx(bus, abs=5e-6)
    currents = [branch.to("A").magnitude for branch in branch_currents(cells, inside, amps(drawn))]
    assert currents == pytest.approx(branches, abs=5e-5)
    assert sum(currents) == pytest.approx(drawn, abs=1e-9)


def test_ten_groups_of_three_with_their_links() -> None:
    assert pack_resistance([milliohms(30, 30, 30)] * 10).to("mΩ").magnitude == pytest.approx(100.0)
    linked = pack_resistance([milliohms(30, 30, 30)] * 10, milliohms(*[1] * 11))
    assert linked.to("mΩ").magnitude == pytest.approx(111.0)


def test_four_groups_of_two() -> None:
    pairs = [milliohms(40, 44), milliohms(42, 46), milliohms(38, 50), milliohms(40, 40)]
    singles = [group_resistance(pair).to("mΩ").magnitude for pair in pairs]
    assert singles == pytest.approx([20.9524, 21.9545, 21.5909, 20.0000], abs=5e-5)
    assert pack_resistance(pairs).to("mΩ").magnitude == pytest.approx(84.4978, abs=5e-5)


def test_two_cells_come_to_rest() -> None:
    three = ureg.Quantity(3, "Ah")
    rest = settling(ureg.Quantity(-50, "mV"), ureg.Quantity(60, "mΩ"), (three, three), ureg.Quantity(0.7, "V"))
    assert rest.time_constant.to("s").magnitude == pytest.approx(462.86, abs=0.005)
    assert rest.charge.to("Ah").magnitude == pytest.approx(0.10714, abs=5e-6)
    assert rest.heat.to("J").magnitude == pytest.approx(9.643, abs=5e-4)


def test_nothing_settles_over_no_resistance() -> None:
    three = ureg.Quantity(3, "Ah")
    with pytest.raises(ImpossibleValue):
        settling(ureg.Quantity(50, "mV"), ureg.Quantity(0, "mΩ"), (three, three), ureg.Quantity(0.7, "V"))


@pytest.mark.parametrize("place", range(4))
def test_one_cell_of_4_10_v_among_three_of_3_60_v(place: int) -> None:
    rest = [3.60] * 4
    rest[place] = 4.10
    worst = largest_joining_current(volts(*rest), milliohms(40, 40, 40, 40))
    assert worst.current.to("A").magnitude == pytest.approx(9.375)
    assert (worst.cell_index, worst.into_cell) == (place, False)


def test_one_empty_cell_among_full_ones_is_charged() -> None:
    worst = largest_joining_current(volts(4.10, 4.10, 3.60, 4.10), milliohms(40, 40, 40, 40))
    assert worst.current.to("A").magnitude == pytest.approx(9.375)
    assert (worst.cell_index, worst.into_cell) == (2, True)


def test_a_part_of_the_group_can_be_worse_than_the_whole() -> None:
    """By hand: 1.2 V over 30 + 30/3 mΩ is 30 A; once the 3.60 V cell is on too, 0.84 V over 30 mΩ is 28 A."""
    rest, inside = volts(4.20, 3.00, 3.00, 3.00, 3.60), milliohms(30, 30, 30, 30, 30)
    assert joining_current_against_group(rest, inside, 0).to("A").magnitude == pytest.approx(28.0)
    worst = largest_joining_current(rest, inside)
    assert worst.current.to("A").magnitude == pytest.approx(30.0)
    assert (worst.cell_index, worst.into_cell) == (0, False)


def test_equal_cells_join_without_current() -> None:
    worst = largest_joining_current(volts(3.62, 3.62, 3.62), milliohms(20, 30, 40))
    assert worst.current.to("A").magnitude == pytest.approx(0, abs=1e-9)


def test_a_single_cell_joins_nothing() -> None:
    assert largest_joining_current(volts(3.62), milliohms(20)).current.to("A").magnitude == 0
    assert joining_current_against_group(volts(3.62), milliohms(20), 0).to("A").magnitude == 0


def exact_bus(cells: tuple[tuple[int, int], ...]) -> Fraction:
    """Nodal analysis in exact fractions: the voltage in mV at which the currents of all cells (mV, mΩ) cancel."""
    driven = sum((Fraction(mv, mohm) for mv, mohm in cells), Fraction())
    return driven / sum((Fraction(1, mohm) for _, mohm in cells), Fraction())


def worst_by_every_order(cells: list[tuple[int, int]]) -> Fraction:
    """Join the cells one after another in every order and note the largest current (A) any cell ever carries."""
    worst = Fraction(0)
    for order in permutations(cells):
        for joined in range(2, len(order) + 1):
            present = order[:joined]
            bus = exact_bus(present)
            worst = max(worst, *(abs(mv - bus) / mohm for mv, mohm in present))
    return worst


CELLS = st.lists(st.tuples(st.integers(2500, 4250), st.integers(1, 120)), min_size=2, max_size=5)


@given(cells=CELLS)
def test_the_worst_joining_current_is_that_of_the_worst_order(cells: list[tuple[int, int]]) -> None:
    found = largest_joining_current(volts(*(mv / 1000 for mv, _ in cells)), milliohms(*(mohm for _, mohm in cells)))
    assert found.current.to("A").magnitude == pytest.approx(float(worst_by_every_order(cells)), abs=1e-9)


@given(cells=CELLS)
def test_a_cell_joined_last_carries_what_the_whole_group_gives_it(cells: list[tuple[int, int]]) -> None:
    """Thévenin's theorem: the others, as one source, drive the same current as all solved together."""
    rest, inside = volts(*(mv / 1000 for mv, _ in cells)), milliohms(*(mohm for _, mohm in cells))
    together = [branch.to("A").magnitude for branch in equalising_currents(rest, inside)]
    last = [joining_current_against_group(rest, inside, place).to("A").magnitude for place in range(len(cells))]
    assert last == pytest.approx(together, abs=1e-9)
    assert sum(together) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("resistances", [[], milliohms(0), milliohms(30, -1), milliohms(nan)])
def test_resistances_lie_above_zero(resistances: list[Quantity]) -> None:
    with pytest.raises(ImpossibleValue):
        group_resistance(resistances)


@pytest.mark.parametrize(("rest", "resistances"), [((3.6, 3.6), (30,)), ((nan, 3.6), (30, 30)), ((), ())])
def test_lists_that_do_not_describe_a_group_are_refused(
    rest: tuple[float, ...], resistances: tuple[float, ...]
) -> None:
    for solve in (bus_voltage, equalising_currents, largest_joining_current):
        with pytest.raises(ImpossibleValue):
            solve(volts(*rest), milliohms(*resistances))


def test_four_cells_of_3_62_v_as_2s2p_give_7_24_v() -> None:
    """A fact of the trade: two groups in series, each as high as one of its cells (common practice, no source)."""
    group = bus_voltage(volts(3.62, 3.62), milliohms(18, 22))
    taps = [tap.to("V").magnitude for tap in tap_voltages([group, group])]
    assert taps == pytest.approx([3.62, 7.24])


def test_taps_climb_from_the_negative_end() -> None:
    taps = [tap.to("V").magnitude for tap in tap_voltages([*volts(3.6, 3.7), ureg.Quantity(3800, "mV")])]
    assert taps == pytest.approx([3.6, 7.3, 11.1])


@pytest.mark.parametrize(
    ("errors", "expected"),
    [((), 0), ((0.02, 0.03), 0.05), ((0.05, 0.05), 0.1), ((0.08, 0.04), 0.12), ((-0.08, 0.04), 0.12)],
)
def test_errors_of_meters_are_added_plainly(errors: tuple[float, ...], expected: float) -> None:
    """Common practice, no source."""
    assert meters_error(volts(*errors)).to("V").magnitude == pytest.approx(expected)


@pytest.mark.parametrize(
    ("difference", "limit", "expected"),
    [
        ("99.999", "100", True),
        ("100", "100", True),
        ("-100", "100", True),
        ("100.001", "100", False),
        ("-100.001", "100", False),
        ("NaN", "100", False),
        ("0", "NaN", False),
    ],
)
def test_agreement_is_exact_to_the_limit(difference: str, limit: str, expected: bool) -> None:
    assert agrees(Decimal(difference), Decimal(limit)) is expected
