"""Measured capacity of groups and pack: the weakest group decides."""

from collections.abc import Sequence
from math import fsum
from typing import NamedTuple

from packs.cells import Cell
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import Measure
from packs.units import Quantity, to, ureg


class Weakest(NamedTuple):
    """The groups that empty first and their capacity [mAh].

    Their indexes are counted from 0 at the negative end; there are several where they hold the same, and none where
    all groups of the pack do.
    """

    group_indexes: tuple[int, ...]
    capacity: Quantity


def group_capacities(groups: Sequence[Sequence[Cell]]) -> list[Quantity]:
    """Add the measured capacities of the cells of each group [mAh].

    Raises
    ------
    MissingFact
        A cell's capacity was not measured.
    ImpossibleValue
        A group holds no cell.

    References
    ----------
    Kirchhoff's laws: charges of parallel cells add up.

    Examples
    --------
    >>> pair = [Cell("A", ureg.Quantity(2600, "mAh")), Cell("B", ureg.Quantity(2.5, "Ah"))]
    >>> round(group_capacities([pair])[0].magnitude)
    5100
    """
    return [_group_capacity(group) for group in groups]


def _group_capacity(group: Sequence[Cell]) -> Quantity:
    if not group:
        raise ImpossibleValue("A group without cells has no capacity.")
    return ureg.Quantity(fsum(_capacity_mah(cell) for cell in group), "mAh")


def _capacity_mah(cell: Cell) -> float:
    if cell.capacity is None:
        raise MissingFact(f"The capacity of cell {cell.code} was not measured.")
    return float(cell.capacity.to("mAh").magnitude)


def weakest_groups(capacities: Sequence[Quantity]) -> Weakest:
    """Find the groups with the least capacity among those of all groups [mAh].

    Raises
    ------
    ImpossibleValue
        There is no group.

    References
    ----------
    Kirchhoff's laws: one current runs through all groups.

    Examples
    --------
    >>> weakest_groups([ureg.Quantity(mah, "mAh") for mah in (5110, 5130, 5110)]).group_indexes
    (0, 2)
    """
    if not capacities:
        raise ImpossibleValue("A pack without groups has no weakest one.")
    stored = [to(Measure.CAPACITY, capacity) for capacity in capacities]
    least = min(stored)
    tied = tuple(index for index, capacity in enumerate(stored) if capacity == least)
    return Weakest(tied if len(tied) < len(stored) else (), min(capacities))


def pack_capacity(groups: Sequence[Sequence[Cell]]) -> Quantity:
    """Return the capacity of a pack [mAh]: groups in series give no more than the weakest of them.

    References
    ----------
    Kirchhoff's laws: one current runs through all groups.
    """
    return weakest_groups(group_capacities(groups)).capacity


def pack_energy(groups: Sequence[Sequence[Cell]], nominal_voltage: Quantity) -> Quantity:
    """Return the energy of a pack [Wh] from its weakest group and the nominal voltage of one cell.

    References
    ----------
    Kirchhoff's laws; energy as charge times nominal voltage.
    """
    return (nominal_voltage * len(groups) * pack_capacity(groups)).to("Wh")
