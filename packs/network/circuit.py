"""The whole pack as resistors: cells, joints, the strip between neighbouring joints, solder tabs, leads."""

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.layout import Feeds, Geometry, StripSection, feed_joint
from packs.units import Quantity, ureg

Floats: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Ints: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]
Bools: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]

NO_LENGTH = ureg.Quantity(0.0, "millimeter")
NO_RESISTANCE = ureg.Quantity(0.0, "ohm")


@dataclass(frozen=True, eq=False)
class PathResistances:
    """Resistances of what joins the cells.

    Attributes
    ----------
    strip : Quantity
        Of strip by its length [resistance/length]: one for all links, or one each in the order of
        ``Layout.links``, shape (links,). Halve it for a link that is laid double.
    joint : Quantity
        Of one joint [resistance]: one for all, or one each in the order of ``Layout.joints``, shape (joints,).
    lead : Quantity
        Of each of the two leads from its tab to the connector [resistance].
    tab_length : Quantity
        From the outermost joint to where the lead is soldered [length].
    """

    strip: Quantity
    joint: Quantity
    lead: Quantity = NO_RESISTANCE
    tab_length: Quantity = NO_LENGTH


def resistance_per_length(resistivity: Quantity, section: StripSection) -> Quantity:
    """Return the resistance of strip or bar by its length [Ω/m]: R/L = ρ / (width · thickness).

    Parameters
    ----------
    resistivity : Quantity
        Of the metal at its temperature [resistance · length].
    section : StripSection
        Width and thickness [length].

    Raises
    ------
    ImpossibleValue
        The resistivity is not a number, or below zero.

    References
    ----------
    Ohm's law for a conductor of constant section.

    Examples
    --------
    >>> strip = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
    >>> per_length = resistance_per_length(ureg.Quantity(9.64e-8, "ohm*m"), strip)
    >>> print(f"{(per_length * ureg.Quantity(20, 'mm')).to('mΩ'):.4f}")
    1.6067 milliohm
    """
    ohm_metres = float(resistivity.to("ohm*m").magnitude)
    if not 0 <= ohm_metres < np.inf:
        raise ImpossibleValue("The resistivity of a metal is a number of zero or more.")
    return ureg.Quantity(ohm_metres / float(section.area.to("m**2").magnitude), "ohm/m")


@dataclass(frozen=True, eq=False)
class PackCircuit:
    """What joins the cells of a pack, by numbers of joints, links and cells as in its layout.

    Attributes
    ----------
    measured : Geometry
        The pack in millimetres.
    feeds : tuple of int
        Joints at which the negative and the positive lead meet their strips.
    minus, plus : array of int, shape (cells,)
        Joints on the two terminals of each cell.
    joint_ohm, link_ohm : array of float, shapes (joints,), (links,)
        [Ω]
    tab_ohm, lead_ohm : float
        Of each of the two [Ω].
    """

    measured: Geometry
    feeds: tuple[int, int]
    minus: Ints
    plus: Ints
    joint_ohm: Floats
    link_ohm: Floats
    tab_ohm: float
    lead_ohm: float

    @property
    def cells(self) -> int:
        """Number of cells."""
        return len(self.minus)

    @property
    def nodes(self) -> int:
        """Number of points that differ in voltage: both sides of each joint, both ends of each tab and lead."""
        return 2 * len(self.joint_ohm) + 4


def pack_circuit(measured: Geometry, resistances: PathResistances, feeds: Feeds | None = None) -> PackCircuit:
    """Return the circuit of a pack without its cells' own voltages and resistances.

    A link has the resistance of its centre line, a joint one of its own. Valid for strip that is long against its
    width; in wide plates the current spreads, and this model gives too high a resistance.

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    resistances : PathResistances
        [resistance/length], [resistance], [length]
    feeds : Feeds, optional
        Where the leads are attached; at the last cells of the outer lines where not given.

    Returns
    -------
    PackCircuit
        Branches and nodes, [Ω].

    Raises
    ------
    ImpossibleValue
        A resistance or length is below zero or not a number, or there are not as many as joints or links.

    References
    ----------
    Ohm's law.
    """
    layout, links, feeds = measured.layout, measured.layout.links, feeds or Feeds()
    minus, plus = np.empty((2, len(layout.cells)), dtype=np.int64)
    minus[links.cell[~links.positive]] = np.flatnonzero(~links.positive)
    plus[links.cell[links.positive]] = np.flatnonzero(links.positive)
    per_metre = _ohms(resistances.strip, "ohm/m", len(links.first))
    return PackCircuit(
        measured=measured,
        feeds=(feed_joint(layout, 0, feeds.negative), feed_joint(layout, layout.arrangement.series, feeds.positive)),
        minus=minus,
        plus=plus,
        joint_ohm=_ohms(resistances.joint, "ohm", len(links.cell)),
        link_ohm=per_metre * measured.link_lengths.to("m").magnitude,
        tab_ohm=_tab_ohm(resistances),
        lead_ohm=float(_ohms(resistances.lead, "ohm", 1)[0]),
    )


def _tab_ohm(resistances: PathResistances) -> float:
    """Tabs are of plain strip: where the links differ, of that which resists most."""
    metres = float(resistances.tab_length.to("m").magnitude)
    if not 0 <= metres < np.inf:
        raise ImpossibleValue("A tab has a length of zero or more.")
    per_metre = np.asarray(resistances.strip.to("ohm/m").magnitude, dtype=np.float64)
    return metres * float(per_metre.max(initial=0.0))


def _ohms(given: Quantity, unit: str, count: int) -> Floats:
    numbers = np.asarray(given.to(unit).magnitude, dtype=np.float64)
    if not (np.isfinite(numbers) & (numbers >= 0)).all():
        raise ImpossibleValue("A resistance in the path is a number of zero or more.")
    if numbers.shape not in {(), (count,)}:
        raise ImpossibleValue(f"{numbers.size} resistances do not belong to {count} parts.")
    return np.broadcast_to(numbers, (count,))
