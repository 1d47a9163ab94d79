"""What hardly any cell has: such a number may be a true finding, or one that slipped while it was written down.

Every bound is the trade's, far beyond what cells on a bench have; common practice, no source.
"""

from math import pi

from packs.terms import CellFormat
from packs.units import Quantity, ureg

LEAST_SHARE, MOST_SHARE = 0.05, 1.5
"""A worn cell still gives more of its rated capacity, a new one less; common practice, no source."""

LEAST_OHM_AH, MOST_OHM_AH = 0.001, 10.0
"""Resistance times rated capacity: some 0.01 Ω·Ah for cells made for power, some 0.1 Ω·Ah for common ones, a few Ω·Ah
for worn out ones. The bounds lie ten times and more beyond; common practice, no source."""

LEAST_VOLTAGE = ureg.Quantity(10.0, "mV")
"""Nobody sorts a cell by less: it is 0 V, or it was typed in volts; common practice, no source."""

MASS_FACTOR = 5.0
"""No cell weighs so many times what its data sheet says, or so small a part of it; common practice, no source."""

JUMP_FACTOR = 2.0
"""No cell loses half of what it gave from one test to the next, nor doubles it; common practice, no source."""

LEAST_RATED = ureg.Quantity(20.0, "mAh")
"""Smaller cells are not built into packs on this bench; common practice, no source."""

LEAST_WH_KG, MOST_WH_KG = 10.0, 500.0
LEAST_WH_L, MOST_WH_L = 15.0, 1500.0
"""Energy by mass and by volume: lead has some 30 Wh/kg, the best lithium-ion cells some 300 Wh/kg and 800 Wh/l. The bounds
lie well beyond; common practice, no source."""

DIGITS = 9
"""Places a share is rounded to, so that a number at its bound is at it, however it was stored."""


def is_likely_capacity(capacity: Quantity, rated: Quantity) -> bool:
    """Tell whether a cell or pack gives so much of what it is rated at; nothing at all is true of a dead one.

    Parameters
    ----------
    capacity, rated : Quantity
        Measured, and of the data sheet [capacity].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_likely_capacity(ureg.Quantity(2.5, "mAh"), ureg.Quantity(2600, "mAh"))
    False
    >>> is_likely_capacity(ureg.Quantity(0, "mAh"), ureg.Quantity(2600, "mAh"))
    True
    """
    share = _share(capacity, rated)
    return share == 0 or LEAST_SHARE <= share <= MOST_SHARE


def is_likely_after(capacity: Quantity, before: Quantity) -> bool:
    """Tell whether a cell that gave so much before gives so much now; of a dead one nothing is told.

    Parameters
    ----------
    capacity, before : Quantity
        Measured now, and the time before [capacity].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_likely_after(ureg.Quantity(255, "mAh"), ureg.Quantity(2560, "mAh"))
    False
    """
    if not (capacity > 0 * capacity and before > 0 * before):
        return True
    return 1 / JUMP_FACTOR <= _share(capacity, before) <= JUMP_FACTOR


def is_likely_group(capacity: Quantity, rated: Quantity) -> bool:
    """Tell whether a group that stays in its pack can have given so much.

    Parameters
    ----------
    capacity, rated : Quantity
        Measured, and of the data sheet [capacity].

    References
    ----------
    Common practice, no source.
    """
    return 0 < _share(capacity, rated) <= MOST_SHARE


def is_likely_resistance(resistance: Quantity, rated: Quantity) -> bool:
    """Tell whether a cell of a rated capacity has such a resistance, by whatever method.

    Parameters
    ----------
    resistance : Quantity
        [resistance]
    rated : Quantity
        [capacity]

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_likely_resistance(ureg.Quantity(45, "mohm"), ureg.Quantity(2600, "mAh"))
    True
    """
    ohm_ah = round(float(resistance.m_as("ohm") * rated.m_as("Ah")), DIGITS)
    return LEAST_OHM_AH <= ohm_ah <= MOST_OHM_AH


def is_likely_at_rest(voltage: Quantity) -> bool:
    """Tell whether a rest voltage is one that cells are sorted by: nothing, or more than a few thousandths of a volt.

    Parameters
    ----------
    voltage : Quantity
        [voltage]; below zero it is a nickel cell that was reversed, or refused elsewhere.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_likely_at_rest(ureg.Quantity(3.6, "mV"))
    False
    """
    return not 0 < round(float(voltage.m_as("mV")), DIGITS) < LEAST_VOLTAGE.m_as("mV")


def is_likely_mass(mass: Quantity, stated: Quantity) -> bool:
    """Tell whether a cell weighs about what its data sheet says.

    Parameters
    ----------
    mass, stated : Quantity
        Weighed, and of the data sheet [mass].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> is_likely_mass(ureg.Quantity(46, "mg"), ureg.Quantity(46, "g"))
    False
    """
    return 1 / MASS_FACTOR <= _share(mass, stated) <= MASS_FACTOR


def is_likely_rated(rated: Quantity) -> bool:
    """Tell whether cells of such a rated capacity are built into packs.

    Parameters
    ----------
    rated : Quantity
        [capacity]

    References
    ----------
    Common practice, no source.
    """
    return bool(rated >= LEAST_RATED)


def goes_with_mass(energy: Quantity, mass: Quantity) -> bool:
    """Tell whether a cell of such a mass holds such an energy.

    Parameters
    ----------
    energy : Quantity
        Rated [energy].
    mass : Quantity
        [mass]

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> goes_with_mass(ureg.Quantity(9.4, "Wh"), ureg.Quantity(46, "g"))
    True
    """
    return LEAST_WH_KG <= float((energy / mass).m_as("Wh/kg")) <= MOST_WH_KG


def goes_with_volume(energy: Quantity, volume: Quantity) -> bool:
    """Tell whether a cell of such a size holds such an energy.

    Parameters
    ----------
    energy : Quantity
        Rated [energy].
    volume : Quantity
        [volume]

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> can = cell_volume(CellFormat.ROUND, ureg.Quantity(18.3, "mm"), None, ureg.Quantity(65.2, "mm"))
    >>> goes_with_volume(ureg.Quantity(9.4, "Wh"), can)
    True
    """
    return LEAST_WH_L <= float((energy / volume).m_as("Wh/l")) <= MOST_WH_L


def cell_volume(form: CellFormat, across: Quantity, width: Quantity | None, height: Quantity) -> Quantity | None:
    """Return the volume of a cell by its outer measures [volume]; None where a flat cell's width is not known.

    Parameters
    ----------
    form : CellFormat
        Round, or with flat sides.
    across, width, height : Quantity
        Diameter or thickness, the width of a flat cell, and height [length].

    References
    ----------
    Arithmetic: the volume of a cylinder and of a box.

    Examples
    --------
    >>> mm = lambda number: ureg.Quantity(number, "mm")
    >>> f"{cell_volume(CellFormat.ROUND, mm(18.3), None, mm(65.2)).to('cm**3'):.1f}"
    '17.1 centimeter ** 3'
    """
    if form is CellFormat.ROUND:
        round_one: Quantity = pi / 4 * across**2 * height
        return round_one
    return None if width is None else across * width * height


def _share(part: Quantity, whole: Quantity) -> float:
    return round(float((part / whole).m_as("")), DIGITS)
