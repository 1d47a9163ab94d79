"""Quantities in, checked numbers out: the door of the network functions."""

from collections.abc import Sequence
from math import isfinite

from packs.errors import ImpossibleValue
from packs.units import Quantity


def volts_of(voltages: Sequence[Quantity]) -> list[float]:
    """Return finite volts, or refuse [V]."""
    volts = [float(voltage.to("V").magnitude) for voltage in voltages]
    if not all(isfinite(volt) for volt in volts):
        raise ImpossibleValue("A voltage in the list is not a number.")
    return volts


def ohms_of(resistances: Sequence[Quantity]) -> list[float]:
    """Return ohms above zero, at least one, or refuse [Ω]."""
    ohms = [float(resistance.to("ohm").magnitude) for resistance in resistances]
    if not ohms:
        raise ImpossibleValue("A group without cells has no resistance.")
    if not all(isfinite(ohm) and ohm > 0 for ohm in ohms):
        raise ImpossibleValue("The resistance of a cell lies above zero.")
    return ohms


def volts_and_ohms(voltages: Sequence[Quantity], resistances: Sequence[Quantity]) -> tuple[list[float], list[float]]:
    """Return volts and ohms of the same cells, or refuse [V], [Ω]."""
    if len(voltages) != len(resistances):
        raise ImpossibleValue(f"{len(voltages)} voltages do not belong to {len(resistances)} resistances.")
    return volts_of(voltages), ohms_of(resistances)
