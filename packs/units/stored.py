"""Columns and quantities: every stored number has the unit its measure names."""

from decimal import ROUND_HALF_EVEN, Decimal
from functools import cache
from math import isfinite

import pint

from packs.errors import ImpossibleValue
from packs.terms import Measure
from packs.units.kinds import STORED, Kind
from packs.units.registry import Quantity, ureg

THOUSANDTH = Decimal("0.001")
LARGEST = Decimal(10) ** 18


def measure_kind(measure: Measure) -> Kind:
    """Return the kind of quantity a measure is, such as voltage [V].

    References
    ----------
    SI Brochure.
    """
    return STORED[measure].kind


def measure_unit(measure: Measure) -> str:
    """Return the unit people type for a measure, such as V or mΩ; empty for a count.

    References
    ----------
    SI Brochure; which of its multiples a bench types: common practice, no source.
    """
    return STORED[measure].typed_unit


def of(measure: Measure, value: Decimal | int | float) -> Quantity:
    """Turn a stored number into a quantity.

    Stored units are [mV], [mA], [mAh], [mWh], [µΩ], [m°C] and [mg].

    Parameters
    ----------
    measure : Measure
        Names the stored unit: mAh, mWh, mV, mA, µΩ, µV/day, m°C, mg, mN·m, pieces.
    value : Decimal, int or float
        The stored number.

    Raises
    ------
    ImpossibleValue
        The number is not finite.

    References
    ----------
    SI Brochure.

    Examples
    --------
    >>> str(of(Measure.VOLTAGE, 3620).to("V"))
    '3.62 volt'
    """
    if not isfinite(value):
        raise ImpossibleValue(f"A stored {measure.label} of {value} cannot be.")
    if measure is Measure.TEMPERATURE:
        return ureg.Quantity(float(Decimal(value) / 1000), "degC")
    return ureg.Quantity(float(value), STORED[measure].column_unit)


def to(measure: Measure, quantity: Quantity) -> Decimal:
    """Turn a quantity into the number to store, rounded half-even to three decimals of the stored unit.

    The shortest decimal that gives the quantity's float back is scaled in decimal arithmetic, so what was typed as
    3.62 V is stored as exactly 3620. Stored units are [mV], [mA], [mAh], [mWh], [µΩ], [m°C] and [mg].

    Raises
    ------
    ImpossibleValue
        The quantity has another dimension than the measure, or is not finite.

    References
    ----------
    SI Brochure.

    Examples
    --------
    >>> to(Measure.VOLTAGE, ureg.Quantity(3.62, "V"))
    Decimal('3620')
    >>> to(Measure.TEMPERATURE, ureg.Quantity(298.15, "K"))
    Decimal('25000')
    """
    if not quantity.is_compatible_with(STORED[measure].column_unit):
        raise ImpossibleValue(f"{quantity} is not {measure.label}.")
    if not isfinite(quantity.magnitude):
        raise ImpossibleValue(f"A {measure.label} of {quantity} cannot be stored.")
    return _rounded(_scaled(measure, quantity))


def stored_unit(measure: Measure) -> str:
    """Return the unit of a measure's column; a temperature's column holds thousandths of the degC named here.

    References
    ----------
    SI Brochure.
    """
    return STORED[measure].column_unit


def amount(quantity: Quantity, unit: str) -> Decimal:
    """Return a quantity as a number of the given unit (thousandths of degC), rounded half-even to three decimals.

    For what has a column of its own and is not a measure of a reading, such as a strip's width in µm. Such as [µm] or
    [m°C].

    Raises
    ------
    ImpossibleValue
        The quantity has another dimension than the unit, or is not finite.

    References
    ----------
    SI Brochure.

    Examples
    --------
    >>> amount(ureg.Quantity(0.15, "mm"), "um")
    Decimal('150')
    """
    if not quantity.is_compatible_with(unit) or not isfinite(quantity.magnitude):
        raise ImpossibleValue(f"{quantity} cannot be stored in {unit}.")
    if unit == STORED[Measure.TEMPERATURE].column_unit:
        return to(Measure.TEMPERATURE, quantity)
    return _rounded(_decimal(quantity.magnitude) * _factor(quantity.units, unit))


def _scaled(measure: Measure, quantity: Quantity) -> Decimal:
    if measure is Measure.TEMPERATURE:
        return _decimal(quantity.to("degC").magnitude) * 1000
    return _decimal(quantity.magnitude) * _factor(quantity.units, STORED[measure].column_unit)


@cache
def _factor(unit: pint.Unit, column_unit: str) -> Decimal:
    """Return how many column units one unit is, freed from the noise of binary division."""
    return Decimal(f"{ureg.Quantity(1.0, unit).to(column_unit).magnitude:.15g}")


def _decimal(number: float) -> Decimal:
    return Decimal(repr(float(number)))


def _rounded(number: Decimal) -> Decimal:
    """Round to thousandths and drop trailing zeros without falling into exponents: 3620, not 3.62E+3."""
    if abs(number) > LARGEST:
        raise ImpossibleValue(f"{number:.3g} is more than a table holds.")
    return Decimal(f"{number.quantize(THOUSANDTH, ROUND_HALF_EVEN).normalize() + 0:f}")
