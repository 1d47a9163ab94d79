"""What can be measured next: what was not read yet, would prove something, and may be done to the pack as it stands."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

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
        for one in _every(model)
        if one.access not in closed and not any(reason.holds_back(one) for reason in reasons)
    )
    return [one for one in offered if one.pairs]


def _not_yet(model: PackModel, readings: Sequence[Reading], *, may_charge: bool) -> set[Access]:
    closed = set() if may_charge and chargeable(model, readings) else {Access.CHARGING}
    return closed if groups_at_rest(model, readings) else closed | {Access.WAITING}


def _unread(model: PackModel, one: Measurement, read: set[tuple[Point, Point, Circumstance]]) -> tuple[Pair, ...]:
    new = (pair for pair in one.pairs if (*pair, one.circumstance) not in read)
    return tuple(pair for pair in new if not proves_nothing(model, pair, one.circumstance))


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
