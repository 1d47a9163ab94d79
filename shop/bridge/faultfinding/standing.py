"""Where a search stands: what explains the readings, with grounds and advice, what is struck out, what to measure next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from packs import faultfinding as room
from packs.terms import Circumstance
from packs.units import Quantity
from shop.models import Job

from .points import SetUp, set_up_of
from .readings import Taken
from .stated import StatedPack

MOST_SHOWN = 6
MOST_NAMED = 30
MOST_GROUNDS = 3
"""Sets of faults told at once, and told on demand; both with their grounds, the likeliest also with what they expect of the strongest readings."""


@dataclass(frozen=True)
class Suspects:
    """A set of faults that explains every reading: what speaks for it and against it, and what to do about it."""

    faults: tuple[str, ...]
    grounds: tuple[tuple[Taken, int], ...]
    advice: tuple[str, ...]
    sags_for: tuple[room.Sag, ...] = ()
    sags_against: tuple[room.Sag, ...] = ()
    parts: tuple[room.Fault, ...] = ()
    expects: tuple[tuple[Taken, int, room.Expected], ...] = ()


@dataclass(frozen=True)
class StruckOut:
    """Single faults that one reading contradicts, with what was read before it; what its group loses under load."""

    taken: Taken
    faults: tuple[str, ...]
    sag: room.Sag | None = None


@dataclass(frozen=True)
class Doubt:
    """Readings without which the others are explained, what would explain them, and how one may have slipped."""

    takens: tuple[Taken, ...]
    explained_by: tuple[str, ...]
    fits: Quantity | None
    slip: str


@dataclass(frozen=True)
class Standing:
    """Where the search stands; nothing is proposed any more once groups are ``spent``, though more can be measured.

    ``no_charger`` says why none is connected; ``wake_waits`` that the charger comes next once the cells' temperature is stated.
    """

    taken: tuple[Taken, ...]
    proving_nothing: frozenset[int]
    suspects: tuple[Suspects, ...]
    others: tuple[Suspects, ...]
    other_count: int
    struck: tuple[StruckOut, ...]
    next: SetUp | None
    offered: tuple[SetUp, ...]
    may_charge: bool
    withheld: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    alone: bool = False
    resistances: tuple[tuple[int, Quantity], ...] = ()
    spent: tuple[int, ...] = ()
    spent_line: str = ""
    no_charger: str = ""
    wake_waits: bool = False

    @property
    def told(self) -> list[tuple[Taken, bool]]:
        """Every reading, and whether it proves nothing."""
        return [(taken, number in self.proving_nothing) for number, taken in enumerate(self.taken)]

    @property
    def more(self) -> bool:
        """Whether anything can be measured beside what is proposed."""
        return any(self.next is None or one.sign != self.next.sign for one in self.offered)

    @property
    def explained(self) -> bool:
        """Whether anything explains the readings."""
        return bool(self.suspects)

    @property
    def working(self) -> Suspects | None:
        """The single fault that explains everything while only pairs of faults stand beside it; None where none does."""
        return self.suspects[0] if self.alone and self.taken and self.other_count and self.next else None


def standing(pack: StatedPack, taken: Sequence[Taken], *, job: Job) -> Standing:
    """Return what is still possible, with grounds and advice, and what to measure next."""
    may_charge = pack.may_charge(job)
    meters = {taken.row.instrument for taken in taken if taken.row is not None and taken.row.instrument is not None}
    model = pack.model(tuple(meters))
    found = room.diagnose(model, [one.reading for one in taken])
    spent = tuple(room.spent_groups(model, found.readings))
    proposal = room.next_measurement(found, may_charge=may_charge)
    alone = [len(faults) for faults in found.best] == [1] if found.possible else False
    wake_waits = not spent and not alone and pack.only_temperature_missing(job) and _charger_next(found)
    offered = [*room.available(found, may_charge=may_charge), *room.kept_only(found), *_read_again(taken)]
    told = found.best[:MOST_SHOWN] if found.possible else ()
    others = found.possible[len(told) :]
    return Standing(
        taken=tuple(taken),
        proving_nothing=frozenset(n for n, one in enumerate(found.readings) if one in found.proving_nothing),
        suspects=tuple(_suspects(found, faults, taken, may_charge=may_charge, closely=True) for faults in told),
        others=tuple(_suspects(found, faults, taken, may_charge=may_charge) for faults in others[:MOST_NAMED]),
        other_count=len(others),
        struck=tuple(_struck(found, taken)),
        next=set_up_of(proposal.measurement) if proposal and not spent and not wake_waits else None,
        offered=tuple(set_up_of(one) for one in offered),
        may_charge=may_charge,
        withheld=tuple(reason.why for reason in room.withheld(found)),
        doubts=tuple(_doubt(one, taken) for one in room.doubted(found)),
        alone=alone,
        resistances=tuple(room.group_resistances(model, found.readings).items()),
        spent=spent,
        no_charger=_no_charger(found, pack.charger_doubt(job)),
        wake_waits=wake_waits,
        spent_line=room.spent_line(model, found.readings),
    )


def _charger_next(found: room.Diagnosis) -> bool:
    proposal = room.next_measurement(found, may_charge=True)
    return proposal is not None and proposal.measurement.access is room.Access.CHARGING


def _no_charger(found: room.Diagnosis, doubt: str) -> str:
    if not room.chargeable(found.model, found.readings):
        return room.charge_line(found.model, found.readings)
    return doubt


def _read_again(taken: Sequence[Taken]) -> list[room.Measurement]:
    """The outlet, where it was read at the examination alone: that reading cannot be taken back here."""
    outlet = room.ends(room.Place.OUTLET)
    again = any(one.row is None and (one.reading.low, one.reading.high) == outlet for one in taken)
    return [room.Measurement((outlet,), Circumstance.REST, room.Access.SHUT)] if again else []


def _words(found: room.Diagnosis, faults: Sequence[room.Fault]) -> tuple[str, ...]:
    return tuple(str(fault) for fault in faults) or (_nothing_wrong(found),)


def _nothing_wrong(found: room.Diagnosis) -> str:
    if room.spent_groups(found.model, found.readings):
        return "cells spent, and nothing else that a meter would show"
    if room.empty_groups(found.model, found.readings):
        return "groups empty, and nothing else that a meter would show"
    return "nothing wrong that a meter would show"


def _suspects(
    found: room.Diagnosis,
    faults: Sequence[room.Fault],
    taken: Sequence[Taken],
    *,
    may_charge: bool,
    closely: bool = False,
) -> Suspects:
    numbers = {id(one): number for number, one in enumerate(found.readings)}
    grounds = room.evidence(found, faults)
    advised = [line for fault in faults for line in room.advice(found, fault, may_charge=may_charge)]
    told = [(taken[numbers[id(one)]], count) for one, count in grounds.supporting]
    strongest = told[:MOST_GROUNDS] if closely else []
    return Suspects(
        faults=_words(found, faults),
        grounds=tuple(told),
        expects=tuple((one, count, room.expected(found, faults, one.reading)) for one, count in strongest),
        advice=tuple(dict.fromkeys(advised)),
        sags_for=tuple(sag for sag, speaks_for in grounds.sags if speaks_for),
        sags_against=tuple(sag for sag, speaks_for in grounds.sags if not speaks_for),
        parts=tuple(faults),
    )


def _doubt(one: room.Doubted, taken: Sequence[Taken]) -> Doubt:
    simplest = one.without.possible[0]
    return Doubt(tuple(taken[number] for number in one.numbers), _words(one.without, simplest), one.fits, one.slip)


def _struck(found: room.Diagnosis, taken: Sequence[Taken]) -> list[StruckOut]:
    by_reading: dict[int, list[str]] = {}
    for faults, by in zip(found.every.faults, found.struck_by.tolist(), strict=True):
        if by >= 0 and len(faults) <= 1:
            by_reading.setdefault(by, []).extend(_words(found, faults))
    sags = {one.group: one for one in room.sags(found.model, found.readings)}
    return [StruckOut(taken[by], tuple(faults), _sag(taken[by], sags)) for by, faults in sorted(by_reading.items())]


def _sag(taken: Taken, sags: Mapping[int, room.Sag]) -> room.Sag | None:
    """What the group that was read under load loses; None for any other reading."""
    one = taken.reading
    own = one.low.place is room.Place.GROUP and (one.low, one.high) == room.ends(room.Place.GROUP, one.low.number)
    return sags.get(one.low.number) if own and one.circumstance is Circumstance.LOAD else None
