"""What hardly any cell has. Every bound is common practice, no source; the cells are common ones, recalled from memory."""

import pytest

from packs import likely
from packs.terms import CellFormat
from packs.units import Quantity, ureg


def q(number: float, unit: str) -> Quantity:
    return ureg.Quantity(number, unit)


RATED = q(2600, "mAh")
NAN = float("nan")


@pytest.mark.parametrize(
    ("mah", "holds"),
    [(0, True), (129.99, False), (130, True), (2600, True), (3900, True), (3900.01, False), (NAN, False)],
)
def test_capacity_between_a_twentieth_and_half_as_much_again(mah: float, holds: bool) -> None:
    assert likely.is_likely_capacity(q(mah, "mAh"), RATED) is holds
    assert likely.is_likely_capacity(q(mah / 1000, "Ah"), RATED.to("Ah")) is holds


@pytest.mark.parametrize(
    ("mohm", "holds"), [(0.384, False), (0.385, True), (45, True), (3846, True), (3847, False), (NAN, False)]
)
def test_resistance_by_size_of_the_cell(mohm: float, holds: bool) -> None:
    """0.001 and 10 Ω·Ah over 2.6 Ah are 0.3846 mΩ and 3846.2 mΩ."""
    assert likely.is_likely_resistance(q(mohm, "mohm"), RATED) is holds


@pytest.mark.parametrize(
    ("mv", "holds"), [(0, True), (0.01, False), (9.99, False), (10, True), (3600, True), (-5, True)]
)
def test_rest_voltage_of_a_few_millivolts(mv: float, holds: bool) -> None:
    assert likely.is_likely_at_rest(q(mv, "mV")) is holds


@pytest.mark.parametrize(
    ("grams", "holds"), [(9.19, False), (9.2, True), (46, True), (230, True), (230.1, False), (0, False)]
)
def test_mass_within_five_times(grams: float, holds: bool) -> None:
    assert likely.is_likely_mass(q(grams, "g"), q(46, "g")) is holds


@pytest.mark.parametrize(
    ("mah", "volts", "kg", "holds"),
    [(2600, 3.6, 0.046, True), (280_000, 3.2, 5.4, True), (100_000, 2.0, 6.0, True), (2600, 3.6, 0.0187, False)],
    ids=["round lithium-ion", "prismatic LFP", "lead", "500.5 Wh/kg"],
)
def test_energy_by_mass(mah: float, volts: float, kg: float, holds: bool) -> None:
    assert likely.goes_with_mass(q(mah, "mAh") * q(volts, "V"), q(kg, "kg")) is holds


def test_energy_by_volume() -> None:
    """By hand: π/4 · 1.83² · 6.52 cm³ = 17.149 cm³ and 9.36 Wh, 546 Wh/l; 72 x 174 x 207 mm = 2.593 l and 896 Wh."""
    can = likely.cell_volume(CellFormat.ROUND, q(18.3, "mm"), None, q(65.2, "mm"))
    box = likely.cell_volume(CellFormat.PRISMATIC, q(72, "mm"), q(174, "mm"), q(207, "mm"))
    assert can is not None
    assert box is not None
    assert can.m_as("cm**3") == pytest.approx(17.149, abs=5e-4)
    assert box.m_as("l") == pytest.approx(2.593, abs=5e-4)
    assert likely.goes_with_volume(q(9.36, "Wh"), can)
    assert likely.goes_with_volume(q(896, "Wh"), box)
    assert not likely.goes_with_volume(q(9.36, "Wh"), can * 100)
    assert not likely.goes_with_volume(q(9.36, "Wh"), can / 10)
    assert likely.cell_volume(CellFormat.POUCH, q(5, "mm"), None, q(60, "mm")) is None


@pytest.mark.parametrize(("mah", "holds"), [(19.9, False), (20, True)])
def test_the_smallest_cell(mah: float, holds: bool) -> None:
    assert likely.is_likely_rated(q(mah, "mAh")) is holds
