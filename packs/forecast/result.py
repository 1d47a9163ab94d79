"""A forecast: voltages over time, what ended it, and what was given, lost and left."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from packs.forecast.slow import Floats
from packs.forecast.state import State
from packs.units import Quantity, ureg


class End(StrEnum):
    """What ended a forecast."""

    END_OF_DISCHARGE = "a group reached its end of discharge"
    EMPTY = "a group has given what it can at this current"
    CHARGED = "the charging current fell to its end"
    POWER = "the pack cannot give that power any more"
    TIME = "the time was over"


@dataclass(frozen=True, eq=False)
class Forecast:
    """A pack over time; charge, energy and current count positive in discharge.

    Attributes
    ----------
    seconds, amps : array of float, shape (times,)
        Time since the start [s] and current at the connector [A].
    group_volts : array of float, shape (times, series)
        Voltage of each group [V].
    path_ohm : float
        In series with the groups [Ω].
    ended_by : End
        Why it ended.
    ending_group : int or None
        Index, from the negative end, of the group that ended it.
    charge, energy, heat : Quantity
        Given at the connector [Ah], [Wh], and lost in the pack [Wh].
    charge_error : Quantity
        Largest difference, over the groups, between the charge that left its cells and that given [C].
    state : State
        Where the cells stand at the end; another forecast can go on from there.
    """

    seconds: Floats
    amps: Floats
    group_volts: Floats
    path_ohm: float
    ended_by: End
    ending_group: int | None
    charge: Quantity
    energy: Quantity
    heat: Quantity
    charge_error: Quantity
    state: State

    @property
    def times(self) -> Quantity:
        """Since the start [s], shape (times,)."""
        return ureg.Quantity(self.seconds, "s")

    @property
    def currents(self) -> Quantity:
        """At the connector [A], shape (times,)."""
        return ureg.Quantity(self.amps, "A")

    @property
    def group_voltages(self) -> Quantity:
        """[V], shape (times, series)."""
        return ureg.Quantity(self.group_volts, "V")

    @property
    def terminal_voltages(self) -> Quantity:
        """At the connector [V], shape (times,)."""
        return ureg.Quantity(self.group_volts.sum(axis=1) - self.amps * self.path_ohm, "V")

    @property
    def spreads(self) -> Quantity:
        """Highest less lowest group [V], shape (times,)."""
        return ureg.Quantity(np.ptp(self.group_volts, axis=1), "V")

    @property
    def duration(self) -> Quantity:
        """From start to end [h]."""
        return ureg.Quantity(float(self.seconds[-1]), "s").to("hour")
