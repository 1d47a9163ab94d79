"""The pack as fault finding sees it: what is known of it, and how far sound parts and meters may stray."""

from dataclasses import dataclass, field
from functools import cached_property
from math import isfinite

from packs.chemistry import limits
from packs.errors import ImpossibleValue
from packs.terms import Chemistry, Term
from packs.units import Quantity, ureg

NICKEL_HIGHEST = 1.6  # V, a nickel cell after charging: common practice, no source
OVERCHARGED = 1.0  # V above the charge limit, the highest a group is still read: common practice, no source
SPREAD, AGEING = 0.03, 0.02  # V, of sound groups among each other, and until the next day: common practice, no source
APART = 3.0
"""So many errors of the meter beyond what sound groups differ by, a group is named low, high or leaking.

Two are what readings of equal groups may differ by; up to four, what lies between is still explained as sound or as
faulty: the common level is known from other groups to no better than two. Derived here."""

# Up to which a joint or lead is sound; from there on it is resistive, so that nothing lies between the two. A weld adds
# tenths of a milliohm (Brand et al., J. Energy Storage 1 (2015) 7-14, from memory) and 20 mm of a thin nickel strip one
# to two and a half (ρ·L / (w·t)); a lead is up to 0.2 m of wire of 20 mΩ/m (ASTM B258) and a plug. The round figures
# above them: common practice, no source.
SOUND_JOINT = ureg.Quantity(5.0, "mΩ")
SOUND_LEAD = ureg.Quantity(10.0, "mΩ")

# A stack whose groups all resist more than this multiple of new ones is worn: a doubled resistance is usually taken for
# the end of a cell's life, and cold and a longer load add to it. Common practice, no source.
WORN_FROM = 3.0

# So far above its end of discharge, by share of it, a group's voltage falls steeply once current is drawn, and a worn
# one falls through. Common practice, no source.
NEAR_EMPTY = 0.14


class Switch(Term):
    """Which conductor the board opens."""

    LOW_SIDE = "low_side", "in the negative conductor"
    HIGH_SIDE = "high_side", "in the positive conductor"


@dataclass(frozen=True)
class Meter:
    """How far a reading may lie from the truth.

    Attributes
    ----------
    share : float
        Error by reading [dimensionless].
    offset : Quantity
        Error at any reading [mV].
    scatter : Quantity
        What the contact of the probes adds [mV].
    """

    share: float = 0.005
    offset: Quantity = field(default_factory=lambda: ureg.Quantity(2.0, "mV"))
    scatter: Quantity = field(default_factory=lambda: ureg.Quantity(5.0, "mV"))


@dataclass(frozen=True)
class PackModel:
    """What is known of a pack before anything is measured.

    Attributes
    ----------
    series : int
        Groups in series.
    chemistry : Chemistry
    group_resistance : Quantity
        DC resistance of one sound new group [mΩ], as ``packs.network.group_resistance`` gives it.
    load : Quantity
        The stated load, the same for every reading under load [A].
    wake_voltage : Quantity
        Below this voltage of the stack a board that has switched off stays off [V].
    switch : Switch
        Where the board switches.
    sensor_value : Quantity or None
        Resistance of the sensor at the bench's temperature [Ω]; None where there is none or it is not known.
    outlet_voltage : Quantity or None
        Of a regulated outlet [V]; None where the outlet carries the stack's voltage.
    tap_plug : bool
        Whether the groups come out on a plug, so that all are read in one go.
    load_stated : bool
        Whether the load is the technician's or follows from the cells, which stand it; where not, none is proposed.
    meter : Meter
    data_sheet_end : Quantity or None
        End of discharge of one cell by its data sheet [V]; None where the cell is not known, so that the chemistry's counts.
    """

    series: int
    chemistry: Chemistry
    group_resistance: Quantity
    load: Quantity
    wake_voltage: Quantity
    switch: Switch = Switch.HIGH_SIDE
    sensor_value: Quantity | None = None
    outlet_voltage: Quantity | None = None
    tap_plug: bool = True
    load_stated: bool = True
    meter: Meter = field(default_factory=Meter)
    data_sheet_end: Quantity | None = None

    def __post_init__(self) -> None:
        if self.series < 1:
            raise ImpossibleValue("A pack has at least one group.")
        for name, value in (
            ("resistance of a group", self.group_resistance.to("ohm")),
            ("load", self.load.to("A")),
            ("wake voltage", self.wake_voltage.to("V")),
        ):
            if not (isfinite(value.magnitude) and value.magnitude > 0):
                raise ImpossibleValue(f"The {name} is above zero.")

    @property
    def end_of_discharge(self) -> Quantity:
        """Of one group [V]: by the data sheet of its cells where that is known, else of the chemistry."""
        return self.data_sheet_end or limits(self.chemistry).require("end_of_discharge")

    @property
    def least_for_a_load(self) -> float:
        """Rest voltage [V] from which on a group stays above its end of discharge under the load though it is worn."""
        end = float(self.end_of_discharge.to("V").magnitude)
        worn = WORN_FROM * float((self.load * self.group_resistance).to("V").magnitude)
        return end + max(NEAR_EMPTY * end, worn)

    @cached_property
    def figures(self) -> "Figures":
        """The same in plain numbers [V], for the arrays."""
        return _figures(self)


@dataclass(frozen=True)
class Figures:
    """Bounds of what parts do, in volts at the stated load; the class of each bound is stated beside it.

    Nothing lies between sound and faulty that neither would explain; what the meter cannot tell apart there stays
    possible as both. Common practice, no source.
    """

    level: tuple[float, float]  # rest voltage of sound groups, common to all of them
    cut_off: float  # at or below it a board may switch off
    drop: tuple[float, float]  # sound group under load, common; old groups have a multiple of a new one's resistance
    joint_drop: float  # a sound joint under load at most, a resistive one at least
    lead_drop: float  # the same of a lead
    largest_drop: float  # what a part loses under load at most: all that the stack has
    highest: float  # of a group that is too high
    upper_lead: int  # place of the positive lead along the stack
    share: float
    offset: float
    wake: float
    outlet: float | None
    sensor_ohm: float | None
    least_off: float  # a low group below the common level at least, a high one above it
    least_loss: float  # a leaking group until the next day at least, any other at most
    spread: float = SPREAD  # a sound group from the common level, either way
    drop_spread: float = 0.25  # a sound group's drop from the common one, by share; beyond it a group is weak
    shorted_below: float = 0.35
    ageing: float = AGEING  # a sound group until the next day
    floating: float = 0.5  # what a meter shows across something open, if it settles
    path_drop: float = 0.6  # board and outlet on the way out, under load


def _figures(model: PackModel) -> Figures:
    found = limits(model.chemistry)
    high = float(found.charge_limit.to("V").magnitude) if found.charge_limit else NICKEL_HIGHEST
    cut_off = float(model.end_of_discharge.to("V").magnitude)
    new = float((model.load * model.group_resistance).to("V").magnitude)
    volts = model.outlet_voltage
    offset = float((model.meter.offset + model.meter.scatter).to("V").magnitude)
    apart = APART * (offset + model.meter.share * (cut_off + high) / 2)
    return Figures(
        level=(0.5 if found.charge_limit else 0.3, high + 0.05),
        cut_off=cut_off + 0.3,
        drop=(0.5 * new, WORN_FROM * new),
        joint_drop=float((model.load * SOUND_JOINT).to("V").magnitude),
        lead_drop=float((model.load * SOUND_LEAD).to("V").magnitude),
        largest_drop=max(model.series, 2) * (high + OVERCHARGED),
        highest=high + OVERCHARGED,
        upper_lead=2 * model.series,
        share=model.meter.share,
        offset=offset,
        least_off=SPREAD + apart,
        least_loss=AGEING + apart,
        wake=float(model.wake_voltage.to("V").magnitude),
        outlet=None if volts is None else float(volts.to("V").magnitude),
        sensor_ohm=None if model.sensor_value is None else float(model.sensor_value.to("ohm").magnitude),
    )
