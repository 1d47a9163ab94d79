"""Currents that melt a wire: in seconds by Onderdonk, in lasting free air by Preece."""

from collections.abc import Mapping
from enum import StrEnum
from math import log10
from types import MappingProxyType

from packs.conductors.checked import above_zero, size_of
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import StripMaterial
from packs.units import Quantity, ureg


class WireMetal(StrEnum):
    """Metals of which a fusing constant is tabulated."""

    COPPER = "copper"
    ALUMINIUM = "aluminium"
    PLATINUM = "platinum"
    GERMAN_SILVER = "German silver"
    PLATINOID = "platinoid"
    IRON = "iron"
    LEAD = "lead"
    TIN = "tin"
    TIN_LEAD = "tin and lead"


# a of I = a·d^1.5 [A/in^1.5], as the table of Ness Engineering prints them. There is none for nickel.
PREECE: Mapping[WireMetal, float] = MappingProxyType(
    {
        WireMetal.COPPER: 10_244.0,
        WireMetal.ALUMINIUM: 7_585.0,
        WireMetal.PLATINUM: 5_172.0,
        WireMetal.GERMAN_SILVER: 5_230.0,
        WireMetal.PLATINOID: 4_750.0,
        WireMetal.IRON: 3_148.0,
        WireMetal.LEAD: 1_379.0,
        WireMetal.TIN: 1_642.0,
        WireMetal.TIN_LEAD: 1_318.0,
    }
)

_COPPER_MELTS = 1083.0
_OFFSET, _CONSTANT = 234.0, 33.0


def preece_current(of: WireMetal, diameter: Quantity) -> Quantity:
    """Return the lasting current that melts a round wire in free air [A]: a · d^1.5.

    Parameters
    ----------
    of : WireMetal
        Of the wire.
    diameter : Quantity
        [length]

    Raises
    ------
    ImpossibleValue
        The diameter is not above zero.

    References
    ----------
    Preece's fusing currents.

    Examples
    --------
    >>> f"{preece_current(WireMetal.COPPER, ureg.Quantity(0.0524, 'inch')).magnitude:.1f}"
    '122.9'
    """
    inches = above_zero(diameter, "inch", "The diameter of a wire")
    return ureg.Quantity(PREECE[of] * float(inches**1.5), "ampere")


def preece_diameter(of: WireMetal, current: Quantity) -> Quantity:
    """Return the diameter of a round wire that a lasting current melts in free air [mm]: (I/a)^(2/3).

    Parameters
    ----------
    of : WireMetal
        Of the wire.
    current : Quantity
        [current]

    Raises
    ------
    ImpossibleValue
        The current is not a number above zero.

    References
    ----------
    Preece's fusing currents. A widespread table prints 0.1208 in for aluminium at 250 A; the formula gives 0.1028.
    """
    amps = above_zero(current, "ampere", "The current that melts a wire")
    return ureg.Quantity(float((amps / PREECE[of]) ** (2 / 3)) * 25.4, "millimeter")


def preece_metal(material: StripMaterial) -> WireMetal:
    """Return the metal of Preece's table that a material is, which has no units.

    Raises
    ------
    MissingFact
        There is no constant for it: not for nickel of any purity, nor for plated steel.

    References
    ----------
    Preece's fusing currents.
    """
    if material not in (StripMaterial.COPPER, StripMaterial.ALUMINIUM):
        raise MissingFact(f"No fusing constant is published for {material.label}.")
    return WireMetal(material.value)


def onderdonk_current(area: Quantity, time: Quantity, ambient: Quantity) -> Quantity:
    """Return the current that melts copper in a time [A]: A · √(log₁₀((1083 − Tₐ)/(234 + Tₐ) + 1)/(33·t)).

    A is the section in circular mils. Valid for copper and for a few seconds. Copies with 234 − Tₐ are wrong.

    Parameters
    ----------
    area : Quantity
        Of the section [area].
    time : Quantity
        [time]
    ambient : Quantity
        Of the wire before [temperature].

    Raises
    ------
    ImpossibleValue
        Area or time is not above zero, or the wire has melted before.

    References
    ----------
    Onderdonk's equation.

    Examples
    --------
    >>> size, room = ureg.Quantity(2581, "cmil"), ureg.Quantity(25, "degC")
    >>> f"{onderdonk_current(size, ureg.Quantity(5, 's'), room).magnitude:.2f}"
    '168.86'
    """
    seconds = above_zero(time, "second", "The time until a wire melts")
    return ureg.Quantity(_mils(area) * (_onderdonk(ambient) / seconds) ** 0.5, "ampere")


def onderdonk_time(area: Quantity, current: Quantity, ambient: Quantity) -> Quantity:
    """Return the time in which a current melts copper [s].

    Parameters
    ----------
    area : Quantity
        Of the section [area].
    current : Quantity
        Not zero [current].
    ambient : Quantity
        Of the wire before [temperature].

    Raises
    ------
    ImpossibleValue
        As ``onderdonk_current``; or there is no current.

    References
    ----------
    Onderdonk's equation, solved for the time.
    """
    amps = size_of(current)
    if not amps:
        raise ImpossibleValue("Without a current nothing melts.")
    return ureg.Quantity(_mils(area) ** 2 * _onderdonk(ambient) / amps**2, "second")


def _mils(area: Quantity) -> float:
    return above_zero(area, "cmil", "The section of a wire")


def _onderdonk(ambient: Quantity) -> float:
    celsius = float(ambient.to("degC").magnitude)
    if not -100 <= celsius < _COPPER_MELTS:
        raise ImpossibleValue("Copper is solid, and not colder than a workshop can be.")
    return log10((_COPPER_MELTS - celsius) / (_OFFSET + celsius) + 1) / _CONSTANT
