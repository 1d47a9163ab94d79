"""Metals of strip, bar and wire, each value with its source.

Nickel is two metals here. Strip sold as "pure nickel" is mostly commercial nickel of 99.6 %, which resists 38 % more
than nickel of 99.9 % and above; what is not known to be the purer one is taken as commercial.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from packs.errors import ImpossibleValue
from packs.sources import SOURCES, Source
from packs.terms import StripMaterial
from packs.units import Quantity, ureg

ROOM = ureg.Quantity(20.0, "degC")
"""Temperature at which resistivities and their coefficients are given."""


@dataclass(frozen=True)
class Metal:
    """A metal as conductor of current and heat.

    Attributes
    ----------
    resistivity : Quantity
        At 20 °C [Ω·m].
    temperature_coefficient : Quantity
        Of the resistivity, at 20 °C [1/K].
    heat_capacity : Quantity
        By volume [J/(m³·K)].
    conductivity : Quantity
        Of heat [W/(m·K)].
    density : Quantity
        [kg/m³]
    melting_point : Quantity
        Lower end of the range [°C].
    sources : Mapping[str, Source]
        Source of every value, by its name.
    """

    material: StripMaterial
    resistivity: Quantity
    temperature_coefficient: Quantity
    heat_capacity: Quantity
    conductivity: Quantity
    density: Quantity
    melting_point: Quantity
    sources: Mapping[str, Source]


def metal(material: StripMaterial) -> Metal:
    """Return the metal of a strip, bar or wire: [Ω·m], [1/K], [J/(m³·K)], [W/(m·K)], [kg/m³], [°C].

    Plated steel counts as steel: a plating of a few µm carries hardly any current. Nickel's resistivity rises faster
    the hotter it is, so its coefficient holds up to about 100 °C.

    Parameters
    ----------
    material : StripMaterial
        Of the strip; a wire is of copper or aluminium.

    References
    ----------
    IEC 60287-1-1 for copper and aluminium; Special Metals SMC-061, Nickel 200 and 201; data sheet of nickel of
    99.98 %; data sheets of steel SAE 1010; heat from Incropera and DeWitt, Fundamentals of Heat and Mass Transfer.
    ``Metal.sources`` names the source of each value.

    Examples
    --------
    >>> commercial, pure = metal(StripMaterial.NICKEL_200), metal(StripMaterial.NICKEL_999)
    >>> f"{(commercial.resistivity / pure.resistivity).magnitude:.2f}"
    '1.38'
    """
    return METALS[material]


def resistivity_at(of: Metal, temperature: Quantity) -> Quantity:
    """Return the resistivity of a metal at a temperature [Ω·m]: ρ₂₀ · (1 + α₂₀ · (T − 20 °C)).

    Parameters
    ----------
    of : Metal
        [Ω·m], [1/K]
    temperature : Quantity
        Of the metal, solid, not far below 0 °C [temperature].

    Raises
    ------
    ImpossibleValue
        The temperature is not a number, or lies outside −100 °C to the melting point.

    References
    ----------
    IEC 60287-1-1, linear rise of the resistivity.

    Examples
    --------
    >>> f"{resistivity_at(metal(StripMaterial.COPPER), ureg.Quantity(75, 'degC')).to('ohm*m').magnitude:.4e}"
    '2.0968e-08'
    """
    celsius = float(temperature.to("degC").magnitude)
    if not _COLDEST <= celsius <= float(of.melting_point.to("degC").magnitude):
        raise ImpossibleValue(f"At {celsius:.0f} °C nothing is known of the resistivity of {of.material.label}.")
    return of.resistivity * (1.0 + float(of.temperature_coefficient.to("1/kelvin").magnitude) * (celsius - 20.0))


_COLDEST = -100.0
_UNITS = {
    "resistivity": "ohm*meter",
    "temperature_coefficient": "1/kelvin",
    "heat_capacity": "joule/meter**3/kelvin",
    "conductivity": "watt/meter/kelvin",
    "density": "kilogram/meter**3",
    "melting_point": "degC",
}

# Name → number in the unit above and key of its source. Heat capacity by volume = density times that by mass.
_GIVEN: Mapping[StripMaterial, tuple[tuple[float, str], ...]] = {
    StripMaterial.COPPER: (
        (1.7241e-8, "iec_60287"),
        (0.00393, "iec_60287"),
        (3.45e6, "iec_60287"),
        (401.0, "incropera"),
        (8890.0, "iec_60028"),
        (1083.0, "copper_melting"),
    ),
    StripMaterial.ALUMINIUM: (
        (2.8264e-8, "iec_60287"),
        (0.00403, "iec_60287"),
        (2.5e6, "iec_60287"),
        (237.0, "incropera"),
        (2702.0, "incropera"),
        (660.0, "incropera"),
    ),
    StripMaterial.NICKEL_200: (
        (9.64e-8, "smc_061"),
        (0.0043, "smc_061_rise"),
        (8890.0 * 456.0, "smc_061_memory"),
        (70.2, "smc_061"),
        (8890.0, "smc_061_memory"),
        (1435.0, "smc_061_memory"),
    ),
    StripMaterial.NICKEL_999: (
        (7.0e-8, "nickel_sheet"),
        (0.006, "nickel_sheet"),
        (8900.0 * 444.0, "incropera_nickel"),
        (91.0, "incropera_nickel"),
        (8900.0, "nickel_sheet"),
        (1453.0, "nickel_sheet"),
    ),
    # Sheets give 14.2 and 14.3; for α 0.003 to 0.005 is said, and the value of cable standards lies on the hot side.
    StripMaterial.PLATED_STEEL: (
        (14.3e-8, "sae_1010"),
        (0.0045, "iec_60949_steel"),
        (7872.0 * 448.0, "sae_1010"),
        (51.9, "sae_1010"),
        (7872.0, "sae_1010"),
        (1500.0, "sae_1010_memory"),
    ),
}


def _built(material: StripMaterial) -> Metal:
    given = dict(zip(_UNITS, _GIVEN[material], strict=True))
    return Metal(
        material=material,
        sources=MappingProxyType({name: SOURCES[key] for name, (_, key) in given.items()}),
        **{name: ureg.Quantity(number, _UNITS[name]) for name, (number, _) in given.items()},
    )


METALS: Mapping[StripMaterial, Metal] = MappingProxyType({material: _built(material) for material in StripMaterial})
