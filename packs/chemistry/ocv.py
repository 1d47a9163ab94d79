"""Open-circuit voltage over state of charge: a table between whose points voltage runs straight."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.sources import Source
from packs.units import Quantity, ureg

Floats: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Half: TypeAlias = Sequence[tuple[float, float]]

CELL_STEPS = 1001


@dataclass(frozen=True)
class OcvCurve:
    """A rest voltage for every state of charge.

    Attributes
    ----------
    name : str
        What was measured.
    states : tuple of float, shape (points,)
        State of charge from 0 to 1, rising.
    volts : tuple of float, shape (points,)
        Rest voltage [V], rising.
    source : Source
        Where the points come from.
    """

    name: str
    states: tuple[float, ...]
    volts: tuple[float, ...]
    source: Source

    def __post_init__(self) -> None:
        states, volts = np.asarray(self.states), np.asarray(self.volts)
        if len(states) != len(volts) or len(states) < 2:
            raise ImpossibleValue("A curve has at least two points, each with a state of charge and a voltage.")
        if not (np.isfinite(states).all() and np.isfinite(volts).all()):
            raise ImpossibleValue("A point of the curve is not a number.")
        if states[0] != 0 or states[-1] != 1 or (np.diff(states) <= 0).any() or (np.diff(volts) <= 0).any():
            raise ImpossibleValue("A curve rises from 0 to 100 % of charge, and its voltage rises with it.")

    @cached_property
    def points(self) -> tuple[Floats, Floats, Floats]:
        """States, volts, and the slope after each point [V], the last one repeated."""
        states, volts = np.asarray(self.states, dtype=np.float64), np.asarray(self.volts, dtype=np.float64)
        slopes = np.diff(volts) / np.diff(states)
        return states, volts, np.append(slopes, slopes[-1])

    def voltage(self, state: float) -> Quantity:
        """Return the rest voltage at a state of charge from 0 to 1 [V]; beyond either end, that of the end."""
        return ureg.Quantity(float(np.interp(state, *self.points[:2])), "V")

    def state(self, voltage: Quantity) -> float:
        """Return the state of charge of a rest voltage on this one curve, from 0 to 1; beyond an end, that end.

        A cell of the same chemistry differs from the curve: ``state_of_charge`` gives the range that follows.
        """
        states, volts, _ = self.points
        return float(np.interp(float(voltage.to("V").magnitude), volts, states))

    def slope(self, state: float) -> Quantity:
        """Return the change of the rest voltage over a full charge at a state of charge [V]."""
        return ureg.Quantity(float(self.slopes(np.asarray([state]))[0]), "V")

    def slopes(self, states: Floats) -> Floats:
        """Return the slopes at states of charge [V], of the same shape."""
        at, _, slopes = self.points
        return slopes[np.clip(np.searchsorted(at, states, side="right") - 1, 0, len(at) - 2)]

    def mean_voltage(self) -> Quantity:
        """Return the mean rest voltage over a full charge [V]: energy of the cell at rest over its capacity."""
        states, volts, _ = self.points
        return ureg.Quantity(float(np.trapezoid(volts, states)), "V")


def full_cell_curve(
    name: str, positive: Half, negative: Half, window: tuple[float, float, float, float], source: Source
) -> OcvCurve:
    """Return the curve of a cell from the potentials of its two electrodes: U(s) = U₊(y(s)) − U₋(x(s)).

    Both electrodes fill and empty evenly with the charge: x(s) = x₀ + s(x₁ − x₀), y(s) = y₀ + s(y₁ − y₀). Points at
    which measured potentials run back by their noise are left out.

    Parameters
    ----------
    name : str
        What the curve stands for.
    positive, negative : sequence of (float, float)
        Stoichiometry, rising, and potential against lithium [V].
    window : tuple of float
        x₀, x₁, y₀, y₁: stoichiometry of the negative and of the positive electrode, empty and full.
    source : Source
        Where the tables and the window come from.

    Raises
    ------
    ImpossibleValue
        The voltage does not end at its highest.

    References
    ----------
    Definition of the cell voltage as the difference of its electrodes' potentials; J. Electrochem. Soc. 167 (2020)
    080534 (``SOURCES``: nmc811_model) for tables and window of one cell.

    Examples
    --------
    >>> from packs.sources import SOURCES
    >>> made_up = full_cell_curve("made up", [(0, 4.4), (1, 3.4)], [(0, 0.3), (1, 0.1)], (0, 1, 1, 0), SOURCES["practice"])
    >>> f"{made_up.voltage(0.5):.2f}"
    '3.70 volt'
    """
    states = np.linspace(0.0, 1.0, CELL_STEPS)
    x_empty, x_full, y_empty, y_full = window
    plus = np.interp(y_empty + states * (y_full - y_empty), *np.transpose(positive))
    minus = np.interp(x_empty + states * (x_full - x_empty), *np.transpose(negative))
    volts = plus - minus
    rising = np.diff(np.maximum.accumulate(volts), prepend=-np.inf) > 0
    return OcvCurve(name, tuple(states[rising].tolist()), tuple(volts[rising].tolist()), source)
