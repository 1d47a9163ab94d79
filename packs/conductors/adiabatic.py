"""Short currents: all heat stays in the metal.

Valid for seconds at most, before heat has time to leave; after that the result lies on the hot side.
"""

from math import exp, inf, log, sqrt

from packs.conductors.checked import above_zero, size_of
from packs.errors import ImpossibleValue
from packs.materials import METALS, ROOM, Metal
from packs.terms import StripMaterial
from packs.units import Quantity, ureg

# K and β as the standard prints them for its own constants of copper and aluminium.
_PRINTED = {StripMaterial.COPPER: (226.0, 234.5), StripMaterial.ALUMINIUM: (148.0, 228.0)}


def adiabatic_constant(of: Metal) -> Quantity:
    """Return the constant K of a metal [A·√s/mm²]: printed for copper and aluminium, else √(Qc·(β + 20)/ρ₂₀).

    β = 1/α₂₀ − 20 K is the reciprocal of the temperature coefficient at 0 °C, Qc the heat capacity by volume.
    Nickel does not stand in the standard; by the same formula it holds for small rises only, since its resistivity
    does not rise in a straight line.

    Parameters
    ----------
    of : Metal
        [Ω·m], [1/K], [J/(m³·K)]

    References
    ----------
    IEC 60949, which prints 226 for copper and 148 for aluminium.

    Examples
    --------
    >>> from packs.materials import metal
    >>> f"{adiabatic_constant(metal(StripMaterial.NICKEL_200)).magnitude:.1f}"
    '98.9'
    """
    return ureg.Quantity(_constants(of)[0], "ampere*second**0.5/millimeter**2")


def adiabatic_current(of: Metal, area: Quantity, time: Quantity, end: Quantity, start: Quantity = ROOM) -> Quantity:
    """Return the current that heats a conductor from start to end in a time [A]: K·S/√t · √ln((Tₑ + β)/(Tₛ + β)).

    Parameters
    ----------
    of : Metal
        As ``adiabatic_constant``.
    area : Quantity
        Of the section [area].
    time : Quantity
        How long the current lasts [time].
    end, start : Quantity
        Of the metal [temperature]; 20 °C where the start is not given.

    Raises
    ------
    ImpossibleValue
        Area or time is not above zero, or the end does not lie above the start.

    References
    ----------
    IEC 60949.

    Examples
    --------
    >>> from packs.materials import metal
    >>> copper, celsius = metal(StripMaterial.COPPER), lambda number: ureg.Quantity(number, "degC")
    >>> area, five = ureg.Quantity(2581, "cmil"), ureg.Quantity(5, "s")
    >>> f"{adiabatic_current(copper, area, five, celsius(1083), celsius(25)).magnitude:.1f}"
    '168.5'
    """
    seconds = above_zero(time, "second", "The time a current lasts")
    return ureg.Quantity(sqrt(_impulse(of, area, end, start) / seconds), "ampere")


def adiabatic_time(of: Metal, area: Quantity, current: Quantity, end: Quantity, start: Quantity = ROOM) -> Quantity:
    """Return how long a current takes to heat a conductor from start to end [s].

    Parameters
    ----------
    of : Metal
        As ``adiabatic_constant``.
    area : Quantity
        Of the section [area].
    current : Quantity
        Not zero [current].
    end, start : Quantity
        Of the metal [temperature].

    Raises
    ------
    ImpossibleValue
        As ``adiabatic_current``; or there is no current.

    References
    ----------
    IEC 60949, solved for the time.

    Examples
    --------
    >>> from packs.materials import metal
    >>> strip, celsius = ureg.Quantity(1.2, "mm**2"), lambda number: ureg.Quantity(number, "degC")
    >>> amps = ureg.Quantity(50, "A")
    >>> f"{adiabatic_time(metal(StripMaterial.COPPER), strip, amps, celsius(60), celsius(25)).magnitude:.2f}"
    '3.72'
    """
    amps = size_of(current)
    if not amps:
        raise ImpossibleValue("Without a current nothing heats up.")
    return ureg.Quantity(_impulse(of, area, end, start) / amps**2, "second")


def adiabatic_rise(of: Metal, area: Quantity, current: Quantity, time: Quantity, start: Quantity = ROOM) -> Quantity:
    """Return how much warmer a conductor becomes in a time [K]: (Tₛ + β) · (e^((I/KS)²·t) − 1).

    Parameters
    ----------
    of : Metal
        As ``adiabatic_constant``.
    area : Quantity
        Of the section [area].
    current : Quantity
        [current]
    time : Quantity
        How long it lasts [time].
    start : Quantity
        Of the metal [temperature].

    Returns
    -------
    Quantity
        [K]; where it would carry the metal past its melting point, infinite.

    Raises
    ------
    ImpossibleValue
        The area is not above zero, or current or time is not a number.

    References
    ----------
    IEC 60949, solved for the temperature.
    """
    constant, beta = _constants(of)
    density = size_of(current) / (constant * above_zero(area, "millimeter**2", "The section of a conductor"))
    exponent, begin = density**2 * _seconds(time), _celsius(start)
    if exponent >= log((_celsius(of.melting_point) + beta) / (begin + beta)):
        return ureg.Quantity(inf, "delta_degC")
    return ureg.Quantity((begin + beta) * (exp(exponent) - 1.0), "delta_degC")


def _impulse(of: Metal, area: Quantity, end: Quantity, start: Quantity) -> float:
    """I²·t that heats the section from start to end [A²·s]."""
    (constant, beta), begin, finish = _constants(of), _celsius(start), _celsius(end)
    if not finish > begin:
        raise ImpossibleValue("A conductor that is heated ends warmer than it began.")
    section = above_zero(area, "millimeter**2", "The section of a conductor")
    return (constant * section) ** 2 * log((finish + beta) / (begin + beta))


def _constants(of: Metal) -> tuple[float, float]:
    """K [A·√s/mm²] and β [K]; a metal whose values differ from the list has no printed ones."""
    if of.material in _PRINTED and of is METALS[of.material]:
        return _PRINTED[of.material]
    beta = 1.0 / float(of.temperature_coefficient.to("1/kelvin").magnitude) - 20.0
    heat = float(of.heat_capacity.to("joule/meter**3/kelvin").magnitude)
    return sqrt(heat * (beta + 20.0) / float(of.resistivity.to("ohm*meter").magnitude)) * 1e-6, beta


def _celsius(temperature: Quantity) -> float:
    return float(temperature.to("degC").magnitude)


def _seconds(time: Quantity) -> float:
    seconds = float(time.to("second").magnitude)
    if not 0 <= seconds < inf:
        raise ImpossibleValue("A time is a number of zero or more.")
    return seconds
