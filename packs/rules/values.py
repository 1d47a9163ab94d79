"""Values and limits as exact decimals, so that 100 mV and 0.1 V are the same number."""

import math
from decimal import Decimal

from pint import DimensionalityError

from packs.errors import ImpossibleValue
from packs.rules.model import Bound, Limit, Rule
from packs.units import Kind, Quantity, ureg

NOT_A_NUMBER = Decimal("NaN")

# Stored unit of each kind and the step to which values are rounded before they are compared.
_COMPARED_IN: dict[Kind, tuple[str, Decimal]] = {
    Kind.VOLTAGE: ("millivolt", Decimal("0.001")),
    Kind.CURRENT: ("milliampere", Decimal("0.001")),
    Kind.CAPACITY: ("milliampere * hour", Decimal("0.001")),
    Kind.RESISTANCE: ("microohm", Decimal("0.001")),
    Kind.INSULATION: ("kiloohm", Decimal("0.001")),
    Kind.TEMPERATURE: ("degC", Decimal("0.000001")),
    Kind.FRACTION: ("percent", Decimal("0.001")),
    Kind.TIME: ("minute", Decimal("0.001")),
    Kind.TORQUE: ("millinewton * meter", Decimal("0.001")),
}


def exact(kind: Kind | None, value: Quantity | int) -> Decimal:
    """Number of stored units in a value, rounded to a thousandth of one; not a number where it is not finite [stored units]."""
    if isinstance(value, bool):  # a yes is not a count of one
        return NOT_A_NUMBER
    if isinstance(value, int):
        return Decimal(value)
    magnitude, step = _magnitude(kind, value)
    return Decimal(repr(magnitude)).quantize(step) if math.isfinite(magnitude) else NOT_A_NUMBER


def _magnitude(kind: Kind | None, value: Quantity | int | float) -> tuple[float, Decimal]:
    if isinstance(value, int | float):
        return float(value), Decimal("0.001")
    unit, step = _COMPARED_IN[kind] if kind in _COMPARED_IN else ("dimensionless", Decimal("0.001"))
    try:
        return float(value.to(unit).magnitude), step
    except DimensionalityError as error:
        raise ImpossibleValue(f"{value} is not a {kind.value if kind else 'yes or no'}") from error


def quantity(kind: Kind | None, value: Decimal) -> Quantity:
    """A number of stored units as a quantity [stored units]."""
    return ureg.Quantity(float(value), unit_of(kind))


def unit_of(kind: Kind | None) -> str:
    """Unit [stored unit] in which values of a kind are compared, and in which the shop's numbers are kept."""
    return _COMPARED_IN[kind][0] if kind in _COMPARED_IN else "dimensionless"


def bounds(rule: Rule, limit: Limit) -> tuple[Decimal, ...]:
    """Limit of a rule as exact numbers: low and high for a range, otherwise one [stored units]."""
    ends = limit if isinstance(limit, tuple) else (limit,)
    if (len(ends) == 2) is not (rule.bound is Bound.WITHIN):
        raise ImpossibleValue(f"{rule.id} takes {'a low and a high limit' if len(ends) == 1 else 'one limit'}")
    return tuple(exact(rule.kind, end) for end in ends)


def holds(bound: Bound, value: Decimal, limits: tuple[Decimal, ...]) -> bool:
    """Whether the value keeps its limit; asked so that a value that is not a number never does.

    Both in [stored units].
    """
    if value.is_nan() or any(limit.is_nan() for limit in limits):
        return False
    low, high = limits[0], limits[-1]
    answers = {
        Bound.AT_MOST: value <= high,
        Bound.AT_LEAST: value >= low,
        Bound.ABOVE: value > low,
        Bound.WITHIN: low <= value <= high,
        Bound.EQUALS: value == low,
    }
    return answers[bound]
