"""Whether a fuse suits a pack: what it breaks, what it carries, and whether it clears in time.

A check against data sheets; it does not replace the maker's advice, nor the local rules.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log

from packs.conductors.adiabatic import adiabatic_time
from packs.conductors.checked import above_zero, size_of, zero_or_more
from packs.conductors.conductor import Conductor
from packs.conductors.heating import COVERED, Surface, rise_by_surface
from packs.errors import ImpossibleValue
from packs.materials import ROOM, Metal
from packs.terms import Outcome
from packs.units import Quantity, ureg

Curve = tuple[tuple[Quantity, Quantity], ...]


@dataclass(frozen=True)
class Fuse:
    """A fuse as its data sheet gives it; ``None`` or an empty curve means the sheet does not say.

    Attributes
    ----------
    rated_current : Quantity
        Carried without end [current].
    dc_voltage : Quantity or None
        Largest direct voltage that it breaks [voltage]; a rating for alternating voltage says nothing about it.
    breaking_capacity : Quantity or None
        Largest direct current that it breaks at that voltage [current].
    melting, clearing : tuple of (Quantity, Quantity)
        Points of the curves of current [current] against the shortest time until it melts and the longest until it
        has cleared [time], by rising current.

    Raises
    ------
    ImpossibleValue
        A value is not above zero, or a curve does not fall.
    """

    rated_current: Quantity
    dc_voltage: Quantity | None = None
    breaking_capacity: Quantity | None = None
    melting: Curve = ()
    clearing: Curve = ()

    def __post_init__(self) -> None:
        above_zero(self.rated_current, "ampere", "The rated current of a fuse")
        for curve in (self.melting, self.clearing):
            points = _points(curve)
            if any(b[0] <= a[0] or b[1] > a[1] for a, b in pairwise(points)):
                raise ImpossibleValue("The curve of a fuse runs to shorter times at larger currents.")


@dataclass(frozen=True)
class FuseDuty:
    """What is asked of a fuse.

    Attributes
    ----------
    highest_voltage : Quantity or None
        Of the pack, fully charged [voltage].
    short_circuit_current : Quantity or None
        Prospective, at the connector [current].
    continuous, peak : Quantity
        Of the pack [current].
    peak_time : Quantity
        How long the peak lasts [time].
    """

    highest_voltage: Quantity | None
    short_circuit_current: Quantity | None
    continuous: Quantity
    peak: Quantity
    peak_time: Quantity


@dataclass(frozen=True)
class Protected:
    """A conductor that a fuse is to spare.

    Attributes
    ----------
    damaged_at : Quantity
        Temperature that damages it, or what it touches [temperature].
    surface : Surface
        How it gives off heat [W/(m²·K)].
    """

    name: str
    conductor: Conductor
    damaged_at: Quantity
    surface: Surface = COVERED


@dataclass(frozen=True)
class FuseCheck:
    """One question to a fuse: its outcome, what was compared, and where.

    Attributes
    ----------
    question : str
        As a sentence that is true when it holds.
    outcome : Outcome
        Unknown where the data sheet or the pack does not say; unknown is no pass.
    value, limit : Quantity or None
        What was compared, in like units [voltage], [current] or [time].
    where : str
        Conductor and current of the tightest case, for the last question.
    """

    question: str
    outcome: Outcome
    value: Quantity | None = None
    limit: Quantity | None = None
    where: str = ""


def melting_time(fuse: Fuse, current: Quantity) -> Quantity | None:
    """Return the shortest time in which a fuse melts [s].

    Straight between the points of its curve on logarithmic scales; beyond the last one I²·t stays as it is there.

    Parameters
    ----------
    fuse : Fuse
        [current], [time]
    current : Quantity
        [current]

    Returns
    -------
    Quantity or None
        [s]; None short of the first point, and without a curve.

    References
    ----------
    Common practice, no source: curves are printed on logarithmic scales; short of heat loss I²·t is constant.
    """
    return _read(fuse.melting, current)


def clearing_time(fuse: Fuse, current: Quantity) -> Quantity | None:
    """Return the longest time in which a fuse clears [s], read as ``melting_time``.

    Parameters
    ----------
    fuse : Fuse
        [current], [time]
    current : Quantity
        [current]

    References
    ----------
    Common practice, no source.
    """
    return _read(fuse.clearing, current)


def check_fuse(
    fuse: Fuse, duty: FuseDuty, protected: Sequence[Protected], start: Quantity = ROOM
) -> tuple[FuseCheck, ...]:
    """Ask a fuse whether it breaks the pack's voltage and current, carries its load, and clears in time.

    The last question is asked for every conductor at every current of the clearing curve up to the prospective
    short circuit, and there; the tightest case is told. Currents that a conductor stands without end are left out.
    Between the rated current and the first point of the curve nothing is known of the fuse.

    Parameters
    ----------
    fuse : Fuse
        [voltage], [current], [time]
    duty : FuseDuty
        [voltage], [current], [time]
    protected : sequence of Protected
        Strip and leads [temperature].
    start : Quantity
        Of the conductors before the fault [temperature]; that of the continuous load where it is known. It counts as
        the temperature of the air for currents that last.

    Returns
    -------
    tuple of FuseCheck
        Voltage, breaking capacity, continuous current, peak, clearing.

    Raises
    ------
    ImpossibleValue
        A value is not a number; or as ``adiabatic_time``.

    References
    ----------
    Common practice, no source, for what is asked; IEC 60949 for how long a conductor stands a current.
    """
    zero_or_more(duty.peak_time, "second", "The time a peak lasts")
    return (
        _at_least("It breaks the highest voltage of the pack.", fuse.dc_voltage, duty.highest_voltage),
        _at_least("It breaks the prospective short circuit.", fuse.breaking_capacity, duty.short_circuit_current),
        _at_least("It carries the continuous current.", fuse.rated_current, duty.continuous),
        _carries_peak(fuse, duty),
        _clears_in_time(fuse, duty, protected, start),
    )


def _at_least(question: str, rating: Quantity | None, needed: Quantity | None) -> FuseCheck:
    if rating is None or needed is None:
        return FuseCheck(question, Outcome.UNKNOWN, rating, needed)
    return FuseCheck(question, _outcome(bool(rating >= needed)), rating, needed)


def _carries_peak(fuse: Fuse, duty: FuseDuty) -> FuseCheck:
    question = "It carries the peak for as long as it lasts."
    if duty.peak <= fuse.rated_current:
        return FuseCheck(question, Outcome.PASS, fuse.rated_current, duty.peak)
    melts = melting_time(fuse, duty.peak)
    if melts is None:
        return FuseCheck(question, Outcome.UNKNOWN, None, duty.peak_time)
    return FuseCheck(question, _outcome(bool(melts > duty.peak_time)), melts, duty.peak_time)


def _clears_in_time(fuse: Fuse, duty: FuseDuty, protected: Sequence[Protected], start: Quantity) -> FuseCheck:
    question = "It clears before a strip or lead is damaged."
    prospective = duty.short_circuit_current
    if prospective is None or not protected:
        return FuseCheck(question, Outcome.UNKNOWN)
    currents = [*(amps for amps, _ in fuse.clearing if amps < prospective), prospective]
    cases = [(part, amps) for part in protected for amps in currents if not _stands(part, amps, start)]
    times = [(clearing_time(fuse, amps), adiabatic_time(*_section(part), amps, part.damaged_at, start))
             for part, amps in cases]  # fmt: skip
    known = [(clears, stands) for clears, stands in times if clears is not None]
    if len(known) < len(cases):
        return FuseCheck(question, Outcome.UNKNOWN)
    if not cases:
        return FuseCheck(question, Outcome.PASS)
    tightest = min(range(len(known)), key=lambda case: float((known[case][1] / known[case][0]).to("").magnitude))
    (clears, stands), (part, amps) = known[tightest], cases[tightest]
    where = f"{part.name} at {float(amps.to('ampere').magnitude):.0f} A"
    return FuseCheck(question, _outcome(bool(clears < stands)), clears, stands, where)


def _stands(part: Protected, amps: Quantity, start: Quantity) -> bool:
    """Whether a conductor stands a current without end: its surface gives off all the heat."""
    rise = rise_by_surface(part.conductor, amps, part.surface, start)
    return rise is not None and bool(rise <= part.damaged_at - start)


def _section(part: Protected) -> tuple[Metal, Quantity]:
    return part.conductor.metal, part.conductor.area


def _outcome(holds: bool) -> Outcome:
    return Outcome.PASS if holds else Outcome.FAIL


def _points(curve: Curve) -> list[tuple[float, float]]:
    of_current, of_time = "The current of a fuse's curve", "The time of a fuse's curve"
    return [(above_zero(amps, "ampere", of_current), above_zero(time, "second", of_time)) for amps, time in curve]


def _read(curve: Curve, current: Quantity) -> Quantity | None:
    amps, points = size_of(current), _points(curve)
    if not points or amps < points[0][0]:
        return None
    last_amps, last_seconds = points[-1]
    if amps >= last_amps:
        return ureg.Quantity(last_seconds * (last_amps / amps) ** 2, "second")
    between = next(_straight(here, there) for here, there in pairwise(points) if amps <= there[0])
    return ureg.Quantity(between(amps), "second")


def _straight(here: tuple[float, float], there: tuple[float, float]) -> Callable[[float], float]:
    slope = log(there[1] / here[1]) / log(there[0] / here[0])
    return lambda amps: here[1] * exp(slope * log(amps / here[0]))
