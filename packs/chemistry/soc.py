"""State of charge from a rest voltage: always a range, on a flat curve a wide one."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

from packs.chemistry.curves import curves_of
from packs.errors import ImpossibleValue, MissingFact
from packs.sources import SOURCES, Source
from packs.terms import Chemistry
from packs.units import Quantity, ureg

LEAST_REST = ureg.Quantity(1.0, "hour")
"""Rest before a voltage counts as a rest voltage; ``SOURCES``: rest."""

WIDE = 0.25
"""From this width on a range says so; a choice of ours."""

# How far published curves of one chemistry lie apart at 50 % [V]: 3.751 and 3.686 V for one 5 Ah NMC cell, 3.827 and
# 3.745 V for LCO, 3.299 and 3.266 V for LFP. A cell in hand may lie as far from any of them.
_APART: Mapping[Chemistry, float] = MappingProxyType(
    {Chemistry.NMC: 0.065, Chemistry.NCA: 0.065, Chemistry.LCO: 0.082, Chemistry.LFP: 0.033}
)


@dataclass(frozen=True)
class ChargeRange:
    """States of charge that fit a rest voltage.

    Attributes
    ----------
    low, high : float
        From 0 to 1.
    flat : bool
        The curve is so flat here that voltage says next to nothing.
    sources : tuple of Source
        The curves, how far they differ, the rest.
    """

    low: float
    high: float
    flat: bool
    sources: tuple[Source, ...]


def state_of_charge(
    chemistry: Chemistry, rest_voltage: Quantity, rested: Quantity | None, *, meter_error: Quantity | None = None
) -> ChargeRange:
    """Return the range of states of charge that a rest voltage allows, from 0 to 1.

    From the lowest that any published curve of the chemistry allows to the highest, where the voltage may lie off
    each by as much as published curves differ, and by the error of the meter. Valid near 25 °C.

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell; the same voltage means another charge in each.
    rest_voltage : Quantity
        Of one cell [voltage].
    rested : Quantity or None
        How long no current flowed [time].
    meter_error : Quantity, optional
        Largest error of the reading [voltage].

    Returns
    -------
    ChargeRange
        Never a point.

    Raises
    ------
    MissingFact
        The rest is not known or shorter than an hour, or no curve of the chemistry is known or says anything.
    ImpossibleValue
        A value is not a number, or the error is below zero.

    References
    ----------
    ``SOURCES``: rest, curves_differ, and those of ``curves_of``.

    Examples
    --------
    >>> hours = ureg.Quantity(4, "hour")
    >>> nmc = state_of_charge(Chemistry.NMC, ureg.Quantity(3.74, "V"), hours)
    >>> f"{nmc.low:.2f} to {nmc.high:.2f}", nmc.flat
    ('0.41 to 0.58', False)
    >>> lfp = state_of_charge(Chemistry.LFP, ureg.Quantity(3.30, "V"), hours)
    >>> f"{lfp.low:.2f} to {lfp.high:.2f}", lfp.flat
    ('0.27 to 0.82', True)
    """
    _refuse_short_rest(rested)
    volts = float(rest_voltage.to("V").magnitude)
    off = 0.0 if meter_error is None else float(meter_error.to("V").magnitude)
    if not (isfinite(volts) and isfinite(off) and off >= 0):
        raise ImpossibleValue("A rest voltage is a number, and its error not below zero.")
    curves = curves_of(chemistry)
    off += _APART[chemistry]
    low = min(curve.state(ureg.Quantity(volts - off, "V")) for curve in curves)
    high = max(curve.state(ureg.Quantity(volts + off, "V")) for curve in curves)
    said = tuple(dict.fromkeys(curve.source for curve in curves))
    return ChargeRange(low, high, high - low >= WIDE, (*said, SOURCES["curves_differ"], SOURCES["rest"]))


def _refuse_short_rest(rested: Quantity | None) -> None:
    if rested is None:
        raise MissingFact("How long the cell rested is not known; without it a voltage gives no state of charge.")
    if not rested >= LEAST_REST:
        raise MissingFact("The cell rested for less than an hour; its voltage gives no state of charge yet.")
