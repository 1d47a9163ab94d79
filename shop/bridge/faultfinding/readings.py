"""Readings of the book as packs takes them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from packs import faultfinding as room
from packs.errors import ImpossibleValue
from packs.terms import Circumstance, GroupsReadAs, Measure
from packs.units import Quantity, of, ureg
from shop.models import FaultSearch, ProbeReading, Reading, User

from .points import point


@dataclass(frozen=True)
class Taken:
    """One reading as it stands in the book, and as packs takes it."""

    reading: room.Reading
    at: datetime
    by: User
    row: ProbeReading | None = None

    @property
    def where(self) -> str:
        """Both points in words."""
        return f"{self.reading.low} to {self.reading.high}"

    @property
    def circumstance(self) -> str:
        """What the pack did, in words."""
        return self.reading.circumstance.label

    @property
    def value(self) -> Quantity | None:
        """What the meter showed, where it settled."""
        return self.reading.value

    @property
    def nothing(self) -> str:
        """What is said where no number stands."""
        return "no connection" if self.reading.low.place is room.Place.SENSOR else "unsteady"


def probed(row: ProbeReading) -> Taken:
    """Return a reading between two probe points."""
    return Taken(reading(row), row.measured_at, row.by, row)


def reading(row: ProbeReading) -> room.Reading:
    """Return a row, saved or not, as packs takes it.

    Raises
    ------
    packs.errors.ImpossibleValue
        A point is none.
    """
    value: Quantity | None = None
    if row.value_mv is not None:
        value = of(Measure.VOLTAGE, row.value_mv).to("V")
    elif row.value_ohm is not None:
        value = ureg.Quantity(float(row.value_ohm), "ohm")
    return room.Reading(point(row.low_point), point(row.high_point), Circumstance(row.circumstance), value)


def examined(search: FaultSearch, rows: Sequence[Reading]) -> list[Taken]:
    """Return the group voltages of the examination as readings between the points that were stated for them."""
    read_as = GroupsReadAs(search.examined_as)
    if read_as is GroupsReadAs.UNUSED:
        return []
    pairs = dict(enumerate(room.tap_pairs(search.series), 1))
    if read_as is GroupsReadAs.TERMINALS:
        pairs = {number: room.ends(room.Place.GROUP, number) for number in pairs}
    by_group = {f"group {number}": pair for number, pair in pairs.items()}
    return [
        Taken(
            room.Reading(*by_group[row.point], Circumstance.REST, of(Measure.VOLTAGE, row.value).to("V")),
            row.measured_at,
            row.by,
        )
        for row in rows
        if row.point in by_group
    ]


def at_outlet(rows: Sequence[Reading], here: Sequence[Taken] = ()) -> list[Taken]:
    """Return the voltage of the whole pack at the examination as a reading at the outlet, unless it was read ``here`` again."""
    low, high = room.ends(room.Place.OUTLET)
    read_again = any((one.reading.low, one.reading.circumstance) == (low, Circumstance.REST) for one in here)
    return [
        Taken(
            room.Reading(low, high, Circumstance.REST, of(Measure.VOLTAGE, row.value).to("V")), row.measured_at, row.by
        )
        for row in rows
        if not read_again
    ]


def require_fit(model: room.PackModel, readings: Sequence[room.Reading]) -> None:
    """Refuse readings that cannot be taken of the stated pack.

    Raises
    ------
    packs.errors.ImpossibleValue
        As said.
    """
    for one in readings:
        room.check(model, one)
        if one.low.place is not one.high.place and one.span(model.series) is None:
            raise ImpossibleValue("Both probes belong on the same side of the board.")
