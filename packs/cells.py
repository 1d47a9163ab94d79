"""Cells as frozen facts: what a model's data sheet says, what was measured on one cell."""

from dataclasses import dataclass

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


@dataclass(frozen=True)
class Cell:
    """One cell by its code, with the readings that count for it; ``None`` means not measured."""

    code: str
    capacity: Quantity | None = None
    rest_voltage: Quantity | None = None
    dc_resistance: Quantity | None = None


def is_possible_at_rest(voltage: Quantity, charge_limit: Quantity) -> bool:
    """Whether a single cell can rest at a voltage: from 0 V up to 0.5 V above its charge limit.

    Beyond that it is the probes, the meter's range or the typing that is wrong, not the cell.

    Parameters
    ----------
    voltage : Quantity
        Rest voltage that was read [voltage].
    charge_limit : Quantity
        Of the cell's data sheet [voltage].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_possible_at_rest(ureg.Quantity(16, "V"), ureg.Quantity(4.2, "V"))
    False
    """
    highest = round((charge_limit + REST_ABOVE_CHARGE_LIMIT).m_as("mV"), 3)
    return bool(0 <= round(voltage.m_as("mV"), 3) <= highest)
