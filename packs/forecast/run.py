"""A pack followed step by step: discharge, charge, rest."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import isfinite
from typing import TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.forecast.cells import PackCells
from packs.forecast.loads import ConstantCurrent, Load
from packs.forecast.result import End, Forecast
from packs.forecast.slow import Floats
from packs.forecast.state import Offer, State, offer, rested, step, surface
from packs.units import Quantity, ureg

STEP = ureg.Quantity(10.0, "s")
LONGEST = ureg.Quantity(200.0, "hour")
LARGEST_CHARGE_ERROR = 1e-6  # of the charge in the pack: what is left of the digits after some thousand steps

# From what the cells offer and half a step's softening [s] to the current of the pack [A].
Rule: TypeAlias = Callable[[Offer, float], float]
# What ends a forecast: the groups' margins [V] or [1], each above zero until its end is reached.
Margins: TypeAlias = Callable[[Floats, State], dict[End, Floats]]


def discharge(
    pack: PackCells, load: Load, *, end_of_discharge: Quantity, start: State | None = None, every: Quantity = STEP,
    longest: Quantity = LONGEST,
) -> Forecast:  # fmt: skip
    """Discharge a pack until the first of its groups reaches its end of discharge or has given all it can.

    That is its measured capacity, less what is still on its way to the surface of the electrode: beyond it the curve
    says nothing, and the voltage collapses.

    Parameters
    ----------
    pack : PackCells
        [C], [Ω]
    load : Load
        Constant current [A], power [W] or resistance [Ω].
    end_of_discharge : Quantity
        Of one group [voltage].
    start : State, optional
        Full and rested where not given.
    every : Quantity
        Step [time].
    longest : Quantity
        When to stop at the latest [time].

    Returns
    -------
    Forecast
        [s], [A], [V], [Ah], [Wh]; the last step ends where the group ends.

    Raises
    ------
    ImpossibleValue
        The step or the longest time is not above zero, the voltage not a number, or charge was not conserved.

    References
    ----------
    Kirchhoff's laws, conservation of charge; The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere), for the
    slow term.

    Examples
    --------
    >>> from packs.cells import Cell
    >>> from packs.chemistry import curves_of
    >>> from packs.forecast.cells import pack_cells
    >>> from packs.terms import Chemistry
    >>> cells = [Cell(f"A{number}", ureg.Quantity(2.5, "Ah"), None, ureg.Quantity(30, "mΩ")) for number in (1, 2)]
    >>> pair = pack_cells([cells], curves_of(Chemistry.NMC)[0])
    >>> end = ureg.Quantity(2.8, "V")
    >>> result = discharge(pair, ConstantCurrent(ureg.Quantity(1, "A")), end_of_discharge=end)
    >>> f"{result.charge:.2f}", str(result.ended_by)
    ('4.94 ampere_hour', 'a group reached its end of discharge')
    """
    lowest = _volts(end_of_discharge)

    def margins(volts: Floats, state: State) -> dict[End, Floats]:
        held = pack.group_sum(surface(pack, state) * pack.coulombs) / pack.group_sum(pack.coulombs)
        return {End.END_OF_DISCHARGE: volts - lowest, End.EMPTY: held}

    return _followed(pack, _Run(_rule(pack, load), margins, start or rested(pack), every, longest))


def charge(
    pack: PackCells, current: Quantity, *, charge_limit: Quantity, ends_below: Quantity, start: State,
    every: Quantity = STEP, longest: Quantity = LONGEST,
) -> Forecast:  # fmt: skip
    """Charge a pack: constant current until its highest group reaches the charge limit, which then holds that group.

    A charger that watches the whole pack alone carries the highest group further than this; the forecast shows by
    ``Forecast.spreads`` how far apart the groups are.

    Parameters
    ----------
    pack : PackCells
        [C], [Ω]
    current : Quantity
        Into the pack, above zero [current].
    charge_limit : Quantity
        Of one group [voltage].
    ends_below : Quantity
        Current into the pack at which the charge ends [current].
    start : State
        Where it begins.
    every, longest : Quantity
        As ``discharge``.

    Returns
    -------
    Forecast
        Charge, energy and currents below zero.

    Raises
    ------
    ImpossibleValue
        As ``discharge``, or a current is not above zero.

    References
    ----------
    Kirchhoff's laws; IEC 61960-3, 7.2, for the way of charging (from memory, not verified).
    """
    most, least, highest = _amps(current), _amps(ends_below), _volts(charge_limit)
    if not 0 < least < most:
        raise ImpossibleValue("A charge begins with more current than it ends with, and both lie above zero.")

    def into(offered: Offer, seconds: float) -> float:
        volts, ohms = offered.sources(seconds)
        return -max(0.0, min(most, float(((highest - volts) / ohms).min())))

    def margins(volts: Floats, state: State) -> dict[End, Floats]:
        amps = into(offer(pack, state), 0.0)
        return {End.CHARGED: np.where(volts >= volts.max(), -amps - least, np.inf)}

    return _followed(pack, _Run(into, margins, start, every, longest))


def rest(pack: PackCells, duration: Quantity, *, start: State, every: Quantity = STEP) -> Forecast:
    """Leave a pack alone: groups settle, cells of a group level out.

    Parameters
    ----------
    pack : PackCells
        [C], [Ω]
    duration : Quantity
        [time]
    start : State
        Where it begins.
    every : Quantity
        Step [time].

    Returns
    -------
    Forecast
        Its heat is what cells of a group lose to each other.

    Raises
    ------
    ImpossibleValue
        As ``discharge``.

    References
    ----------
    Kirchhoff's laws; The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere), for the
    slow term.
    """
    nothing = ConstantCurrent(ureg.Quantity(0.0, "A"))
    return _followed(pack, _Run(_rule(pack, nothing), lambda volts, state: {}, start, every, duration))


def _rule(pack: PackCells, load: Load) -> Rule:
    def drawn(offered: Offer, seconds: float) -> float:
        volts, ohms = offered.sources(seconds)
        return load.amps(float(volts.sum()), float(ohms.sum()) + pack.path_ohm)

    return drawn


@dataclass
class _Run:
    """One forecast while it is followed."""

    rule: Rule
    margins: Margins
    state: State
    every: Quantity
    longest: Quantity
    seconds: list[float] = field(default_factory=lambda: [0.0])
    amps: list[float] = field(default_factory=list)
    volts: list[Floats] = field(default_factory=list)
    given: float = 0.0
    joules: float = 0.0
    heat: float = 0.0


@dataclass(frozen=True)
class _Moment:
    """What stands at one moment under the load: offer, current, currents of the cells, voltages of the groups."""

    offered: Offer
    amps: float
    cells: Floats
    volts: Floats


def _moment(pack: PackCells, run: _Run, state: State) -> _Moment:
    offered = offer(pack, state)
    amps = run.rule(offered, 0.0)
    volts, ohms = offered.sources(0.0)
    return _Moment(offered, amps, offered.shares(amps, 0.0), volts - amps * ohms)


def _followed(pack: PackCells, run: _Run) -> Forecast:
    seconds, longest = float(run.every.to("s").magnitude), float(run.longest.to("s").magnitude)
    if not (isfinite(seconds) and seconds > 0 and isfinite(longest) and longest > 0):
        raise ImpossibleValue("Steps and times lie above zero.")
    begun = run.state
    now, ended = _moment(pack, run, run.state), None
    if not isfinite(now.amps):
        raise ImpossibleValue("The pack cannot give that power at all.")
    run.amps, run.volts = [now.amps], [now.volts]
    while ended is None and run.seconds[-1] < longest:
        now, ended = _stepped(pack, run, now, min(seconds, longest - run.seconds[-1]))
    return _result(pack, run, begun, ended or (End.TIME, None))


def _stepped(
    pack: PackCells, run: _Run, before: _Moment, seconds: float
) -> tuple[_Moment, tuple[End, int | None] | None]:
    """Go one step; where a group ends within it, only as far as there."""
    margins = run.margins(before.volts, run.state)
    if ended := _reached(margins):
        return before, ended
    amps, cells, state, after = _tried(pack, run, before, seconds)
    if not isfinite(after.amps):
        return before, (End.POWER, None)
    share, ended = _crossing(margins, run.margins(after.volts, state))
    if ended:
        seconds *= share
        amps, cells, state, after = _tried(pack, run, before, seconds)
    _count(pack, run, (before, after), amps, cells, seconds)
    run.state = state
    run.seconds.append(run.seconds[-1] + seconds)
    run.amps.append(after.amps)
    run.volts.append(after.volts)
    return after, ended


def _tried(pack: PackCells, run: _Run, before: _Moment, seconds: float) -> tuple[float, Floats, State, _Moment]:
    amps = run.rule(before.offered, seconds)
    amps = amps if isfinite(amps) else before.amps
    cells = before.offered.shares(amps, seconds)
    state = step(pack, run.state, cells, seconds)
    return amps, cells, state, _moment(pack, run, state)


def _count(
    pack: PackCells, run: _Run, ends: tuple[_Moment, _Moment], amps: float, cells: Floats, seconds: float
) -> None:
    """Add a step's charge, energy and heat, each with the mean of its two ends."""
    volt = sum(float(moment.volts.sum()) for moment in ends) / 2 - amps * pack.path_ohm
    drop = sum((moment.offered.open_volt - moment.volts[pack.group]) for moment in ends) / 2
    run.given += amps * seconds
    run.joules += amps * volt * seconds
    run.heat += (float(cells @ drop) + amps**2 * pack.path_ohm) * seconds


def _reached(margins: dict[End, Floats]) -> tuple[End, int | None] | None:
    for end, left in margins.items():
        if left.min() <= 0:
            return end, int(left.argmin())
    return None


def _crossing(before: dict[End, Floats], after: dict[End, Floats]) -> tuple[float, tuple[End, int | None] | None]:
    """Share of the step after which the first margin is used up, and whose it was."""
    first, ended = 1.0, None
    for end, left in after.items():
        for group in np.flatnonzero(left <= 0):
            share = float(before[end][group] / (before[end][group] - left[group]))
            if ended is None or share < first:
                first, ended = share, (end, int(group))
    return first, ended


def _result(pack: PackCells, run: _Run, begun: State, ended: tuple[End, int | None]) -> Forecast:
    taken = pack.group_sum((begun.charge - run.state.charge) * pack.coulombs)
    error = float(np.abs(taken - run.given).max())
    if error > LARGEST_CHARGE_ERROR * float(pack.group_sum(pack.coulombs).max()):
        raise ImpossibleValue("The charge that left the cells is not the charge that was given.")
    return Forecast(
        seconds=np.array(run.seconds),
        amps=np.array(run.amps),
        group_volts=np.array(run.volts),
        path_ohm=pack.path_ohm,
        ended_by=ended[0],
        ending_group=ended[1],
        charge=ureg.Quantity(run.given, "C").to("Ah"),
        energy=ureg.Quantity(run.joules, "J").to("Wh"),
        heat=ureg.Quantity(run.heat, "J").to("Wh"),
        charge_error=ureg.Quantity(error, "C"),
        state=run.state,
    )


def _volts(voltage: Quantity) -> float:
    volts = float(voltage.to("V").magnitude)
    if not isfinite(volts):
        raise ImpossibleValue("A voltage is a number.")
    return volts


def _amps(current: Quantity) -> float:
    return float(current.to("A").magnitude)
