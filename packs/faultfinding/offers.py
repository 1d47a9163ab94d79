"""What can be measured next: what was not read yet, would prove something, and may be done to the pack as it stands."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from packs.faultfinding.candidates import OUTSIDE, place_of
from packs.faultfinding.diagnosis import Diagnosis
from packs.faultfinding.measurements import Access, Measurement, ends, group_pairs, path_pairs, tap_pairs
from packs.faultfinding.model import PackModel
from packs.faultfinding.prediction import Pair, proves_nothing
from packs.faultfinding.readings import Circumstance, Place, Point, Reading
from packs.faultfinding.safety import chargeable, groups_at_rest, withheld

SHUT_PLACES = frozenset({Place.OUTLET, Place.SENSOR})


def available(found: Diagnosis, *, may_charge: bool = False) -> list[Measurement]:
    """Return what can be measured and has not been, and would prove something; voltages in [V].

    Parameters
    ----------
    found : Diagnosis
        So far.
    may_charge : bool
        Whether there is no danger sign and the cells lie within their charging temperatures. Measurements on the
        charger are offered only then, and once every group was read above the voltage below which none is charged; a
        load as ``withheld`` says; a day later only where something was read today.

    References
    ----------
    Common practice, no source.
    """
    model, readings = found.model, found.readings
    read = {(one.low, one.high, one.circumstance) for one in readings}
    is_open = any(one.low.place not in SHUT_PLACES for one in readings)
    reasons, closed = withheld(found), _not_yet(model, readings, may_charge=may_charge)
    offered = (
        replace(one, pairs=_unread(model, one, read), opens=not is_open and one.access is not Access.SHUT)
        for one in (*_every(model), *_narrow(found))
        if one.access not in closed and not any(reason.holds_back(one) for reason in reasons)
    )
    return [one for one in offered if one.pairs]


def kept_only(found: Diagnosis) -> list[Measurement]:
    """Return what can be read behind the board though it proves little there without a load: it is kept as such [V].

    References
    ----------
    Common practice, no source.
    """
    model, read = found.model, {(one.low, one.high, one.circumstance) for one in found.readings}
    places = ((Place.OUTLET, Access.SHUT), (Place.BOARD_OUTPUT, Access.OPEN))
    offered = [Measurement((ends(place),), Circumstance.REST, access) for place, access in places]
    return [
        one
        for one in offered
        if (*one.pairs[0], one.circumstance) not in read and proves_nothing(model, one.pairs[0], one.circumstance)
    ]


def _not_yet(model: PackModel, readings: Sequence[Reading], *, may_charge: bool) -> set[Access]:
    closed = set() if may_charge and chargeable(model, readings) else {Access.CHARGING}
    return closed if groups_at_rest(model, readings) else closed | {Access.WAITING}


def _unread(model: PackModel, one: Measurement, read: set[tuple[Point, Point, Circumstance]]) -> tuple[Pair, ...]:
    new = (pair for pair in one.pairs if (*pair, one.circumstance) not in read)
    return tuple(pair for pair in new if not proves_nothing(model, pair, one.circumstance))


def suspected_pairs(found: Diagnosis) -> tuple[Pair, ...]:
    """Return both ends of each part along the stack that the simplest explanations name [V].

    Of a group that was read through the joint below it, that joint as well. None where nothing or everything is named.

    References
    ----------
    Common practice, no source.
    """
    if not found.possible:
        return ()
    series = found.model.series
    pairs = path_pairs(series)
    named = {place_of(fault, series) for faults in found.best for fault in faults} - {OUTSIDE}
    spans = {one.span(series) for one in found.readings if one.low.place is not Place.SENSOR}
    named |= {place - 1 for place in named if (place - 1, place + 1) in spans}
    return tuple(pair for place, pair in enumerate(pairs) if place in named) if len(named) < len(pairs) else ()


def _narrow(found: Diagnosis) -> Iterator[Measurement]:
    """Only the parts that are suspected: where few are left, few are read."""
    if few := suspected_pairs(found):
        yield Measurement(few, Circumstance.REST, Access.OPEN)
        yield Measurement(few, Circumstance.LOAD, Access.UNDER_LOAD)


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
