"""How warm a conductor becomes under a lasting current, by two models between which the truth lies.

A strip is cooled by its surface and by the cells it is joined to. One model leaves out the cells, the other the
surface, and the cells themselves do not stay at the temperature of the air.
"""

from dataclasses import dataclass
from math import acos, cos, pi, sqrt

from packs.conductors.checked import above_zero, size_of
from packs.conductors.conductor import Conductor
from packs.materials import ROOM, Metal, resistivity_at
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class Surface:
    """How the surface of a conductor gives off heat.

    Attributes
    ----------
    transfer : Quantity
        Heat to the air by convection and radiation [W/(m²·K)]; 2 to 25 for still air.
    share : float
        Part of the perimeter that gives off heat [dimensionless].
    """

    transfer: Quantity
    share: float


# Common practice, no source: within the 2 to 25 W/(m²·K) of Incropera and DeWitt, table 1.1.
OPEN = Surface(ureg.Quantity(10.0, "W/m**2/K"), 1.0)
"""In open air, all round."""
COVERED = Surface(ureg.Quantity(5.0, "W/m**2/K"), 0.5)
"""On one side, under wrap."""


@dataclass(frozen=True)
class SteadyRise:
    """Lasting temperature rise of a conductor by both models [K]; ``None`` where it never comes to rest.

    Attributes
    ----------
    by_surface : Quantity or None
        Above the air, cooled by its surface alone: a long strip.
    by_ends : Quantity or None
        Of its middle above its ends, cooled through its ends alone: a short link between two cells.
    """

    by_surface: Quantity | None
    by_ends: Quantity | None


def steady_rise(conductor: Conductor, current: Quantity, surface: Surface, ambient: Quantity = ROOM) -> SteadyRise:
    """Return the lasting temperature rise of a conductor by both models [K].

    Parameters
    ----------
    conductor : Conductor
        [area], [length], [length]
    current : Quantity
        Lasting, of either direction [current].
    surface : Surface
        [W/(m²·K)]
    ambient : Quantity
        Of the air in the one model, of the ends in the other [temperature].

    Raises
    ------
    ImpossibleValue
        As ``rise_by_surface`` and ``rise_by_ends``.

    References
    ----------
    Newton's law of cooling; Fourier's law of heat conduction.
    """
    return SteadyRise(
        by_surface=rise_by_surface(conductor, current, surface, ambient),
        by_ends=rise_by_ends(conductor, current, ambient),
    )


def rise_by_surface(
    conductor: Conductor, current: Quantity, surface: Surface, ambient: Quantity = ROOM
) -> Quantity | None:
    """Return the rise of a long conductor above the air [K]: ΔT = I²·R'ₐ / (h·p − I²·R'₂₀·α).

    Per metre I²·R'(T) = h·p·ΔT, with R'ₐ the resistance at the temperature of the air and p the perimeter that
    gives off heat. Valid where the ends are far away, and for resistivities that rise in a straight line.

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    current : Quantity
        Lasting [current].
    surface : Surface
        [W/(m²·K)]
    ambient : Quantity
        Of the air [temperature].

    Returns
    -------
    Quantity or None
        [K]; None where the loss grows faster than the cooling, or the metal melts before they are equal.

    Raises
    ------
    ImpossibleValue
        The current is not a number, or the surface gives off no heat.

    References
    ----------
    Newton's law of cooling; Joule's law.

    Examples
    --------
    >>> from packs.conductors.conductor import strip
    >>> from packs.layout import StripSection
    >>> from packs.materials import metal
    >>> from packs.terms import StripMaterial
    >>> section = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
    >>> link = strip(metal(StripMaterial.NICKEL_200), section, ureg.Quantity(1, "m"))
    >>> f"{rise_by_surface(link, ureg.Quantity(5, 'A'), OPEN).magnitude:.2f}"
    '13.01'
    """
    squared, cooling = size_of(current) ** 2, _cooling(conductor, surface)
    at_ambient, per_kelvin = _per_metre(conductor, ambient)
    left = cooling - squared * per_kelvin
    return _solid(conductor, squared * at_ambient / left, ambient) if left > 0 else None


def current_by_surface(conductor: Conductor, rise: Quantity, surface: Surface, ambient: Quantity = ROOM) -> Quantity:
    """Return the lasting current at which a long conductor reaches a rise [A]: I = √(h·p·ΔT / R'(T)).

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    rise : Quantity
        Above the air, above zero [K].
    surface : Surface
        [W/(m²·K)]
    ambient : Quantity
        Of the air [temperature].

    Raises
    ------
    ImpossibleValue
        The rise is not above zero, or the surface gives off no heat.

    References
    ----------
    Newton's law of cooling; Joule's law.
    """
    kelvins = above_zero(rise, "delta_degC", "A rise")
    at_ambient, per_kelvin = _per_metre(conductor, ambient)
    return ureg.Quantity(sqrt(_cooling(conductor, surface) * kelvins / (at_ambient + per_kelvin * kelvins)), "ampere")


def rise_by_ends(conductor: Conductor, current: Quantity, ambient: Quantity = ROOM) -> Quantity | None:
    """Return the rise of the middle of a conductor above its two ends [K], which are held at one temperature.

    ΔT = (1/cos u − 1)/αₐ with u² = I²·ρ₂₀·α·L² / (4·k·A²), which for small rises is I²·ρₐ·L² / (8·k·A²). Its surface
    gives off no heat. Valid for short links between two cells that stay as cool as they are.

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    current : Quantity
        Lasting [current].
    ambient : Quantity
        Of both ends [temperature].

    Returns
    -------
    Quantity or None
        [K]; None where the loss grows faster than the ends can take it away, or the middle melts before.

    Raises
    ------
    ImpossibleValue
        The current is not a number.

    References
    ----------
    Fourier's law of heat conduction with the heat of Joule's law: k·A·T'' + I²·R'(T) = 0, solved in closed form.

    Examples
    --------
    >>> from packs.conductors.conductor import strip
    >>> from packs.layout import StripSection
    >>> from packs.materials import metal
    >>> from packs.terms import StripMaterial
    >>> section = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
    >>> link = strip(metal(StripMaterial.NICKEL_200), section, ureg.Quantity(20, "mm"))
    >>> f"{rise_by_ends(link, ureg.Quantity(5, 'A')).magnitude:.2f}"
    '1.20'
    """
    squared = size_of(current) ** 2
    at_ambient, per_kelvin = _per_metre(conductor, ambient)
    by_length = _length_over_conduction(conductor)
    plain = squared * at_ambient * by_length / 8
    angle = sqrt(squared * per_kelvin * by_length) / 2
    if angle >= pi / 2:
        return None
    # Close to zero the closed form is the difference of two equal numbers, and the plain one is exact enough.
    rise = plain if angle < _SMALL else (1 / cos(angle) - 1) * at_ambient / per_kelvin
    return _solid(conductor, rise, ambient)


def current_by_ends(conductor: Conductor, rise: Quantity, ambient: Quantity = ROOM) -> Quantity:
    """Return the lasting current at which the middle of a conductor lies so far above its ends [A].

    Parameters
    ----------
    conductor : Conductor
        [area], [length]
    rise : Quantity
        Above the ends, above zero [K].
    ambient : Quantity
        Of both ends [temperature].

    Raises
    ------
    ImpossibleValue
        The rise is not above zero.

    References
    ----------
    Fourier's law of heat conduction, as ``rise_by_ends``.
    """
    kelvins = above_zero(rise, "delta_degC", "A rise")
    at_ambient, per_kelvin = _per_metre(conductor, ambient)
    by_length, steepness = _length_over_conduction(conductor), kelvins * per_kelvin / at_ambient
    if steepness < _SMALL**2 / 2:
        return ureg.Quantity(sqrt(8 * kelvins / (at_ambient * by_length)), "ampere")
    return ureg.Quantity(2 * acos(1 / (1 + steepness)) / sqrt(per_kelvin * by_length), "ampere")


_SMALL = 1e-4


def _per_metre(conductor: Conductor, ambient: Quantity) -> tuple[float, float]:
    """Resistance by length at the ambient temperature [Ω/m], and what each kelvin adds [Ω/(m·K)]."""
    area, of = float(conductor.area.to("meter**2").magnitude), conductor.metal
    return _ohm_metres(of, ambient) / area, _ohm_metres(of, ROOM) * _coefficient(of) / area


def _ohm_metres(of: Metal, temperature: Quantity) -> float:
    return float(resistivity_at(of, temperature).to("ohm*meter").magnitude)


def _coefficient(of: Metal) -> float:
    return float(of.temperature_coefficient.to("1/kelvin").magnitude)


def _cooling(conductor: Conductor, surface: Surface) -> float:
    """Heat given off by length [W/(m·K)]."""
    transfer = above_zero(surface.transfer, "W/m**2/K", "The heat that a surface gives off")
    share = above_zero(ureg.Quantity(surface.share, ""), "", "The part of the perimeter that gives off heat")
    return transfer * share * float(conductor.perimeter.to("meter").magnitude)


def _length_over_conduction(conductor: Conductor) -> float:
    """L² / (k·A) [m·K/W]."""
    conductance = (conductor.metal.conductivity * conductor.area).to("watt*meter/kelvin").magnitude
    return float(conductor.length.to("meter").magnitude) ** 2 / float(conductance)


def _solid(conductor: Conductor, kelvins: float, ambient: Quantity) -> Quantity | None:
    """The rise, unless the metal has melted by then."""
    room = float((conductor.metal.melting_point - ambient.to("degC")).to("delta_degC").magnitude)
    return ureg.Quantity(kelvins, "delta_degC") if kelvins < room else None
