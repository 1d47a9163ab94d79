"""Which part between cell and connector is nearest to its limit.

Every part is asked the same: which share of the current that it stands does it carry? For strip and wire that current
is the one of a permitted temperature rise; for a cell, a connector or a fuse it is the one of its data sheet.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from packs.conductors.adiabatic import adiabatic_current, adiabatic_rise
from packs.conductors.checked import above_zero, size_of, zero_or_more
from packs.conductors.conductor import Conductor
from packs.conductors.heating import SteadyRise, Surface, current_by_ends, current_by_surface, steady_rise
from packs.errors import MissingFact
from packs.materials import ROOM
from packs.units import Quantity, ureg

PERMITTED_RISE = ureg.Quantity(30.0, "delta_degC")
"""Common practice, no source: at 30 °C around it, a strip then stays at the 60 °C that cells are discharged up to."""


class Cooling(StrEnum):
    """By which model a short link between two cells is judged; a long conductor always by its surface."""

    SURFACE = "by its surface alone"
    ENDS = "by its ends alone"


@dataclass(frozen=True)
class Load:
    """What a part carries, and how it is judged.

    Attributes
    ----------
    continuous, peak : Quantity
        Through this part [current].
    peak_time : Quantity
        How long the peak lasts [time].
    permitted_rise : Quantity
        Above the air, lasting and after the peak [K].
    ambient : Quantity
        Of the air [temperature].
    """

    continuous: Quantity
    peak: Quantity
    peak_time: Quantity
    permitted_rise: Quantity = PERMITTED_RISE
    ambient: Quantity = ROOM


@dataclass(frozen=True)
class PathPart:
    """One part of the way from cell to connector.

    Attributes
    ----------
    name : str
        As a page tells it.
    load : Load
        What it carries [current].
    resistance : Quantity or None
        [resistance]; None where it is not known.
    conductor : Conductor or None
        Strip or wire; None for a joint, a cell, a connector.
    surface : Surface or None
        Of a conductor [W/(m²·K)].
    rated_continuous, rated_peak : Quantity or None
        By the data sheet of a cell, connector or fuse [current].
    between_cells : bool
        Whether it is a short link whose ends cells, or the cell of a tab, keep cool.
    count : int
        How many such parts the pack has [dimensionless]; the load is that of the one that carries most.
    """

    name: str
    load: Load
    resistance: Quantity | None = None
    conductor: Conductor | None = None
    surface: Surface | None = None
    rated_continuous: Quantity | None = None
    rated_peak: Quantity | None = None
    between_cells: bool = False
    count: int = 1


@dataclass(frozen=True)
class PartResult:
    """What a part does under its load; ``None`` where it is not known, or the part is no conductor.

    Attributes
    ----------
    part : PathPart
        Which.
    drop, loss : Quantity or None
        At the continuous current [voltage], [power].
    steady : SteadyRise or None
        By both models, at the continuous current [K].
    peak_rise : Quantity or None
        Added by the peak with all heat kept in the metal [K]; it begins where the continuous current ends.
    continuous_limit, peak_limit : Quantity or None
        Current that the part stands [current].
    continuous_use, peak_use : Quantity or None
        Share of it that is carried [dimensionless]; above 1 it is too much. Of a conductor the peak's share is that of
        the lasting current that would end as warm, and never more than the peak has if it lasts without end.
    """

    part: PathPart
    drop: Quantity | None
    loss: Quantity | None
    steady: SteadyRise | None
    peak_rise: Quantity | None
    continuous_limit: Quantity | None
    peak_limit: Quantity | None
    continuous_use: Quantity | None
    peak_use: Quantity | None

    @property
    def use(self) -> Quantity | None:
        """The larger of the two shares [dimensionless]; None where neither is known."""
        known = [share for share in (self.continuous_use, self.peak_use) if share is not None]
        return max(known, default=None)


def judge(part: PathPart, cooling: Cooling = Cooling.SURFACE) -> PartResult:
    """Return drop, loss, rise and shares of one part: [V], [W], [K], [A], [dimensionless].

    A conductor stands for a time what IEC 60949 gives from the temperature of the continuous load up to the permitted
    one, and never less than it stands without end. A cell whose sheet gives no peak is held to its continuous limit.

    Parameters
    ----------
    part : PathPart
        [current], [resistance]
    cooling : Cooling
        What a short link is held to; the surface lies on the careful side.

    Raises
    ------
    ImpossibleValue
        A current, time or rise cannot be.

    References
    ----------
    Ohm's law; Joule's law; Newton's law of cooling; Fourier's law of heat conduction; IEC 60949.
    """
    load, amps = part.load, size_of(part.load.continuous)
    zero_or_more(load.peak_time, "second", "The time a peak lasts")
    ohm = None if part.resistance is None else zero_or_more(part.resistance, "ohm", "A resistance")
    lasting, short = _limits(part, cooling)
    return PartResult(
        part=part,
        drop=None if ohm is None else ureg.Quantity(amps * ohm, "volt"),
        loss=None if ohm is None else ureg.Quantity(amps**2 * ohm, "watt"),
        steady=_steady(part),
        peak_rise=_peak_rise(part, lasting),
        continuous_limit=lasting,
        peak_limit=short,
        continuous_use=_share(load.continuous, lasting),
        peak_use=_peak_use(part, lasting, short),
    )


def weakest_part(parts: Iterable[PathPart]) -> PartResult:
    """Return the part with the largest share of what it stands [dimensionless], continuous or at the peak.

    Parameters
    ----------
    parts : iterable of PathPart
        From cell to connector [current].

    Raises
    ------
    MissingFact
        Of no part is it known what it stands.
    ImpossibleValue
        As ``judge``.

    References
    ----------
    As ``judge``: IEC 60949; Newton's law of cooling.
    """
    return weakest_result(judge(part) for part in parts)


def weakest_result(results: Iterable[PartResult]) -> PartResult:
    """Return the part with the largest share of what it stands [dimensionless], among parts already judged.

    Raises
    ------
    MissingFact
        Of no part is it known what it stands.

    References
    ----------
    As ``judge``: IEC 60949; Newton's law of cooling.
    """
    known = [(float(result.use.magnitude), result) for result in results if result.use is not None]
    if not known:
        raise MissingFact("Of no part of this pack is it known which current it stands.")
    return max(known, key=lambda case: case[0])[1]


def _steady(part: PathPart) -> SteadyRise | None:
    if part.conductor is None or part.surface is None:
        return None
    return steady_rise(part.conductor, part.load.continuous, part.surface, part.load.ambient)


def _before_peak(part: PathPart, lasting: Quantity) -> Quantity:
    """Rise of a conductor above the air under the continuous current [K]: by its square, never above the permitted.

    The square lies a little above the true rise, which the resistance bends down below the permitted one.
    """
    share = min(1.0, size_of(part.load.continuous) / float(lasting.to("ampere").magnitude))
    return share**2 * part.load.permitted_rise.to("delta_degC")


def _peak_rise(part: PathPart, lasting: Quantity | None) -> Quantity | None:
    if part.conductor is None or lasting is None:
        return None
    load = part.load
    start = load.ambient.to("degC") + _before_peak(part, lasting)
    return adiabatic_rise(part.conductor.metal, part.conductor.area, load.peak, load.peak_time, start)


def _limits(part: PathPart, cooling: Cooling) -> tuple[Quantity | None, Quantity | None]:
    if part.conductor is None or part.surface is None:
        return part.rated_continuous, part.rated_peak or part.rated_continuous
    load = part.load
    if part.between_cells and cooling is Cooling.ENDS:
        lasting = current_by_ends(part.conductor, load.permitted_rise, load.ambient)
    else:
        lasting = current_by_surface(part.conductor, load.permitted_rise, part.surface, load.ambient)
    return lasting, _for_a_time(part, part.conductor, lasting)


def _for_a_time(part: PathPart, conductor: Conductor, lasting: Quantity) -> Quantity:
    """Current for the time of the peak: adiabatic from where the continuous load ends, at least the lasting one."""
    load, room = part.load, part.load.ambient.to("degC")
    begin, end = room + _before_peak(part, lasting), room + load.permitted_rise.to("delta_degC")
    if not (begin < end and load.peak_time.magnitude > 0):
        return lasting
    return max(lasting, adiabatic_current(conductor.metal, conductor.area, load.peak_time, end, begin))


def _peak_use(part: PathPart, lasting: Quantity | None, short: Quantity | None) -> Quantity | None:
    """Share by how warm the peak leaves the part: √(rise after it ÷ permitted rise), as the lasting share is √ of its own.

    A current that is too much already is made worse by a short peak as little as it is made warmer.
    """
    load, added = part.load, _peak_rise(part, lasting)
    before, without_end = _share(load.continuous, lasting), _share(load.peak, lasting)
    if added is None or before is None or without_end is None or not load.peak_time.magnitude:
        return _share(load.peak, short)
    warm = float(before.magnitude) ** 2 + float((added / load.permitted_rise.to("delta_degC")).to("").magnitude)
    return min(without_end, ureg.Quantity(sqrt(warm), "dimensionless"))


def _share(current: Quantity, limit: Quantity | None) -> Quantity | None:
    if limit is None:
        return None
    return ureg.Quantity(size_of(current) / above_zero(limit, "ampere", "The current a part stands"), "dimensionless")
