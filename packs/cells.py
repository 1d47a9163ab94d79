"""Cells as frozen facts: what a model's data sheet says, what was measured on one cell."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from packs.terms import CellFormat, Chemistry, Terminals
from packs.units import Quantity, ureg

REST_ABOVE_CHARGE_LIMIT = ureg.Quantity(0.5, "V")
"""How far above its charge limit a cell may be read at rest before the reading is disbelieved; common practice, no source."""


CHARGE_TOLERANCE = ureg.Quantity(0.05, "V")
"""What a charger may be off without harm to the cell.

IEC 62133-2:2017, Annex A, as recalled: the upper limit of 4.25 V is a charge limit of 4.20 V and 0.05 V of tolerance.
"""


@dataclass(frozen=True)
class CellModelData:
    """A cell model as its data sheet gives it; ``None`` means the sheet does not say.

    Attributes
    ----------
    rated_capacity : Quantity or None
        [charge, such as mAh]
    nominal_voltage, charge_limit, end_of_discharge : Quantity or None
        Per cell [voltage].
    max_charge_current, max_discharge_current : Quantity or None
        Continuous, per cell [current].
    diameter, height, width, thickness : Quantity or None
        [length]; a round cell has a diameter, the other formats width and thickness.
    mass : Quantity or None
        [mass]
    """

    name: str
    chemistry: Chemistry
    format: CellFormat
    terminals: Terminals
    rated_capacity: Quantity | None = None
    nominal_voltage: Quantity | None = None
    charge_limit: Quantity | None = None
    end_of_discharge: Quantity | None = None
    max_charge_current: Quantity | None = None
    max_discharge_current: Quantity | None = None
    diameter: Quantity | None = None
    height: Quantity | None = None
    width: Quantity | None = None
    thickness: Quantity | None = None
    mass: Quantity | None = None


_ABOVE_CHARGE_LIMIT: Mapping[Chemistry, float] = MappingProxyType(
    dict.fromkeys((Chemistry.LCO, Chemistry.NMC, Chemistry.NCA, Chemistry.LMO), 0.05)
    | {Chemistry.LFP: 0.15, Chemistry.LTO: 0.10}
)


def highest_ever(chemistry: Chemistry, charge_limit: Quantity) -> Quantity | None:
    """Return the most that a cell may ever have [V], for when its data sheet gives no absolute maximum.

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell; None is returned for one that is not lithium-ion.
    charge_limit : Quantity
        Of the data sheet [voltage].

    References
    ----------
    IEC 62133-2:2017, Annex A: 4.25 V for the class charged to 4.20 V (from memory); iron phosphate and titanate:
    common practice, no source.

    Examples
    --------
    >>> str(highest_ever(Chemistry.NMC, ureg.Quantity(4.2, "V")))
    '4.25 volt'
    """
    above = _ABOVE_CHARGE_LIMIT.get(chemistry)
    return None if above is None else ureg.Quantity(round(float(charge_limit.m_as("V")) + above, 6), "V")


@dataclass(frozen=True)
class Cell:
    """One cell by its code, with the readings that count for it; ``None`` means not measured."""

    code: str
    capacity: Quantity | None = None
    rest_voltage: Quantity | None = None
    dc_resistance: Quantity | None = None


REVERSED = ureg.Quantity(-1.5, "V")
"""How far below zero a reversed nickel cell may be read; common practice, no source."""


def is_possible_at_rest(voltage: Quantity, charge_limit: Quantity, *, nickel: bool = False) -> bool:
    """Whether a single cell can rest at a voltage: from 0 V up to 0.5 V above its charge limit.

    A nickel cell may have been reversed by its neighbours and rest below zero.

    Beyond that it is the probes, the meter's range or the typing that is wrong, not the cell.

    Parameters
    ----------
    voltage : Quantity
        Rest voltage that was read [voltage].
    charge_limit : Quantity
        Of the cell's data sheet [voltage].
    nickel : bool
        Whether it is a nickel cell.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_possible_at_rest(ureg.Quantity(16, "V"), ureg.Quantity(4.2, "V"))
    False
    """
    highest = round((charge_limit + REST_ABOVE_CHARGE_LIMIT).m_as("mV"), 3)
    lowest = REVERSED.m_as("mV") if nickel else 0
    return bool(lowest <= round(voltage.m_as("mV"), 3) <= highest)
