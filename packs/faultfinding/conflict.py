"""Where nothing explains the readings: the fewest of them without which something does, each perhaps a slip."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from packs.faultfinding.candidates import Candidates, all_candidates
from packs.faultfinding.diagnosis import Diagnosis, diagnose, start, strike, telling_order
from packs.faultfinding.model import PackModel
from packs.faultfinding.plausible import readable
from packs.faultfinding.readings import Reading
from packs.units import Quantity

MOST_NAMED = 6
"""Sets of readings that are named; where more would do, the readings say too little to blame one."""

# What is slipped into while a reading is written down. Common practice, no source.
SLIPS = {
    -1.0: "the probes the other way round",
    10.0: "the decimal mark a place further on",
    0.1: "the decimal mark a place back",
    1000.0: "the larger unit",
    0.001: "the smaller unit",
}


@dataclass(frozen=True)
class Doubted:
    """Readings without which the others are explained.

    Attributes
    ----------
    numbers : tuple of int
        Of these readings, as they were handed over.
    without : Diagnosis
        From the others alone.
    fits : Quantity or None
        What a single doubted reading would have to be instead to fit as well [V], at the sensor [Ω].
    slip : str
        How it may have been written down otherwise; nothing where no usual slip fits.
    """

    numbers: tuple[int, ...]
    without: Diagnosis
    fits: Quantity | None = None
    slip: str = ""


def doubted(found: Diagnosis) -> tuple[Doubted, ...]:
    """Return the smallest sets of readings without which something explains the others, the simplest explanation first.

    One reading at a time is left out, then two; nothing where the readings are explained as they stand, and where more
    than two would have to go. Only members of a conflict are tried: who is to blame has a part in every one of them.

    Parameters
    ----------
    found : Diagnosis
        Of all readings [V].

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95: conflict sets and the
    sets that hit all of them.

    Examples
    --------
    >>> from packs.faultfinding.measurements import group_pairs
    >>> from packs.faultfinding.readings import Circumstance
    >>> from packs.terms import Chemistry
    >>> from packs.units import ureg
    >>> pack = PackModel(4, Chemistry.NMC, ureg.Quantity(20, "mΩ"), ureg.Quantity(5, "A"), ureg.Quantity(12, "V"))
    >>> shown = zip(group_pairs(4), (3.7, -3.7, 3.7, 3.7))
    >>> read = [Reading(*pair, Circumstance.REST, ureg.Quantity(volts, "V")) for pair, volts in shown]
    >>> [(one.numbers, one.slip) for one in doubted(diagnose(pack, read))]
    [((1,), 'the probes the other way round')]
    """
    if found.possible:
        return ()
    model, readings = found.model, found.readings
    everything = tuple(range(len(readings)))
    first = conflict(model, readings, everything)
    sets = list(_explained(model, readings, [(number,) for number in first]))
    if not sets:
        sets = list(_explained(model, readings, _pairs(model, readings, first)))
    sets.sort(key=lambda one: (len(one.without.possible[0]), float(one.without.left.cost[0])))
    return tuple(_with_slip(model, readings, one) for one in sets[:MOST_NAMED])


def conflict(model: PackModel, readings: Sequence[Reading], numbers: Sequence[int]) -> tuple[int, ...]:
    """Return few of the numbered readings [V] that nothing explains together; all of them where no fewer were found.

    Each pass ends at the reading that leaves nothing standing: it belongs to a conflict with those before it.

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95.
    """
    order = [number for number in telling_order(model, readings) if number in set(numbers)]
    known: list[int] = []
    while True:
        last = _ends_at(model, readings, [*known, *order])
        if last is None:
            return (*known, *order)
        if last in known:
            return tuple(known)
        order = order[: order.index(last)]
        known.append(last)


def _ends_at(model: PackModel, readings: Sequence[Reading], order: Sequence[int]) -> int | None:
    """The reading that leaves nothing standing when they are taken once in this order; None where something does."""
    rows: Candidates = start(model, all_candidates(model))
    for number in order:
        rows, stands = strike(model, rows, readings[number])
        rows = rows if stands.all() else rows.only(stands)
        if not len(rows):
            return number
    return None


def _pairs(model: PackModel, readings: Sequence[Reading], first: Iterable[int]) -> Iterator[tuple[int, ...]]:
    for one in first:
        others = [number for number in range(len(readings)) if number != one]
        for other in conflict(model, readings, others):
            yield (min(one, other), max(one, other))


def _explained(model: PackModel, readings: Sequence[Reading], sets: Iterable[tuple[int, ...]]) -> Iterator[Doubted]:
    for numbers in dict.fromkeys(sets):
        without = diagnose(model, [one for number, one in enumerate(readings) if number not in numbers])
        if without.possible:
            yield Doubted(numbers, without)


def _with_slip(model: PackModel, readings: Sequence[Reading], one: Doubted) -> Doubted:
    """The doubt with the usual slip that would explain it, for a single reading with a value."""
    value = readings[one.numbers[0]].value
    if len(one.numbers) > 1 or value is None:
        return one
    for factor, slip in SLIPS.items():
        meant = replace(readings[one.numbers[0]], value=value * factor)
        if _is_a_reading(model, meant) and _fits(model, readings, one.numbers[0], meant):
            return replace(one, fits=meant.value, slip=slip)
    return one


def _is_a_reading(model: PackModel, meant: Reading) -> bool:
    """Whether a meter shows it, and it is not so near to nothing that any link would fit."""
    low, high = readable(model, meant)
    return meant.value is not None and low <= meant.value <= high and abs(meant.value.magnitude) > model.figures.offset


def _fits(model: PackModel, readings: Sequence[Reading], number: int, meant: Reading) -> bool:
    return bool(diagnose(model, [*readings[:number], meant, *readings[number + 1 :]]).possible)
