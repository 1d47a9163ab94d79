"""Rated energy and mass in exact decimals, for limits of law that are compared unrounded."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from packs.errors import ImpossibleValue

_WH_PER_MAH_MV = -6  # power of ten


def rated_energy_wh(capacity_mah: Decimal, voltage_mv: Decimal, cells: int) -> Decimal:
    """Return rated energy exactly [Wh], for limits of law that are compared unrounded.

    Parameters
    ----------
    capacity_mah, voltage_mv : Decimal
        Rated capacity [mAh] and nominal voltage [mV] of one cell.
    cells : int
        Number of cells.

    Raises
    ------
    ImpossibleValue
        A figure is below zero or not finite.

    References
    ----------
    Arithmetic: rated energy is capacity times nominal voltage.

    Examples
    --------
    >>> rated_energy_wh(Decimal("2600.1"), Decimal(3600), 10)
    Decimal('93.6036')
    """
    if not (capacity_mah.is_finite() and voltage_mv.is_finite()) or min(capacity_mah, voltage_mv, Decimal(cells)) < 0:
        raise ImpossibleValue(f"{cells} cells of {capacity_mah} mAh at {voltage_mv} mV have no rated energy.")
    with localcontext(prec=100):  # room for every digit of the product
        exact = (capacity_mah * voltage_mv * cells).scaleb(_WH_PER_MAH_MV)
        return Decimal(f"{exact.normalize():f}")


@dataclass(frozen=True)
class RemovedCell:
    """The rated figures of a cell taken out of a pack, as stored; ``None`` means not known."""

    rated_capacity_mah: Decimal | None
    nominal_voltage_mv: Decimal | None
    mass_mg: Decimal | None


@dataclass(frozen=True)
class RemovedTotals:
    """Sums over removed cells, exact, and how many cells each sum leaves out because a figure is not known.

    Attributes
    ----------
    rated_energy_wh : Decimal
        [Wh]
    mass_mg : Decimal
        [mg]
    """

    cells: int
    rated_energy_wh: Decimal
    energy_unknown: int
    mass_mg: Decimal
    mass_unknown: int


def removed_totals(cells: Sequence[RemovedCell]) -> RemovedTotals:
    """Add up rated energy and mass of removed cells; a figure that is not known is counted, never guessed.

    Energy [Wh] and mass [mg].

    References
    ----------
    Arithmetic.
    """
    energies = [
        rated_energy_wh(cell.rated_capacity_mah, cell.nominal_voltage_mv, 1)
        for cell in cells
        if cell.rated_capacity_mah is not None and cell.nominal_voltage_mv is not None
    ]
    masses = [cell.mass_mg for cell in cells if cell.mass_mg is not None]
    return RemovedTotals(
        cells=len(cells),
        rated_energy_wh=sum(energies, Decimal(0)),
        energy_unknown=len(cells) - len(energies),
        mass_mg=sum(masses, Decimal(0)),
        mass_unknown=len(cells) - len(masses),
    )
