"""Cells in parallel: one bus voltage, and a current in every cell."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from packs.network.checked import ohms_of, volts_and_ohms
from packs.units import Quantity, ureg

NO_CURRENT = ureg.Quantity(0.0, "A")


def group_resistance(resistances: Sequence[Quantity]) -> Quantity:
    """Return the resistance of cells in parallel [mΩ]: R = 1 / Σ(1/Rᵢ).

    Raises
    ------
    ImpossibleValue
        No cell is given, or a resistance is not above zero.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> f"{group_resistance([ureg.Quantity(20, 'mΩ'), ureg.Quantity(24, 'mΩ')]):.4f}"
    '10.9091 milliohm'
    """
    return ureg.Quantity(1000.0 * float(in_parallel(ohms_of(resistances))), "milliohm")


def in_parallel(resistances: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return what resistances along the last axis have in parallel, in their own unit such as [Ω]: R = 1 / Σ(1/Rᵢ).

    NaN where one is not known.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> in_parallel([[20.0, 20.0], [30.0, 60.0]]).round(6).tolist()
    [10.0, 20.0]
    """
    whole: npt.NDArray[np.float64] = 1.0 / (1.0 / np.asarray(resistances, dtype=np.float64)).sum(-1)
    return whole


def bus_voltage(
    voltages: Sequence[Quantity], resistances: Sequence[Quantity], current: Quantity = NO_CURRENT
) -> Quantity:
    """Return the voltage of a parallel group [V]: (Σ(Vᵢ/Rᵢ) − I) / Σ(1/Rᵢ).

    Parameters
    ----------
    voltages, resistances : sequence of Quantity
        Rest voltage and resistance of each cell, in the same order.
    current : Quantity
        Drawn from the group; below zero when it is charged.

    Raises
    ------
    ImpossibleValue
        No cell is given, the two lists differ in length, or a value cannot be.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> cells = [ureg.Quantity(4.10, "V"), *[ureg.Quantity(3.60, "V")] * 3]
    >>> f"{bus_voltage(cells, [ureg.Quantity(40, 'mΩ')] * 4):.3f}"
    '3.725 volt'
    """
    volts, ohms = volts_and_ohms(voltages, resistances)
    return ureg.Quantity(bus_volts(volts, ohms, float(current.to("A").magnitude)), "V")


def branch_currents(voltages: Sequence[Quantity], resistances: Sequence[Quantity], current: Quantity) -> list[Quantity]:
    """Return the current out of each cell of a group [A]: (Vᵢ − V_bus) / Rᵢ; they add up to the current drawn.

    Parameters, errors and source as ``bus_voltage``.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> volts, ohms = [ureg.Quantity(3.7, "V")] * 2, [ureg.Quantity(20, "mΩ"), ureg.Quantity(24, "mΩ")]
    >>> [f"{amps:.4f}" for amps in branch_currents(volts, ohms, ureg.Quantity(10, "A"))]
    ['5.4545 ampere', '4.5455 ampere']
    """
    volts, ohms = volts_and_ohms(voltages, resistances)
    bus = bus_volts(volts, ohms, float(current.to("A").magnitude))
    return [ureg.Quantity((volt - bus) / ohm, "A") for volt, ohm in zip(volts, ohms, strict=True)]


def equalising_currents(voltages: Sequence[Quantity], resistances: Sequence[Quantity]) -> list[Quantity]:
    """Return the current out of each cell [A] the moment all are joined and nothing is drawn.

    Parameters, errors and source as ``bus_voltage``.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> volts, ohms = [ureg.Quantity(4.2, "V"), ureg.Quantity(3.0, "V")], [ureg.Quantity(30, "mΩ")] * 2
    >>> [f"{amps:.1f}" for amps in equalising_currents(volts, ohms)]
    ['20.0 ampere', '-20.0 ampere']
    """
    return branch_currents(voltages, resistances, NO_CURRENT)


def bus_volts(volts: Sequence[float], ohms: Sequence[float], amps: float) -> float:
    """Return the bus voltage [V] from plain numbers: volts, ohms and the amperes drawn.

    References
    ----------
    Kirchhoff's laws.
    """
    driven = sum(volt / ohm for volt, ohm in zip(volts, ohms, strict=True))
    return (driven - amps) / sum(1.0 / ohm for ohm in ohms)
