"""Where a search stands: what explains the readings, with grounds and advice, what is struck out, what to measure next."""

from collections.abc import Sequence
from dataclasses import dataclass

from packs import faultfinding as room
from packs.units import Quantity

from .points import SetUp, set_up_of
from .readings import Taken
from .stated import StatedPack

MOST_SHOWN = 6
MOST_NAMED = 30
"""Sets of faults told at once, and told on demand; both with their grounds."""


@dataclass(frozen=True)
class Suspects:
    """A set of faults that explains every reading: what speaks for it, and what to do about it."""

    faults: tuple[str, ...]
    grounds: tuple[tuple[Taken, int], ...]
    advice: tuple[str, ...]
    parts: tuple[room.Fault, ...] = ()


@dataclass(frozen=True)
class StruckOut:
    """Single faults that one reading contradicts, with what was read before it."""

    taken: Taken
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Standing:
    """Where the search stands."""

    taken: tuple[Taken, ...]
    proving_nothing: frozenset[int]
    suspects: tuple[Suspects, ...]
    others: tuple[Suspects, ...]
    other_count: int
    struck: tuple[StruckOut, ...]
    next: SetUp | None
    offered: tuple[SetUp, ...]
    may_charge: bool
    resistances: tuple[tuple[int, Quantity], ...] = ()

    @property
    def told(self) -> list[tuple[Taken, bool]]:
        """Every reading, and whether it proves nothing."""
        return [(taken, number in self.proving_nothing) for number, taken in enumerate(self.taken)]

    @property
    def explained(self) -> bool:
        """Whether anything explains the readings."""
        return bool(self.suspects)


def standing(pack: StatedPack, taken: Sequence[Taken], *, may_charge: bool) -> Standing:
    """Return what is still possible, with grounds and advice, and what to measure next."""
    meters = {taken.row.instrument for taken in taken if taken.row is not None and taken.row.instrument is not None}
    model = pack.model(tuple(meters))
    found = room.diagnose(model, [one.reading for one in taken])
    proposal = room.next_measurement(found, may_charge=may_charge)
    offered = room.available(model, found.readings, may_charge=may_charge)
    told = found.best[:MOST_SHOWN] if found.possible else ()
    others = found.possible[len(told) :]
    return Standing(
        taken=tuple(taken),
        proving_nothing=frozenset(n for n, one in enumerate(found.readings) if one in found.proving_nothing),
        suspects=tuple(_suspects(found, faults, taken, may_charge=may_charge) for faults in told),
        others=tuple(_suspects(found, faults, taken, may_charge=may_charge) for faults in others[:MOST_NAMED]),
        other_count=len(others),
        struck=tuple(_struck(found, taken)),
        next=set_up_of(proposal.measurement) if proposal else None,
        offered=tuple(set_up_of(one) for one in offered),
        may_charge=may_charge,
        resistances=tuple(room.group_resistances(model, found.readings).items()),
    )


def _words(faults: Sequence[room.Fault]) -> tuple[str, ...]:
    return tuple(str(fault) for fault in faults) or ("nothing wrong that a meter would show",)


def _suspects(
    found: room.Diagnosis, faults: Sequence[room.Fault], taken: Sequence[Taken], *, may_charge: bool
) -> Suspects:
    numbers = {id(one): number for number, one in enumerate(found.readings)}
    grounds = room.evidence(found, faults).supporting
    advised = [line for fault in faults for line in room.advice(found, fault, may_charge=may_charge)]
    return Suspects(
        faults=_words(faults),
        grounds=tuple((taken[numbers[id(one)]], count) for one, count in grounds),
        advice=tuple(dict.fromkeys(advised)),
        parts=tuple(faults),
    )


def _struck(found: room.Diagnosis, taken: Sequence[Taken]) -> list[StruckOut]:
    by_reading: dict[int, list[str]] = {}
    for faults, by in zip(found.every.faults, found.struck_by.tolist(), strict=True):
        if by >= 0 and len(faults) == 1:
            by_reading.setdefault(by, []).append(str(faults[0]))
    return [StruckOut(taken[by], tuple(faults)) for by, faults in sorted(by_reading.items())]
