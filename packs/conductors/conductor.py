"""A length of strip, bar or wire: resistance, drop and loss."""

from dataclasses import dataclass
from math import pi, sqrt

from packs.conductors.checked import above_zero, size_of
from packs.errors import ImpossibleValue
from packs.layout import StripSection
from packs.materials import ROOM, Metal, metal, resistivity_at
from packs.terms import StripMaterial
from packs.units import LARGEST_GAUGE, SMALLEST_GAUGE, Quantity, gauge_diameter_mm, ureg

COPPER = metal(StripMaterial.COPPER)


@dataclass(frozen=True)
class Conductor:
    """A length of one metal and one section.

    Attributes
    ----------
    area : Quantity
        Of the section [area].
    length : Quantity
        Along the current [length].
    perimeter : Quantity
        Of the section, all of it [length].

    Raises
    ------
    ImpossibleValue
        A measure is not a number above zero.
    """

    metal: Metal
    area: Quantity
    length: Quantity
    perimeter: Quantity

    def __post_init__(self) -> None:
        above_zero(self.area, "meter**2", "The section of a conductor")
        above_zero(self.length, "meter", "The length of a conductor")
        above_zero(self.perimeter, "meter", "The perimeter of a conductor")


def strip(of: Metal, section: StripSection, length: Quantity, *, layers: int = 1) -> Conductor:
    """Return a length of strip or bar, laid in so many layers one on the other.

    Parameters
    ----------
    of : Metal
        Of the strip.
    section : StripSection
        Width and thickness of one layer [length].
    length : Quantity
        [length]
    layers : int
        Laid one on the other and joined as one [dimensionless].

    Returns
    -------
    Conductor
        Section [mm²], perimeter 2·(width + layers · thickness) [mm].

    Raises
    ------
    ImpossibleValue
        There is no layer, or the length is not above zero.

    References
    ----------
    Geometry of a rectangle.
    """
    if layers < 1:
        raise ImpossibleValue("Strip is laid in at least one layer.")
    perimeter = 2 * (section.width + layers * section.thickness)
    return Conductor(of, layers * section.area, length, perimeter.to("millimeter"))


def wire(area: Quantity, length: Quantity, *, of: Metal = COPPER) -> Conductor:
    """Return a length of round wire.

    Parameters
    ----------
    area : Quantity
        Of its metal [area]; ``units.parse`` reads "2.5 mm²" and "AWG 14".
    length : Quantity
        [length]
    of : Metal
        Copper where not given.

    Returns
    -------
    Conductor
        As one solid wire, bare: a stranded one resists 2 to 5 % more (from memory).

    Raises
    ------
    ImpossibleValue
        Section or length is not above zero.

    References
    ----------
    Geometry of a circle.
    """
    millimetres = sqrt(4 * pi * above_zero(area, "millimeter**2", "The section of a wire"))
    return Conductor(of, area, length, ureg.Quantity(millimetres, "millimeter"))


def awg_diameter(gauge: int) -> Quantity:
    """Return the diameter of solid wire of an American wire gauge [mm]: 0.127 mm · 92^((36 − n)/39).

    Parameters
    ----------
    gauge : int
        Number from −3, for 4/0, to 40 [dimensionless]. Printed tables round the diameter to 0.0001 in, which moves
        the resistance by up to 0.75 %.

    Raises
    ------
    ImpossibleValue
        There is no such gauge.

    References
    ----------
    ASTM B258.

    Examples
    --------
    >>> f"{awg_diameter(14):.4f}"
    '1.6277 millimeter'
    """
    if not LARGEST_GAUGE <= gauge <= SMALLEST_GAUGE:
        raise ImpossibleValue(f"There is no wire gauge {gauge}.")
    return ureg.Quantity(gauge_diameter_mm(gauge), "millimeter")


def awg_area(gauge: int) -> Quantity:
    """Return the section of solid wire of an American wire gauge [mm²].

    Parameters
    ----------
    gauge : int
        As ``awg_diameter`` [dimensionless].

    Raises
    ------
    ImpossibleValue
        There is no such gauge.

    References
    ----------
    ASTM B258.

    Examples
    --------
    >>> f"{awg_area(10):.4f}"
    '5.2612 millimeter ** 2'
    """
    return pi / 4 * awg_diameter(gauge) ** 2


def resistance(conductor: Conductor, temperature: Quantity = ROOM) -> Quantity:
    """Return the resistance of a conductor [Ω]: ρ(T) · length / section.

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    temperature : Quantity
        Of its metal [temperature]; 20 °C where not given.

    Raises
    ------
    ImpossibleValue
        As ``resistivity_at``.

    References
    ----------
    Ohm's law for a conductor of constant section.

    Examples
    --------
    >>> eight = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
    >>> link = strip(metal(StripMaterial.NICKEL_200), eight, ureg.Quantity(20, "mm"))
    >>> print(f"{resistance(link).to('mΩ'):.4f}")
    1.6067 milliohm
    """
    return (resistivity_at(conductor.metal, temperature) * conductor.length / conductor.area).to("ohm")


def drop(conductor: Conductor, current: Quantity, temperature: Quantity = ROOM) -> Quantity:
    """Return the voltage lost over a conductor [V]: I · R.

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    current : Quantity
        Of either direction [current].
    temperature : Quantity
        Of its metal [temperature].

    Raises
    ------
    ImpossibleValue
        The current is not a number; or as ``resistance``.

    References
    ----------
    Ohm's law.
    """
    return ureg.Quantity(size_of(current) * float(resistance(conductor, temperature).magnitude), "volt")


def loss(conductor: Conductor, current: Quantity, temperature: Quantity = ROOM) -> Quantity:
    """Return the heat made in a conductor [W]: I² · R.

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    current : Quantity
        Of either direction [current].
    temperature : Quantity
        Of its metal [temperature].

    Raises
    ------
    ImpossibleValue
        The current is not a number; or as ``resistance``.

    References
    ----------
    Joule's law.
    """
    return ureg.Quantity(size_of(current) ** 2 * float(resistance(conductor, temperature).magnitude), "watt")
