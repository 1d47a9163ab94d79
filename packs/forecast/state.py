"""Where every cell of a pack stands, what it offers from there, and where a current takes it."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from packs.errors import ImpossibleValue
from packs.forecast.cells import PackCells
from packs.forecast.slow import ROOTS, WEIGHTS, Floats


@dataclass(frozen=True, eq=False)
class State:
    """One moment of a pack.

    Attributes
    ----------
    charge : array of float, shape (cells,)
        State of charge of each cell, 1 full.
    modes : array of float, shape (2, modes, cells)
        Current that each mode of the slow term has followed so far [A].
    """

    charge: Floats
    modes: Floats


def rested(pack: PackCells, charge: float | Sequence[float] = 1.0) -> State:
    """Return a pack that has rested for long.

    Parameters
    ----------
    pack : PackCells
        [C], [Ω]
    charge : float or sequence of float, shape (cells,)
        State of charge from 0 to 1 of all cells, or of each.

    Raises
    ------
    ImpossibleValue
        A state of charge lies outside 0 to 1, or there are not as many as cells.

    References
    ----------
    Derived here: after a long rest no mode of the slow term is left.
    """
    cells = len(pack.coulombs)
    states = np.asarray(charge, dtype=np.float64)
    if states.shape not in {(), (cells,)} or not ((states >= 0) & (states <= 1)).all():
        raise ImpossibleValue("A state of charge lies from 0 to 1, one for all cells or one for each.")
    return State(np.broadcast_to(states, (cells,)).copy(), np.zeros((2, len(ROOTS), cells)))


@dataclass(frozen=True, eq=False)
class Offer:
    """Cells as sources behind resistances at one moment, shape (cells,), and the groups and the pack they make.

    Attributes
    ----------
    open_volt, volt : array of float
        Rest voltage of the charge a cell holds, and what is left of it behind the slow term [V].
    ohm : array of float
        Resistance at once [Ω].
    slopes : array of float
        Of the rest voltage over a full charge, at the surface [V].
    modes : array of float, shape (2, modes, cells)
        As ``State.modes`` [A].
    known : dict
        Averages over a step, by its length [s], once they were asked for.
    """

    pack: PackCells
    open_volt: Floats
    volt: Floats
    ohm: Floats
    slopes: Floats
    modes: Floats
    known: dict[float, tuple[Floats, Floats]] = field(default_factory=dict)

    def average(self, seconds: float) -> tuple[Floats, Floats]:
        """Return voltage and resistance of each cell [V], [Ω]: at once, or as they are on average over a step.

        Charge taken and the slow term lower a cell's voltage while the step lasts, as a resistance would; the slow
        term only by what the current differs from those its modes have followed. How much of that counts on average
        follows from a current that falls off by exp(−z), z = fall/resistance: half of it for short steps, all of it
        for long ones. Without it, shares of cells on a steep curve would swing.
        """
        if not seconds:
            return self.volt, self.ohm
        if seconds not in self.known:
            self.known[seconds] = self._averaged(seconds)
        return self.known[seconds]

    def _averaged(self, seconds: float) -> tuple[Floats, Floats]:
        pack = self.pack
        settling = WEIGHTS * (1.0 - _left(pack, seconds)) if pack.slow else np.zeros((2, len(ROOTS)))
        drops = np.stack([pack.lag * self.slopes, pack.slow_ohm])
        fall = seconds / pack.coulombs * self.slopes + (settling.sum(axis=1)[:, None] * drops).sum(axis=0)
        z = np.maximum(fall / self.ohm, 1e-3)
        counted = -1.0 / np.expm1(-z) - 1.0 / z
        followed = (np.einsum("km,kmc->kc", settling, self.modes) * drops).sum(axis=0)
        return self.volt + counted * followed, self.ohm + counted * fall

    def sources(self, seconds: float) -> tuple[Floats, Floats]:
        """Return voltage and resistance of each group [V], [Ω]: as they are, or on average over a step."""
        volt, ohm = self.average(seconds)
        total = self.pack.group_sum(1.0 / ohm)
        return self.pack.group_sum(volt / ohm) / total, 1.0 / total

    def shares(self, amps: float, seconds: float) -> Floats:
        """Return the current of each cell [A] while the pack gives one, at once or on average over a step."""
        volt, ohm = self.average(seconds)
        volts, ohms = self.sources(seconds)
        return (volt - (volts - amps * ohms)[self.pack.group]) / ohm


def surface(pack: PackCells, state: State) -> Floats:
    """Return the state of charge at the surface of the electrode whose curve bends, shape (cells,) [dimensionless].

    References
    ----------
    The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere).
    """
    return state.charge - pack.lag * (WEIGHTS @ state.modes[0])


def offer(pack: PackCells, state: State) -> Offer:
    """Return what the cells of a pack offer where they stand [V], [Ω].

    References
    ----------
    Kirchhoff's laws; The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere).
    """
    straight = WEIGHTS @ state.modes[1]
    volt, slopes = _on_curve(pack, surface(pack, state))
    ohm = pack.ohms(state.charge, slopes)
    open_volt, _ = _on_curve(pack, state.charge)
    return Offer(pack, open_volt, volt - pack.slow_ohm * straight, ohm, slopes, state.modes)


def _on_curve(pack: PackCells, states: Floats) -> tuple[Floats, Floats]:
    """Rest voltage and slope [V]; beyond its ends the curve goes on as steeply as it ended."""
    at, volts, slopes = pack.curve.points
    place = np.clip(np.searchsorted(at, states, side="right") - 1, 0, len(at) - 2)
    slope = slopes[place]
    return volts[place] + slope * (states - at[place]), slope


def step(pack: PackCells, state: State, amps: Floats, seconds: float) -> State:
    """Return where currents of the cells [A] take them in some time [s], exact for currents that stay.

    References
    ----------
    Derived here: charge is conserved, and each mode of the slow term follows its current exponentially.
    """
    charge = state.charge - amps * seconds / pack.coulombs
    if pack.slow is None:
        return State(charge, state.modes)
    return State(charge, amps + (state.modes - amps) * _left(pack, seconds)[:, :, None])


def _left(pack: PackCells, seconds: float) -> Floats:
    """How much of each mode is still as it was after some time, shape (2, modes)."""
    constants = np.maximum(np.array(pack.slow_seconds), 1e-9)
    return np.exp(-seconds * ROOTS**2 / constants[:, None])
