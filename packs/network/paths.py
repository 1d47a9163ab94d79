"""Current of every part of a pack, with the drop and the loss that it makes."""

from dataclasses import dataclass

import numpy as np

from packs.network.circuit import Floats
from packs.units import Quantity, ureg


@dataclass(frozen=True, eq=False)
class Parts:
    """All parts of one kind: resistance [Ω] and current [A] of each, shape (parts,)."""

    ohm: Floats
    amps: Floats

    @property
    def resistances(self) -> Quantity:
        """[resistance]."""
        return ureg.Quantity(self.ohm, "ohm")

    @property
    def currents(self) -> Quantity:
        """[current]; NaN for strip below 1 nΩ, which shares its current in no definite way."""
        return ureg.Quantity(self.amps, "A")

    @property
    def drops(self) -> Quantity:
        """Voltage lost over each part in the direction of its current [voltage]."""
        return ureg.Quantity(np.nan_to_num(self.amps * self.ohm), "V")

    @property
    def losses(self) -> Quantity:
        """Heat of each part [power]."""
        return ureg.Quantity(self.watts, "W")

    @property
    def watts(self) -> Floats:
        """Heat of each part [W]."""
        return np.nan_to_num(self.amps**2 * self.ohm)


@dataclass(frozen=True, eq=False)
class CurrentPaths:
    """A pack under one current. Currents of cells, joints, tabs and leads count positive in discharge.

    Attributes
    ----------
    current : Quantity
        Drawn at the connector [current]; below zero when the pack is charged.
    terminal_voltage : Quantity
        At the connector [voltage].
    cells, joints, links : Parts
        In the order of ``Layout.cells``, ``Layout.joints`` and ``Layout.links``; links from first to second.
    tabs, leads : Parts
        Negative, positive.
    cell_voltages : Quantity, shape (cells,)
        At the terminals of each cell [voltage].
    """

    current: Quantity
    terminal_voltage: Quantity
    cells: Parts
    joints: Parts
    links: Parts
    tabs: Parts
    leads: Parts
    cell_voltages: Quantity
    rest_volts: Floats

    @property
    def source_power(self) -> Quantity:
        """Power that the cells' rest voltages drive [W]: what is delivered and what is lost."""
        return ureg.Quantity(float(self.rest_volts @ self.cells.amps), "W")

    @property
    def loss(self) -> Quantity:
        """Heat of all parts together [W]."""
        kinds = (self.cells, self.joints, self.links, self.tabs, self.leads)
        return ureg.Quantity(float(sum(parts.watts.sum() for parts in kinds)), "W")

    @property
    def delivered_power(self) -> Quantity:
        """Power at the connector [W]; below zero when the pack is charged."""
        return (self.terminal_voltage * self.current).to("W")
