"""The cells of a pack as numbers: what a forecast starts from."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np

from packs.cells import Cell
from packs.chemistry import OcvCurve
from packs.errors import ImpossibleValue, MissingFact
from packs.forecast.slow import AT_ONCE, Floats, SlowTerm, settled
from packs.units import Quantity, ureg

Ints: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]

PULSE = ureg.Quantity(10.0, "s")
NO_RESISTANCE = ureg.Quantity(0.0, "ohm")
LEAST_SHARE = 0.05


@dataclass(frozen=True)
class ResistanceOverCharge:
    """How a cell's DC resistance changes with its state of charge, against where it was measured.

    Attributes
    ----------
    states : tuple of float, shape (points,)
        From 0 to 1, rising; beyond either end the resistance stays as there.
    factors : tuple of float, shape (points,)
        Resistance by the resistance of ``Cell.dc_resistance``, above zero.
    """

    states: tuple[float, ...]
    factors: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.states) != len(self.factors) or not self.states:
            raise ImpossibleValue("Every state of charge has one factor of the resistance.")
        if not (np.diff(self.states) > 0).all() or not all(0 < factor < np.inf for factor in self.factors):
            raise ImpossibleValue("States of charge rise, and a factor of the resistance lies above zero.")


EVEN = ResistanceOverCharge((0.0,), (1.0,))


@dataclass(frozen=True, eq=False)
class PackCells:
    """Cells group by group from the negative end, shape (cells,), and what they share.

    Attributes
    ----------
    sizes : tuple of int, shape (series,)
        Cells of each group.
    coulombs, ohm : array of float, shape (cells,)
        Capacity [C] and DC resistance [Ω].
    curve : OcvCurve
        Rest voltage of all of them.
    over_charge : ResistanceOverCharge
        How the resistance changes with the charge.
    pulse_seconds : float
        How long the pulse lasted that gave the resistance [s].
    slow : SlowTerm or None
        What comes after the pulse.
    path_ohm : float
        Strips, joints, leads in series with the groups [Ω].
    """

    sizes: tuple[int, ...]
    coulombs: Floats
    ohm: Floats
    curve: OcvCurve
    over_charge: ResistanceOverCharge
    pulse_seconds: float
    slow: SlowTerm | None
    path_ohm: float

    @cached_property
    def starts(self) -> Ints:
        """Index of the first cell of each group."""
        return np.concatenate([[0], np.cumsum(self.sizes)[:-1]]).astype(np.int64)

    @cached_property
    def group(self) -> Ints:
        """Index of the group of each cell."""
        return np.repeat(np.arange(len(self.sizes)), self.sizes)

    @cached_property
    def slow_seconds(self) -> tuple[float, float]:
        """Both τ of the slow term [s]; zero without one."""
        return self.slow.seconds if self.slow else (0.0, 0.0)

    @cached_property
    def slow_ohm(self) -> Floats:
        """What the straight electrode adds in the end [Ω], shape (cells,)."""
        slope = self.slow.slope_volt if self.slow else 0.0
        return self.slow_seconds[1] / 15 * slope / self.coulombs

    @cached_property
    def lag(self) -> Floats:
        """State of charge by which the surface runs ahead in the end, per ampere [1/A], shape (cells,)."""
        return self.slow_seconds[0] / 15 / self.coulombs

    def ohms(self, states: Floats, slopes: Floats) -> Floats:
        """Return the resistance at once [Ω]: what the pulse gave, without what the slow term added during it."""
        measured = self.ohm * np.interp(states, self.over_charge.states, self.over_charge.factors)
        if self.slow is None:
            return measured
        bent, straight = (settled(self.pulse_seconds, constant) for constant in self.slow_seconds)
        slow = (straight - AT_ONCE) * self.slow_ohm + (bent - AT_ONCE) * self.lag * slopes
        return np.maximum(measured - slow, LEAST_SHARE * measured)

    def group_sum(self, values: Floats) -> Floats:
        """Add up the cells of each group, shape (cells,) → (series,)."""
        return np.add.reduceat(values, self.starts)


def pack_cells(
    groups: Sequence[Sequence[Cell]], curve: OcvCurve, *, over_charge: ResistanceOverCharge = EVEN,
    pulse: Quantity = PULSE, slow: SlowTerm | None = None, path_resistance: Quantity = NO_RESISTANCE,
) -> PackCells:  # fmt: skip
    """Gather what a forecast needs of a pack.

    Parameters
    ----------
    groups : sequence of sequence of Cell
        From the negative end, with capacity [charge] and DC resistance [resistance] of each cell.
    curve : OcvCurve
        Rest voltage by state of charge, the same for all.
    over_charge : ResistanceOverCharge
        How the resistance changes with the charge; left out, it does not.
    pulse : Quantity
        How long the pulse lasted that gave the DC resistance [time].
    slow : SlowTerm, optional
        Left out, the forecast ends too late and its voltages are too high.
    path_resistance : Quantity
        Of what joins the groups and leads out [resistance].

    Raises
    ------
    MissingFact
        A cell's capacity or DC resistance was not measured; a 1 kHz resistance is smaller and gives no forecast.
    ImpossibleValue
        A group is empty, or a value is not above zero.

    References
    ----------
    IEC 61960-3, 7.7.3, for DC resistance and its difference from the one at 1 kHz (from memory, not verified).

    Examples
    --------
    >>> from packs.chemistry import curves_of
    >>> from packs.terms import Chemistry
    >>> only = Cell("A1", ureg.Quantity(2.6, "Ah"))
    >>> pack_cells([[only]], curves_of(Chemistry.NMC)[0])
    Traceback (most recent call last):
        ...
    packs.errors.MissingFact: DC resistance not measured: cell A1. A 1 kHz resistance gives no forecast.
    """
    if not groups or not all(groups):
        raise ImpossibleValue("A pack has groups, and every group has cells.")
    cells = [cell for group in groups for cell in group]
    coulombs = np.array([_coulombs(cell) for cell in cells])
    ohm = np.array([_ohm(cell) for cell in cells])
    path = float(path_resistance.to("ohm").magnitude)
    seconds = float(pulse.to("s").magnitude)
    above = np.concatenate([coulombs, ohm, [seconds]])
    if not (np.isfinite(above).all() and (above > 0).all() and 0 <= path < np.inf):
        raise ImpossibleValue("Capacity, resistance and length of the pulse lie above zero.")
    sizes = tuple(len(group) for group in groups)
    return PackCells(sizes, coulombs, ohm, curve, over_charge, seconds, slow, path)


def _coulombs(cell: Cell) -> float:
    if cell.capacity is None:
        raise MissingFact(f"Capacity not measured: cell {cell.code}.")
    return float(cell.capacity.to("C").magnitude)


def _ohm(cell: Cell) -> float:
    if cell.dc_resistance is None:
        raise MissingFact(f"DC resistance not measured: cell {cell.code}. A 1 kHz resistance gives no forecast.")
    return float(cell.dc_resistance.to("ohm").magnitude)
