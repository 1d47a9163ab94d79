"""The short list of units against the unit library's own full list, which others keep."""

import pickle
from functools import cache
from typing import Any

import pint
import pytest

from packs.units import Quantity, ureg
from packs.units.kinds import FACTS, STORED

TYPED = {unit for facts in FACTS.values() for unit in facts.spellings.values()}
SHOWN = {step.unit for facts in FACTS.values() for step in facts.steps}
STORED_AS = {stored.column_unit for stored in STORED.values()}
IN_FORMULAS = {
    "V", "mV", "A", "mA", "Ah", "mAh", "Wh", "J", "W", "s", "hour", "K", "delta_degC", "ohm", "mΩ", "Ω", "milliohm",
    "microohm", "ohm*m", "ohm/m", "V/C", "mm", "m**2", "kg/m**3", "J/kg/K", "W/m/K", "W/m**2/K", "1/K", "ppm", "Hz",
    "S", "F", "H", "C", "N", "Pa", "kHz", "µm", "\u03bcm", "ft", "in", "1/hour", "ohm*m/K", "hours",
}  # fmt: skip


@cache
def full() -> Any:
    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", sorted(TYPED | SHOWN | STORED_AS | IN_FORMULAS))
def test_a_unit_means_what_the_full_list_says(unit: str) -> None:
    ours, theirs = ureg.Quantity(1.0, unit), full().Quantity(1.0, unit)
    assert str(ours) == str(theirs)
    assert f"{ours:~P}" == f"{theirs:~P}"
    assert dict(ours.dimensionality) == dict(theirs.dimensionality)
    base, expected = ours.to_base_units(), theirs.to_base_units()
    assert base.magnitude == pytest.approx(expected.magnitude, rel=1e-15)
    assert dict(base.unit_items()) == dict(expected.unit_items())


def test_a_quantity_comes_back_from_a_pickle_in_our_registry() -> None:
    back: Quantity = pickle.loads(pickle.dumps(ureg.Quantity(3.62, "V")))
    assert (back + ureg.Quantity(380, "mV")).to("V").magnitude == pytest.approx(4.0)


@pytest.mark.parametrize("name", ["parsec", "horsepower", "electron_volt", "hand"])
def test_what_the_bench_does_not_use_is_no_unit(name: str) -> None:
    with pytest.raises(pint.UndefinedUnitError):
        ureg.Quantity(1.0, name)
