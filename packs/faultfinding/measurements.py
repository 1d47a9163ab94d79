"""What can be measured: probe points, circumstance, and what it takes at the bench."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from packs.chemistry import Recovery, limits, recovery
from packs.errors import MissingFact
from packs.faultfinding.model import PackModel
from packs.faultfinding.narrowing import error_of
from packs.faultfinding.prediction import Pair, proves_nothing
from packs.faultfinding.readings import Circumstance, Place, Point, Reading
from packs.terms import Term


class Access(Term):
    """What has to be done before the probes are held, safest and cheapest first."""

    SHUT = "shut", "case shut"
    OPEN = "open", "case open"
    UNDER_LOAD = "under_load", "case open, under load"
    CHARGING = "charging", "with the charger, supervised"
    WAITING = "waiting", "a day later"


# Effort and risk of one measurement, to weigh what it tells against: common practice, no source.
EFFORT = {Access.SHUT: 1.0, Access.OPEN: 1.3, Access.UNDER_LOAD: 1.6, Access.CHARGING: 2.0, Access.WAITING: 2.5}

LOADED = frozenset({Circumstance.LOAD, Circumstance.OUTLET_LOAD})


@dataclass(frozen=True)
class Measurement:
    """One measurement: one set-up of the pack, and the pairs of points that are read in it one after another."""

    pairs: tuple[Pair, ...]
    circumstance: Circumstance
    access: Access

    @property
    def effort(self) -> float:
        """Effort and risk, for weighing alone: common practice, no source [dimensionless]."""
        return EFFORT[self.access]

    def __str__(self) -> str:
        low, high = self.pairs[0]
        more = f" and {len(self.pairs) - 1} more" if len(self.pairs) > 1 else ""
        where = f"{low} to {high}{more}"
        return f"{where}, {self.circumstance.label} ({self.access.label})"


def tap_pairs(series: int) -> tuple[Pair, ...]:
    """Return what a plug shows as groups: each from the positive end of the group below to its own.

    So a joint reads together with the group above it [V].

    References
    ----------
    Kirchhoff's voltage law.
    """
    taps = [Point(Place.GROUP, False, 1), *(Point(Place.GROUP, True, number) for number in range(1, series + 1))]
    return tuple(pairwise(taps))


def ends(place: Place, number: int = 0) -> Pair:
    """Return both contacts of one place, negative first: read in [V], the sensor in [Ω].

    References
    ----------
    Common practice, no source.
    """
    return Point(place, False, number), Point(place, True, number)


def available(model: PackModel, readings: Sequence[Reading], *, may_charge: bool = False) -> list[Measurement]:
    """Return what can be measured and has not been, and would prove something; voltages in [V].

    Parameters
    ----------
    model : PackModel
    readings : sequence of Reading
        So far.
    may_charge : bool
        Whether there is no danger sign and the cells lie within their charging temperatures. Measurements on the
        charger are offered only then, and once every group was read above the voltage below which none is charged.
        A load is offered on the open pack only once every group was looked at, at rest; and none at all while a group
        was read so low that it is not charged again, since the others would drive it backwards.

    References
    ----------
    Common practice, no source.
    """
    read = {(one.low, one.high, one.circumstance) for one in readings}
    offered = (replace(one, pairs=_unread(model, one, read)) for one in _every(model))
    withheld = _withheld(model, readings, may_charge=may_charge)
    spared = LOADED if any(_spent(model, one) for one in _groups_at_rest(model, readings).values()) else frozenset()
    return [one for one in offered if one.pairs and one.access not in withheld and one.circumstance not in spared]


def _withheld(model: PackModel, readings: Sequence[Reading], *, may_charge: bool) -> set[Access]:
    """No load is drawn from an open pack of which a group was never looked at, at rest; no charge without leave."""
    withheld = set() if len(_groups_at_rest(model, readings)) == model.series else {Access.UNDER_LOAD}
    return withheld if may_charge and chargeable(model, readings) else withheld | {Access.CHARGING}


def _unread(model: PackModel, one: Measurement, read: set[tuple[Point, Point, Circumstance]]) -> tuple[Pair, ...]:
    new = (pair for pair in one.pairs if (*pair, one.circumstance) not in read)
    return tuple(pair for pair in new if not proves_nothing(model, pair, one.circumstance))


def chargeable(model: PackModel, readings: Sequence[Reading]) -> bool:
    """Whether every group was read at rest, steady [V], none below the line where nothing is charged again.

    Nor above its charge limit, as far as the meter can tell.

    References
    ----------
    Common practice, no source; the line itself as ``packs.chemistry.recovery``.
    """
    known = _groups_at_rest(model, readings)
    return len(known) == model.series and all(_recovers(model, one) for one in known.values())


def _groups_at_rest(model: PackModel, readings: Sequence[Reading]) -> dict[int, Reading]:
    """Return the last reading at rest of each group, on its own terminals or through the joint below it."""
    spans = {(2 * number - 1, 2 * number): number for number in range(1, model.series + 1)}
    spans |= {(2 * number, 2 * number + 2): number + 1 for number in range(1, model.series)}
    at_rest = [one for one in readings if one.circumstance in (Circumstance.REST, Circumstance.NEXT_DAY)]
    return {spans[span]: one for one in at_rest if (span := one.span(model.series)) in spans}


def _recovers(model: PackModel, reading: Reading) -> bool:
    try:
        if reading.value is None or recovery(model.chemistry, reading.value) is Recovery.REJECT:
            return False
        limit, volts = limits(model.chemistry).charge_limit, float(reading.value.to("V").magnitude)
        return limit is None or volts - error_of(volts, model.figures) <= float(limit.to("V").magnitude)
    except MissingFact:
        return False


def _spent(model: PackModel, reading: Reading) -> bool:
    """Whether a group stands so low that others would drive it backwards; by what a short leaves where no line is known."""
    if reading.value is None:
        return False
    try:
        return recovery(model.chemistry, reading.value) is Recovery.REJECT
    except MissingFact:
        return float(reading.value.to("V").magnitude) < model.figures.shorted_below


def _every(model: PackModel) -> Iterator[Measurement]:
    groups, plug = group_pairs(model.series), tap_pairs(model.series)
    outlet, output = ends(Place.OUTLET), ends(Place.BOARD_OUTPUT)
    yield Measurement((outlet,), Circumstance.REST, Access.SHUT)
    yield Measurement((outlet,), Circumstance.OUTLET_LOAD, Access.SHUT)
    yield Measurement((ends(Place.SENSOR),), Circumstance.REST, Access.SHUT)
    if model.tap_plug:
        yield Measurement(plug, Circumstance.REST, Access.OPEN)
        yield Measurement(plug, Circumstance.LOAD, Access.UNDER_LOAD)
    yield Measurement((*groups, ends(Place.BOARD_INPUT), output), Circumstance.REST, Access.OPEN)
    yield Measurement(path_pairs(model.series), Circumstance.LOAD, Access.UNDER_LOAD)
    yield Measurement((output,), Circumstance.OUTLET_LOAD, Access.UNDER_LOAD)
    yield Measurement((output, outlet), Circumstance.WOKEN, Access.CHARGING)
    yield Measurement((output, outlet), Circumstance.CHARGED, Access.CHARGING)
    yield Measurement(plug if model.tap_plug else groups, Circumstance.NEXT_DAY, Access.WAITING)


def group_pairs(series: int) -> tuple[Pair, ...]:
    """Return the terminals of every group, so that no joint lies between the probes [V].

    References
    ----------
    Common practice, no source.
    """
    return tuple(ends(Place.GROUP, number) for number in range(1, series + 1))


def path_pairs(series: int) -> tuple[Pair, ...]:
    """Return both ends of every part along the stack: lead, group, joint, group ... lead [V].

    References
    ----------
    Common practice, no source.
    """
    low, high = ends(Place.BOARD_INPUT)
    points = [low, *(point for pair in group_pairs(series) for point in pair), high]
    return tuple(pairwise(points))
