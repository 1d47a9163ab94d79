"""What draws on a pack: a current, a power or a resistor."""

from dataclasses import dataclass
from math import isfinite, nan, sqrt
from typing import Protocol

from packs.errors import ImpossibleValue
from packs.units import Quantity


class Load(Protocol):
    """Something that settles the current from what a pack offers."""

    def amps(self, volt: float, ohm: float) -> float:
        """Return the current [A] out of a source [V] behind a resistance [Ω]; NaN where it cannot be had."""


@dataclass(frozen=True)
class ConstantCurrent:
    """A load that draws the same current all the time [current]; zero is rest."""

    current: Quantity

    def __post_init__(self) -> None:
        _at_least_zero(self.current, "A")

    def amps(self, volt: float, ohm: float) -> float:
        """Return the current [A]."""
        return float(self.current.to("A").magnitude)


@dataclass(frozen=True)
class ConstantPower:
    """A load that draws the same power at the connector all the time, such as a converter [power].

    From P = (V − I·R)·I: I = 2P / (V + √(V² − 4PR)), the smaller of the two currents.
    """

    power: Quantity

    def __post_init__(self) -> None:
        _at_least_zero(self.power, "W")

    def amps(self, volt: float, ohm: float) -> float:
        """Return the current [A]; NaN beyond the power V²/4R, the most a source gives."""
        watts = float(self.power.to("W").magnitude)
        under = volt**2 - 4 * watts * ohm
        return 2 * watts / (volt + sqrt(under)) if under >= 0 and volt > 0 else nan


@dataclass(frozen=True)
class ConstantResistance:
    """A resistor at the connector [resistance]: I = V / (R_load + R)."""

    resistance: Quantity

    def __post_init__(self) -> None:
        _at_least_zero(self.resistance, "ohm")

    def amps(self, volt: float, ohm: float) -> float:
        """Return the current [A]."""
        return volt / (float(self.resistance.to("ohm").magnitude) + ohm)


def _at_least_zero(quantity: Quantity, unit: str) -> None:
    number = float(quantity.to(unit).magnitude)
    if not (isfinite(number) and number >= 0):
        raise ImpossibleValue("A load is a number of zero or more.")
