"""What each group loses between rest and the stated load, and which of them loses more than the others."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from packs.faultfinding.faults import Fault, PartKind, State
from packs.faultfinding.measurements import ends
from packs.faultfinding.model import PackModel
from packs.faultfinding.narrowing import error_of
from packs.faultfinding.readings import Circumstance, Place, Reading
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class Sag:
    """What one group loses under load on its own terminals.

    Attributes
    ----------
    group : int
    lost : Quantity
        At rest less under load [V].
    usual : Quantity or None
        The middle of what the other groups lose [V]; None where no other was read both ways.
    stands_out : bool
        Whether it is more than sound groups differ by, beyond the error of both readings.
    """

    group: int
    lost: Quantity
    usual: Quantity | None
    stands_out: bool


def losses(model: PackModel, readings: Sequence[Reading]) -> Mapping[int, Quantity]:
    """Return what every group loses that was read on its own terminals, at rest and under load [V].

    Between them lies no joint. The last reading of each counts.

    References
    ----------
    Arithmetic.
    """
    return {group: (rest - load).to("V") for group, (rest, load) in _both(model, readings).items()}


def sags(model: PackModel, readings: Sequence[Reading]) -> tuple[Sag, ...]:
    """Return what every group loses under load beside what the others lose [V].

    References
    ----------
    Common practice, no source: one group that sags more than the others is weak.

    Examples
    --------
    >>> from packs.terms import Chemistry
    >>> pack = PackModel(3, Chemistry.NMC, ureg.Quantity(20, "mΩ"), ureg.Quantity(5, "A"), ureg.Quantity(9, "V"))
    >>> shown = {Circumstance.REST: (3.7, 3.7, 3.7), Circumstance.LOAD: (3.58, 2.9, 3.6)}
    >>> read = [
    ...     Reading(*ends(Place.GROUP, number), circumstance, ureg.Quantity(volts, "V"))
    ...     for circumstance, every in shown.items()
    ...     for number, volts in enumerate(every, 1)
    ... ]
    >>> [(one.group, f"{one.lost:.2f~P}", f"{one.usual:.2f~P}", one.stands_out) for one in sags(pack, read)][1]
    (2, '0.80 V', '0.11 V', True)
    """
    both = _both(model, readings)
    lost = {group: _volts(rest) - _volts(load) for group, (rest, load) in both.items()}
    found = []
    for group, own in lost.items():
        usual = median(others) if (others := [volts for one, volts in lost.items() if one != group]) else None
        error = sum(error_of(_volts(one), model.figures) for one in both[group])
        more = usual is not None and own - error > (1.0 + model.figures.drop_spread) * max(usual, 0.0)
        found.append(Sag(group, ureg.Quantity(own, "V"), None if usual is None else ureg.Quantity(usual, "V"), more))
    return tuple(found)


def sag_grounds(model: PackModel, readings: Sequence[Reading], faults: Collection[Fault]) -> Iterator[tuple[Sag, bool]]:
    """Yield the sags [V] that speak for a set of faults, or against it: whether a weak group is the one that sags, and
    whether one that sags is at fault at all.

    References
    ----------
    Common practice, no source.
    """
    at_fault = {fault.number for fault in faults if fault.kind is PartKind.GROUP}
    weak = {fault.number for fault in faults if fault.state is State.WEAK}
    worn = any(fault.state is State.WORN for fault in faults)
    for one in sags(model, readings):
        if one.group in weak:
            yield one, one.stands_out
        elif worn:
            yield one, _volts(one.lost) > model.figures.drop[1]
        elif one.stands_out:
            yield one, one.group in at_fault


def _both(model: PackModel, readings: Sequence[Reading]) -> dict[int, tuple[Quantity, Quantity]]:
    last = {(one.low, one.high, one.circumstance): one.value for one in readings if one.value is not None}
    found = {}
    for number in range(1, model.series + 1):
        pair = ends(Place.GROUP, number)
        rest, load = last.get((*pair, Circumstance.REST)), last.get((*pair, Circumstance.LOAD))
        if rest is not None and load is not None:
            found[number] = (rest, load)
    return found


def _volts(value: Quantity) -> float:
    return float(value.to("V").magnitude)
