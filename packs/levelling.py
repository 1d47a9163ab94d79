"""Levelling single cells before they are joined: where they belong, how far they may lie, and how fast they are brought."""

from collections.abc import Sequence

import numpy as np

from packs.chemistry import LEAST_REST, curves_of, state_of_charge
from packs.errors import MissingFact
from packs.terms import LITHIUM_ION, Chemistry
from packs.units import Quantity, ureg

GENTLE = 0.1
"""Of the rated capacity an hour: so fast a single cell is brought up or down on the bench; common practice, no source."""

ALIKE = 0.05
"""Share of the full charge within which cells count as equally charged; common practice, no source."""


def equally_charged(chemistry: Chemistry, voltages: Sequence[Quantity]) -> bool:
    """Whether rest voltages [voltage] show that all these cells hold the same charge: all full, all empty.

    Parameters
    ----------
    chemistry : Chemistry
        Of all of them.
    voltages : sequence of Quantity
        After a rest, one at least [voltage].

    References
    ----------
    Common practice, no source: the least and the most charge that fits any of them (``chemistry.state_of_charge``) lie no
    further apart than ALIKE.

    Examples
    --------
    >>> equally_charged(Chemistry.LFP, [ureg.Quantity(mv, "mV") for mv in (3290, 3298)])
    False
    >>> equally_charged(Chemistry.LFP, [ureg.Quantity(mv, "mV") for mv in (3460, 3480)])
    True
    """
    try:
        found = [state_of_charge(chemistry, volts, LEAST_REST) for volts in (min(voltages), max(voltages))]
    except MissingFact:
        return False
    return max(one.high for one in found) - min(one.low for one in found) <= ALIKE


def unequally_charged(chemistry: Chemistry, voltages: Sequence[Quantity]) -> bool:
    """Whether rest voltages [voltage] show that these cells cannot all hold the same charge.

    Parameters
    ----------
    chemistry : Chemistry
        Of all of them.
    voltages : sequence of Quantity
        After a rest, one at least [voltage].

    References
    ----------
    Common practice, no source: no charge fits both the lowest and the highest (``chemistry.state_of_charge``).

    Examples
    --------
    >>> unequally_charged(Chemistry.LFP, [ureg.Quantity(mv, "mV") for mv in (3000, 3298)])
    True
    >>> unequally_charged(Chemistry.LFP, [ureg.Quantity(mv, "mV") for mv in (3290, 3298)])
    False
    """
    try:
        lowest, highest = (state_of_charge(chemistry, volts, LEAST_REST) for volts in (min(voltages), max(voltages)))
    except MissingFact:
        return False
    return highest.low > lowest.high


def gentle_current(rated_capacity: Quantity) -> Quantity:
    """Current at which a single cell is brought up or down on the bench [A].

    Parameters
    ----------
    rated_capacity : Quantity
        Of the cell [charge].

    References
    ----------
    Common practice, no source: a tenth of the rated capacity an hour.

    Examples
    --------
    >>> print(gentle_current(ureg.Quantity(2600, "mAh")))
    0.26 ampere
    """
    return (rated_capacity * ureg.Quantity(GENTLE, "1/hour")).to("A")


def middle(voltages: Sequence[Quantity]) -> Quantity:
    """Where all of them belong: the middle of their rest voltages [mV], so that few are moved.

    Parameters
    ----------
    voltages : sequence of Quantity
        Rest voltages, one at least [voltage].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> print(middle([ureg.Quantity(mv, "mV") for mv in (3620, 3900, 3610)]))
    3620.0 millivolt
    """
    return ureg.Quantity(float(np.median([float(volts.to("mV").magnitude) for volts in voltages])), "mV")


def may_lie_apart(spread: Quantity, largest_current: Quantity | None, lowest_resistance: Quantity | None) -> Quantity:
    """How far a cell may lie from the middle [mV]: two at opposite ends still keep the spread and the current.

    The current counts against the lowest resistance of all, as if the rest of its group had none.

    Parameters
    ----------
    spread : Quantity
        Allowed between the highest and the lowest [voltage].
    largest_current : Quantity or None
        Allowed into a cell [current].
    lowest_resistance : Quantity or None
        Of any of the cells [resistance].

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> print(may_lie_apart(ureg.Quantity(50, "mV"), ureg.Quantity(2.6, "A"), ureg.Quantity(10, "mohm")))
    13.0 millivolt
    """
    apart = spread.to("mV")
    if largest_current is not None and lowest_resistance is not None:
        apart = min(apart, (largest_current * lowest_resistance).to("mV"))
    return apart / 2


def charge_between(chemistry: Chemistry, one: Quantity, other: Quantity, capacity: Quantity) -> Quantity | None:
    """Most charge that lies between two rest voltages, in the unit of the capacity such as [mAh].

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell.
    one, other : Quantity
        Rest voltages, in any order [voltage].
    capacity : Quantity
        Of the cell [charge].

    Returns
    -------
    Quantity or None
        None where no curve of the chemistry is known, or the curves say nothing there.

    References
    ----------
    Common practice, no source: of several published curves (``chemistry.curves_of``) the one with most between counts.

    Examples
    --------
    >>> at = ureg.Quantity(3.9, "V"), ureg.Quantity(3.62, "V")
    >>> charge = charge_between(Chemistry.NMC, *at, ureg.Quantity(2600, "mAh"))
    >>> 0 < charge.to("mAh").magnitude < 2600
    True
    >>> charge_between(Chemistry.NIMH, *at, ureg.Quantity(2600, "mAh")) is None
    True
    """
    if chemistry not in LITHIUM_ION:
        return None
    try:
        curves = curves_of(chemistry)
    except MissingFact:
        return None
    most = max((abs(curve.state(one) - curve.state(other)) for curve in curves), default=0.0)
    return capacity * most if most > 0 else None
