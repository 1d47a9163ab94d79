"""What is known of a cell that is to be graded."""

from dataclasses import dataclass

from packs.terms import CellProtection, Chemistry
from packs.units import Quantity


@dataclass(frozen=True)
class Measured:
    """One figure with what it was measured by; None is "not on record".

    Attributes
    ----------
    value : Quantity
        [any]
    method : str
        Such as "DC pulse 10 s"; only the same words are the same method.
    rate : Quantity or None
        Current by rated capacity [1/h]; of a capacity test.
    temperature : Quantity or None
        [°C]
    age : Quantity
        [d]
    calibrated : bool
        Whether calibration and check cells of the meter still held on that day.
    why_not : str
        Where they did not, what it was.
    """

    value: Quantity
    method: str = ""
    rate: Quantity | None = None
    temperature: Quantity | None = None
    age: Quantity | None = None
    calibrated: bool = True
    why_not: str = ""


@dataclass(frozen=True)
class CheckCell:
    """A cell whose health is known, tested on the same day on the same tester: what it reads too little, all do.

    Attributes
    ----------
    health : Quantity
        As known under the conditions of the criteria [%].
    health_that_day : Quantity
        As it read beside the cells [%].
    """

    health: Quantity
    health_that_day: Quantity


@dataclass(frozen=True)
class CellFacts:
    """A cell as its model and its readings have it.

    Attributes
    ----------
    rated : Quantity
        [capacity]
    end_of_discharge : Quantity
        Of the model [voltage].
    new_resistance : Measured or None
        Of a new cell of the model [resistance].
    fall : Measured or None
        How fast the rest voltage falls [mV/day].
    lot_fall : Quantity or None
        Median of the lot, of cells charged on the same day and kept in the same place [mV/day].
    held : Quantity or None
        How long the cell lay between the readings of the fall [d].
    at_the_cell : bool
        Whether the rest voltage was read at the can itself, behind a board that the cell may carry.
    drifts : bool
        Whether the reading wandered while the probes stood still.
    """

    chemistry: Chemistry
    rated: Quantity
    end_of_discharge: Quantity
    rest_voltage: Measured | None = None
    capacity: Measured | None = None
    resistance: Measured | None = None
    new_resistance: Measured | None = None
    fall: Measured | None = None
    lot_fall: Quantity | None = None
    held: Quantity | None = None
    protection: CellProtection = CellProtection.UNKNOWN
    at_the_cell: bool = True
    drifts: bool = False
    check_cell: CheckCell | None = None
