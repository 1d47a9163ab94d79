"""Cells as frozen facts: what a model's data sheet says, what was measured on one cell."""

from dataclasses import dataclass

from packs.terms import CellFormat, Chemistry, Terminals
from packs.units import Quantity


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
