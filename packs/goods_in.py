"""Bought cells as they come in: a sample is held against the data sheet, and what cannot be holds the whole lot.

A cell that is lighter or smaller than its sheet, or gives more than its sheet or far less, is not the cell it is sold
as. Shares are common practice, no source; a shop that knows its supplier's tolerances goes by those.
"""

from dataclasses import dataclass

from packs.units import Kind, Quantity, show, ureg

DIGITS = 9
"""Places a share is rounded to, so that a number at its bound is at it, however it was stored."""

MASS_WITHIN = ureg.Quantity(5, "percent")
SIZE_WITHIN = ureg.Quantity(2, "percent")
LEAST_CAPACITY, MOST_CAPACITY = ureg.Quantity(90, "percent"), ureg.Quantity(110, "percent")
LEAST_RESISTANCE, MOST_RESISTANCE = ureg.Quantity(50, "percent"), ureg.Quantity(150, "percent")
"""How far a sample of new cells may lie from the data sheet: common practice, no source."""


@dataclass(frozen=True)
class Compared:
    """One measure of a sample beside what the data sheet says; None is "not known".

    Attributes
    ----------
    least, most : Quantity
        Share of the data sheet's value that still can be [%].
    """

    what: str
    kind: Kind
    found: Quantity | None
    stated: Quantity | None
    least: Quantity
    most: Quantity


def of_mass(found: Quantity | None, stated: Quantity | None) -> Compared:
    """Compare a weighed cell with its sheet [mass].

    References
    ----------
    Common practice, no source.
    """
    return _around("mass", Kind.MASS, found, stated, MASS_WITHIN)


def of_size(what: str, found: Quantity | None, stated: Quantity | None) -> Compared:
    """Compare a measured diameter or height with the sheet [length].

    References
    ----------
    Common practice, no source.
    """
    return _around(what, Kind.LENGTH, found, stated, SIZE_WITHIN)


def of_capacity(found: Quantity | None, rated: Quantity) -> Compared:
    """Compare a measured capacity with the rated one [capacity].

    References
    ----------
    Common practice, no source.
    """
    return Compared("capacity", Kind.CAPACITY, found, rated, LEAST_CAPACITY, MOST_CAPACITY)


def of_resistance(found: Quantity | None, new: Quantity | None) -> Compared:
    """Compare a DC resistance with that of a new cell, measured alike [resistance].

    References
    ----------
    Common practice, no source.
    """
    return Compared("DC resistance", Kind.RESISTANCE, found, new, LEAST_RESISTANCE, MOST_RESISTANCE)


def _around(what: str, kind: Kind, found: Quantity | None, stated: Quantity | None, within: Quantity) -> Compared:
    whole = ureg.Quantity(100, "percent")
    return Compared(what, kind, found, stated, whole - within, whole + within)


def doubt(one: Compared, *, locale: str = "en") -> str:
    """Say why a sample is not of the cell its sheet describes; nothing where it can be, or where it cannot be told.

    Parameters
    ----------
    one : Compared
        With shares [%].
    locale : str
        For the numbers in the words.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> print(doubt(of_mass(ureg.Quantity(40, "g"), ureg.Quantity(46, "g"))).replace("\u202f", " "))
    mass 40.0 g, the data sheet has 46.0 g: 87.0 %, expected are 95.0 % to 105.0 %
    """
    if one.found is None or one.stated is None:
        return ""
    share = ureg.Quantity(round(float((one.found / one.stated).m_as("percent")), DIGITS), "percent")
    if one.least <= share <= one.most:
        return ""
    found, stated = (show(value, one.kind, locale=locale) for value in (one.found, one.stated))
    shares = [show(value, Kind.FRACTION, locale=locale) for value in (share, one.least, one.most)]
    return f"{one.what} {found}, the data sheet has {stated}: {shares[0]}, expected are {shares[1]} to {shares[2]}"
