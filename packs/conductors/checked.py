"""Quantities in, checked numbers out: the door of the conductor functions."""

from math import isfinite

from packs.errors import ImpossibleValue
from packs.units import Quantity


def above_zero(quantity: Quantity, unit: str, what: str) -> float:
    """Return a finite number above zero in the given unit [any], or refuse and name what it should have been.

    Raises
    ------
    ImpossibleValue
        The quantity is zero, below, or not a number.
    """
    number = float(quantity.to(unit).magnitude)
    if not (isfinite(number) and number > 0):
        raise ImpossibleValue(f"{what} is a number above zero.")
    return number


def zero_or_more(quantity: Quantity, unit: str, what: str) -> float:
    """Return a finite number of zero or more in the given unit [any], or refuse and name what it should have been.

    Raises
    ------
    ImpossibleValue
        The quantity is below zero or not a number.
    """
    number = float(quantity.to(unit).magnitude)
    if not (isfinite(number) and number >= 0):
        raise ImpossibleValue(f"{what} is a number of zero or more.")
    return number


def size_of(current: Quantity) -> float:
    """Return the size of a current [A] without its direction, or refuse what is not a number."""
    amps = abs(float(current.to("ampere").magnitude))
    if not isfinite(amps):
        raise ImpossibleValue("A current is a number.")
    return amps
