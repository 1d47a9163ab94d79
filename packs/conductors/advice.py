"""The smallest strip and the smallest wire that stay under a permitted rise."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from packs.conductors.conductor import Conductor, awg_area, strip, wire
from packs.conductors.heating import OPEN, Surface
from packs.conductors.weakest import Cooling, Load, PathPart, judge
from packs.layout import StripSection
from packs.materials import Metal
from packs.units import LARGEST_GAUGE, SMALLEST_GAUGE, Quantity, ureg

# Common practice, no source: strip that is sold; and how many layers are still welded one on the other.
THICKNESSES_MM = (0.1, 0.12, 0.15, 0.2, 0.25, 0.3, 0.5, 1.0)
WIDTHS_MM = (3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50)
MOST_LAYERS = 3
# IEC 60228, nominal sections (from memory).
SECTIONS_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0)

_METRE = ureg.Quantity(1.0, "meter")  # rise by the surface and the adiabatic one do not ask for the length
_Choice = TypeVar("_Choice")


@dataclass(frozen=True)
class StripChoice:
    """Strip of one section [length] in so many layers."""

    section: StripSection
    layers: int

    @property
    def area(self) -> Quantity:
        """Of all layers [area]."""
        return self.layers * self.section.area


@dataclass(frozen=True)
class WireChoice:
    """Wire by its section [area], and by its gauge where it has one."""

    area: Quantity
    gauge: int | None = None


def smallest_strip(
    of: Metal, load: Load, surface: Surface, width: Quantity, *, between_cells: Quantity | None = None
) -> StripChoice | None:
    """Return the strip of a width with the least metal that carries a load under its permitted rise [length].

    Parameters
    ----------
    of : Metal
        Of the strip.
    load : Load
        Through one link [current], [time], [K].
    surface : Surface
        [W/(m²·K)]
    width : Quantity
        Of the strip [length].
    between_cells : Quantity, optional
        Length of a link that its ends keep cool [length]; not given, the surface alone cools it, which is careful.

    Returns
    -------
    StripChoice or None
        Of equal metal the one with fewer layers; None where no usual strip of this width carries the load.

    Raises
    ------
    ImpossibleValue
        As ``judge``.

    References
    ----------
    As ``judge``: Newton's law of cooling; IEC 60949. Thicknesses: common practice, no source.
    """
    choices = [
        StripChoice(StripSection(width, ureg.Quantity(thickness, "millimeter")), layers)
        for layers in range(1, MOST_LAYERS + 1)
        for thickness in THICKNESSES_MM
    ]
    choices.sort(key=lambda choice: (round(float(choice.area.to("millimeter**2").magnitude), 9), choice.layers))
    conductors = [_of_strip(of, choice, between_cells or _METRE) for choice in choices]
    return _first(choices, conductors, load, surface, Cooling.ENDS if between_cells is not None else Cooling.SURFACE)


def narrowest_strip(
    of: Metal, load: Load, surface: Surface, thickness: Quantity, layers: int = 1
) -> StripChoice | None:
    """Return the narrowest usual strip of a thickness that carries a load under its permitted rise [length].

    Parameters
    ----------
    of : Metal
        Of the strip.
    load : Load
        Through one link [current], [time], [K].
    surface : Surface
        [W/(m²·K)]
    thickness : Quantity
        Of one layer [length].
    layers : int
        Laid one on the other [dimensionless].

    Returns
    -------
    StripChoice or None
        None where none of the usual widths carries the load.

    Raises
    ------
    ImpossibleValue
        As ``judge``.

    References
    ----------
    As ``judge``: Newton's law of cooling; IEC 60949. Widths: common practice, no source.
    """
    choices = [StripChoice(StripSection(ureg.Quantity(width, "millimeter"), thickness), layers) for width in WIDTHS_MM]
    return _first(choices, [_of_strip(of, choice, _METRE) for choice in choices], load, surface)


def smallest_gauge(load: Load, surface: Surface = OPEN) -> WireChoice | None:
    """Return the thinnest copper wire by American wire gauge that carries a load under its permitted rise [mm²].

    Every gauge from 40 to 4/0 is tried, taken as bare and solid.

    Parameters
    ----------
    load : Load
        Through one lead [current], [time], [K].
    surface : Surface
        [W/(m²·K)]; open air where not given.

    Raises
    ------
    ImpossibleValue
        As ``judge``.

    References
    ----------
    ASTM B258; as ``judge``: Newton's law of cooling; IEC 60949.
    """
    choices = [WireChoice(awg_area(gauge), gauge) for gauge in range(SMALLEST_GAUGE, LARGEST_GAUGE - 1, -1)]
    return _first(choices, [wire(choice.area, _METRE) for choice in choices], load, surface)


def smallest_wire(load: Load, surface: Surface = OPEN) -> WireChoice | None:
    """Return the thinnest copper wire of a nominal section that carries a load under its permitted rise [mm²].

    Parameters
    ----------
    load : Load
        Through one lead [current], [time], [K].
    surface : Surface
        [W/(m²·K)]; open air where not given.

    Raises
    ------
    ImpossibleValue
        As ``judge``.

    References
    ----------
    IEC 60228, nominal sections; as ``judge``: Newton's law of cooling; IEC 60949.
    """
    choices = [WireChoice(ureg.Quantity(area, "millimeter**2")) for area in SECTIONS_MM2]
    return _first(choices, [wire(choice.area, _METRE) for choice in choices], load, surface)


def _of_strip(of: Metal, choice: StripChoice, length: Quantity) -> Conductor:
    return strip(of, choice.section, length, layers=choice.layers)


def _first(
    choices: Sequence[_Choice],
    conductors: Sequence[Conductor],
    load: Load,
    surface: Surface,
    cooling: Cooling = Cooling.SURFACE,
) -> _Choice | None:
    """Return the first choice that carries the load; each one carries at least what the one before it does."""

    def carries(conductor: Conductor) -> bool:
        part = PathPart("", load, conductor=conductor, surface=surface, between_cells=cooling is Cooling.ENDS)
        use = judge(part, cooling).use
        return use is not None and float(use.magnitude) <= 1.0

    place = bisect_left(conductors, True, key=carries)
    return choices[place] if place < len(choices) else None
