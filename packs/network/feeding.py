"""What it changes where the leads are attached to the terminal strips."""

from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue
from packs.layout import Feeds, Geometry
from packs.network.circuit import PathResistances, pack_circuit
from packs.network.response import solve_pack
from packs.terms import Feed
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class FeedEffect:
    """A pack fed at one place of both terminal strips.

    Attributes
    ----------
    feed : Feed
        Where.
    pack_resistance : Quantity
        From connector to connector [resistance].
    largest_cell_current, smallest_cell_current : Quantity
        Of all cells, with sign, charged cells below zero [current].
    largest_share : Quantity
        Largest cell current over the mean of its group [dimensionless]; 1 where all share alike.
    largest_link_current : Quantity
        In any length of strip, without sign [current].
    """

    feed: Feed
    pack_resistance: Quantity
    largest_cell_current: Quantity
    smallest_cell_current: Quantity
    largest_share: Quantity
    largest_link_current: Quantity


def compare_feeds(
    measured: Geometry,
    resistances: PathResistances,
    rest_voltages: Quantity,
    cell_resistances: Quantity,
    current: Quantity,
) -> tuple[FeedEffect, ...]:
    """Solve a pack once for each place at which both terminal strips may be fed.

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    resistances : PathResistances
        Of strip, joints and leads.
    rest_voltages, cell_resistances : Quantity
        As ``solve_pack`` [voltage], [resistance].
    current : Quantity
        Drawn at the connector, not zero [current].

    Returns
    -------
    tuple of FeedEffect
        First end, middle, last end.

    Raises
    ------
    ImpossibleValue
        The current is zero; or as ``pack_circuit``, ``solve_pack`` and ``PackResponse.at``.

    References
    ----------
    Kirchhoff's laws.
    """
    if not current.magnitude:
        raise ImpossibleValue("Without a current there are no shares to compare.")
    return tuple(_effect(measured, resistances, rest_voltages, cell_resistances, current, feed) for feed in Feed)


def _effect(
    measured: Geometry,
    resistances: PathResistances,
    rest_voltages: Quantity,
    cell_resistances: Quantity,
    current: Quantity,
    feed: Feed,
) -> FeedEffect:
    response = solve_pack(pack_circuit(measured, resistances, Feeds(feed, feed)), rest_voltages, cell_resistances)
    paths = response.at(current)
    groups = np.array([cell.group for cell in measured.layout.cells])
    means = np.bincount(groups, paths.cells.amps)[1:] / np.bincount(groups)[1:]
    return FeedEffect(
        feed=feed,
        pack_resistance=response.resistance,
        largest_cell_current=ureg.Quantity(float(paths.cells.amps.max()), "A"),
        smallest_cell_current=ureg.Quantity(float(paths.cells.amps.min()), "A"),
        largest_share=ureg.Quantity(float((paths.cells.amps / means[groups - 1]).max()), ""),
        largest_link_current=ureg.Quantity(float(abs(paths.links.amps).max(initial=0.0)), "A"),
    )
