"""Probe points and set-ups as text, for the book, for forms and for the API."""

import re
from dataclasses import dataclass

from packs import faultfinding as room
from packs.errors import ImpossibleValue
from packs.terms import Circumstance

CODE = re.compile(r"(board_input|group|board_output|outlet|sensor)(?:_([1-9][0-9]{0,2}))?_(negative|positive)")
PAIR, SET_UP = "~", ":"


def point(code: str) -> room.Point:
    """Return the probe point written as ``outlet_negative`` or ``group_3_positive``.

    Raises
    ------
    packs.errors.ImpossibleValue
        There is no such point.
    """
    found = CODE.fullmatch(code)
    if not found or (found[1] == room.Place.GROUP) != bool(found[2]):
        raise ImpossibleValue(f"“{code[:40]}” is no probe point: such as outlet_negative or group_3_positive.")
    return room.Point(room.Place(found[1]), found[3] == "positive", int(found[2] or 0))


def code(point: room.Point) -> str:
    """Return how a probe point is written in the book."""
    number = f"_{point.number}" if point.number else ""
    return f"{point.place.value}{number}_{'positive' if point.positive else 'negative'}"


@dataclass(frozen=True)
class Pair:
    """Two probe points: how they are written, how they are said, and what is read there."""

    low: str
    high: str
    words: str
    ohms: bool

    @property
    def key(self) -> str:
        """Both points in one word."""
        return f"{self.low}{PAIR}{self.high}"


@dataclass(frozen=True)
class SetUp:
    """One state of the pack, and the pairs that are read in it one after another."""

    circumstance: Circumstance
    pairs: tuple[Pair, ...]
    access: str = ""

    @property
    def sign(self) -> str:
        """All of it in one line, as a form carries it."""
        return f"{self.circumstance.value}{SET_UP}{','.join(pair.key for pair in self.pairs)}"

    @property
    def loaded(self) -> bool:
        """Whether the stated load is drawn."""
        return self.circumstance not in (Circumstance.REST, Circumstance.NEXT_DAY)

    @property
    def on_charger(self) -> bool:
        """Whether the charger is connected for it."""
        return self.circumstance in (Circumstance.WOKEN, Circumstance.CHARGED)

    def reads(self, one: room.Reading) -> bool:
        """Whether a reading is one of its own."""
        pair = (code(one.low), code(one.high))
        return one.circumstance is self.circumstance and pair in {(each.low, each.high) for each in self.pairs}

    @property
    def words(self) -> str:
        """What is read, in words."""
        first, *more = self.pairs
        return f"{first.words}{f' and {len(more)} more' if more else ''}"


def set_up(sign: str) -> SetUp:
    """Return the set-up that a form carried.

    Raises
    ------
    packs.errors.ImpossibleValue
        It is not one.
    """
    circumstance, _, pairs = sign.partition(SET_UP)
    if circumstance not in {one.value for one in Circumstance}:
        raise ImpossibleValue("Say in which circumstance the pack was read.")
    ends = [pair.partition(PAIR) for pair in pairs.split(",")]
    return SetUp(Circumstance(circumstance), tuple(pair_of(point(low), point(high)) for low, _, high in ends))


def pair_of(low: room.Point, high: room.Point) -> Pair:
    """Return two probe points as one pair."""
    return Pair(code(low), code(high), f"{low} to {high}", low.place is room.Place.SENSOR)


def set_up_of(measurement: room.Measurement) -> SetUp:
    """Return a measurement of packs as the shop says it."""
    pairs = tuple(pair_of(*pair) for pair in measurement.pairs)
    return SetUp(measurement.circumstance, pairs, measurement.access.label)
