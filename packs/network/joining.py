"""Joining cells of unequal voltage: the currents that flow, and how the cells come to rest."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from packs.errors import ImpossibleValue
from packs.network.checked import volts_and_ohms
from packs.network.parallel import NO_CURRENT, bus_volts, in_parallel
from packs.units import Quantity, ureg


def joining_current_against_group(
    voltages: Sequence[Quantity], resistances: Sequence[Quantity], cell_index: int
) -> Quantity:
    """Return the current out of one cell [A] when it is joined to all the others, already joined together.

    I = (V − V_others) / (R + R_others), where the others stand as one source of their bus voltage. Alone, a cell
    joins nothing and the current is zero.

    Parameters
    ----------
    voltages, resistances : sequence of Quantity
        As ``bus_voltage``.
    cell_index : int
        Which cell is joined last, from 0.

    Raises
    ------
    ImpossibleValue
        As ``bus_voltage``.

    References
    ----------
    Kirchhoff's laws; Thévenin's equivalent of the others.

    Examples
    --------
    >>> cells = [ureg.Quantity(4.10, "V"), *[ureg.Quantity(3.60, "V")] * 3]
    >>> f"{joining_current_against_group(cells, [ureg.Quantity(40, 'mΩ')] * 4, 0):.3f}"
    '9.375 ampere'
    """
    volts, ohms = volts_and_ohms(voltages, resistances)
    volt, ohm = volts.pop(cell_index), ohms.pop(cell_index)
    if not volts:
        return NO_CURRENT
    others_ohm = float(in_parallel(ohms))
    return ureg.Quantity((volt - bus_volts(volts, ohms, 0.0)) / (ohm + others_ohm), "A")


@dataclass(frozen=True)
class Joining:
    """The worst current while a group is joined.

    Attributes
    ----------
    current : Quantity
        Its size, never below zero [A].
    cell_index : int
        The cell that carries it, from 0.
    into_cell : bool
        Whether it flows into that cell and so charges it.
    """

    current: Quantity
    cell_index: int
    into_cell: bool


def largest_joining_current(voltages: Sequence[Quantity], resistances: Sequence[Quantity]) -> Joining:
    """Return the largest current any cell can carry while a group is joined cell by cell, in whatever order.

    Voltages [voltage] and resistances [resistance] give a current [A].

    Notes
    -----
    Once cell i is joined with a set S of the others, it carries, with dⱼ = Vᵢ − Vⱼ and gⱼ = 1/Rⱼ over S,

        I = Σ gⱼdⱼ / (1 + Rᵢ Σ gⱼ),

    whichever of them came last. For the best value λ of this ratio, Σ gⱼ(dⱼ − λRᵢ) − λ is largest at zero, and
    it is largest when S takes exactly the cells with dⱼ > λRᵢ. So the worst set is a first part (prefix) of the
    others sorted by falling d, and for currents into the cell by rising d: trying all prefixes both ways is exact.
    The voltages are taken as before joining; cells that have settled meanwhile carry less.

    Parameters
    ----------
    voltages, resistances : sequence of Quantity
        As ``bus_voltage``.

    Returns
    -------
    Joining
        Zero for a single cell. Of equal currents, that of the lowest index.

    Raises
    ------
    ImpossibleValue
        As ``bus_voltage``.

    References
    ----------
    Kirchhoff's laws; the set is found as in linear-fractional optimisation (parametric argument above).

    Examples
    --------
    >>> cells = [ureg.Quantity(3.60, "V")] * 3 + [ureg.Quantity(4.10, "V")]
    >>> worst = largest_joining_current(cells, [ureg.Quantity(40, "mΩ")] * 4)
    >>> f"{worst.current:.3f}", worst.cell_index, worst.into_cell
    ('9.375 ampere', 3, False)
    """
    volts, ohms = volts_and_ohms(voltages, resistances)
    amps = [_worst_amps(volts, ohms, place) for place in range(len(volts))]
    index = max(range(len(amps)), key=lambda place: abs(amps[place]))
    return Joining(ureg.Quantity(abs(amps[index]), "A"), index, into_cell=amps[index] < 0)


def _worst_amps(volts: Sequence[float], ohms: Sequence[float], index: int) -> float:
    others = sorted((volts[index] - volts[place], 1.0 / ohms[place]) for place in range(len(volts)) if place != index)
    ratios = [*_prefix_amps(others, ohms[index]), *_prefix_amps(others[::-1], ohms[index])]
    return max(ratios, key=abs, default=0.0)


def _prefix_amps(others: Sequence[tuple[float, float]], ohm: float) -> list[float]:
    """Return the current against the first, the first two, ... of the others, given as (difference, 1/R)."""
    driven = accumulate(siemens * difference for difference, siemens in others)
    conductance = accumulate(siemens for _, siemens in others)
    return [amps / (1.0 + ohm * total) for amps, total in zip(driven, conductance, strict=True)]


@dataclass(frozen=True)
class Settling:
    """How two joined cells come to rest: time constant [s], charge moved [Ah], heat [J]."""

    time_constant: Quantity
    charge: Quantity
    heat: Quantity


def settling(
    voltage_difference: Quantity, loop_resistance: Quantity, capacities: tuple[Quantity, Quantity], slope: Quantity
) -> Settling:
    """Follow two joined cells to rest: τ = R/(k₁+k₂), charge = dV/(k₁+k₂), heat = ½·dV·charge.

    Valid while the rest voltage of both is linear in the state of charge.

    Parameters
    ----------
    voltage_difference : Quantity
        [voltage] before joining.
    loop_resistance : Quantity
        Of both cells and what joins them [resistance].
    capacities : pair of Quantity
        [charge]
    slope : Quantity
        Change of the rest voltage over a full charge [voltage]; k = slope / capacity.

    Raises
    ------
    ImpossibleValue
        A capacity, the resistance or the slope is not above zero.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> three = ureg.Quantity(3, "Ah")
    >>> result = settling(ureg.Quantity(50, "mV"), ureg.Quantity(60, "mΩ"), (three, three), ureg.Quantity(0.7, "V"))
    >>> f"{result.time_constant:.2f}", f"{result.heat:.3f}"
    ('462.86 second', '9.643 joule')
    """
    if not all(part.magnitude > 0 for part in (*capacities, loop_resistance, slope)):
        raise ImpossibleValue("Capacity, resistance and slope lie above zero.")
    stiffness = slope / capacities[0] + slope / capacities[1]
    charge = abs(voltage_difference) / stiffness
    heat = 0.5 * abs(voltage_difference) * charge
    return Settling((loop_resistance / stiffness).to("s"), charge.to("Ah"), heat.to("J"))
