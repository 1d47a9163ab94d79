"""State of charge from a rest voltage: always a range, on a flat curve a wide one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

import numpy as np

from packs.chemistry.curves import curves_of
from packs.chemistry.ocv import Floats, OcvCurve
from packs.errors import ImpossibleValue, MissingFact
from packs.sources import SOURCES, Source
from packs.terms import Chemistry
from packs.units import Quantity, ureg

LEAST_REST = ureg.Quantity(1.0, "hour")
"""Rest before a voltage counts as a rest voltage; ``SOURCES``: rest."""

WIDE = 0.25
"""From this width on a range says so; a choice of ours."""

# How far published curves of a chemistry lie from the nearest of those here [V], by state of charge: a cell in hand may
# lie as far off. NMC and NCA: five cells, 65 mV between references of one and the same cell at 50 %, 125 mV at 25 %.
# LCO: three cells. LFP: one other cell, below 25 % of charge further.
_APART: Mapping[Chemistry, tuple[tuple[float, ...], tuple[float, ...]]] = MappingProxyType(
    {
        Chemistry.NMC: ((0.25, 0.5), (0.125, 0.065)),
        Chemistry.NCA: ((0.25, 0.5), (0.125, 0.065)),
        Chemistry.LCO: ((0.5, 0.9), (0.082, 0.115)),
        Chemistry.LFP: ((0.0,), (0.075,)),
    }
)
_STATES = np.linspace(0.0, 1.0, 1001)


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
    each by as much as published curves differ, and by the error of the meter. Valid near 25 °C, and for LFP above a
    quarter of the charge.

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
    Rest of 1 h before a voltage counts, as in DOE/ID-11069 (2003); ``SOURCES``: curves_differ; the curves, as in
    ``curves_of``.

    Examples
    --------
    >>> hours = ureg.Quantity(4, "hour")
    >>> nmc = state_of_charge(Chemistry.NMC, ureg.Quantity(3.74, "V"), hours)
    >>> f"{nmc.low:.2f} to {nmc.high:.2f}", nmc.flat
    ('0.37 to 0.58', False)
    >>> lfp = state_of_charge(Chemistry.LFP, ureg.Quantity(3.30, "V"), hours)
    >>> f"{lfp.low:.2f} to {lfp.high:.2f}", lfp.flat
    ('0.17 to 0.99', True)
    """
    _refuse_short_rest(rested)
    volts = float(rest_voltage.to("V").magnitude)
    off = 0.0 if meter_error is None else float(meter_error.to("V").magnitude)
    if not (isfinite(volts) and isfinite(off) and off >= 0):
        raise ImpossibleValue("A rest voltage is a number, and its error not below zero.")
    curves = curves_of(chemistry)
    lower, upper = _envelope(chemistry, curves)
    low = float(np.interp(volts - off, upper, _STATES))
    high = float(np.interp(volts + off, lower, _STATES))
    said = tuple(dict.fromkeys(curve.source for curve in curves))
    return ChargeRange(low, high, high - low >= WIDE, (*said, SOURCES["curves_differ"], SOURCES["rest"]))


def highest_rest(chemistry: Chemistry, charge: float) -> Quantity:
    """Return the highest rest voltage at which at most so much charge, from 0 to 1, is left [V].

    The other way round to the upper end of ``state_of_charge``, with the same curves and their differences.

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell.
    charge : float
        Share of the full charge [dimensionless].

    Raises
    ------
    MissingFact
        No curve of the chemistry is known.

    References
    ----------
    As ``state_of_charge``: rest of 1 h before a voltage counts, as in DOE/ID-11069 (2003); ``SOURCES``:
    curves_differ; the curves, as in ``curves_of``.

    Examples
    --------
    >>> f"{highest_rest(Chemistry.NMC, 0.30).magnitude:.2f}"
    '3.41'
    """
    lower, _ = _envelope(chemistry, curves_of(chemistry))
    return ureg.Quantity(float(np.interp(charge, _STATES, lower)), "volt")


def _envelope(chemistry: Chemistry, curves: Sequence[OcvCurve]) -> tuple[Floats, Floats]:
    """Lowest and highest rest voltage of any cell of a chemistry over the state of charge [V]; both rise."""
    apart = np.interp(_STATES, *_APART[chemistry])
    volts = np.array([np.interp(_STATES, *curve.points[:2]) for curve in curves])
    lower, upper = volts.min(axis=0) - apart, volts.max(axis=0) + apart
    return np.minimum.accumulate(lower[::-1])[::-1], np.maximum.accumulate(upper)


def _refuse_short_rest(rested: Quantity | None) -> None:
    if rested is None:
        raise MissingFact("How long the cell rested is not known; without it a voltage gives no state of charge.")
    if not rested >= LEAST_REST:
        raise MissingFact("The cell rested for less than an hour; its voltage gives no state of charge yet.")
