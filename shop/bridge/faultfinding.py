"""Fault finding: a stated pack and its readings to packs, and what follows from them back for the page."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from packs import faultfinding as room
from packs.chemistry import charge_zone, limits
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import BoardSwitch, Chemistry, Circumstance, DangerLevel, GroupsReadAs, Measure
from packs.units import Quantity, of, ureg
from shop.models import FaultSearch, Instrument, Job, PackAsFound, ProbeReading, Reading, User

CELL_RESISTANCE = ureg.Quantity(40.0, "milliohm")
LOAD = ureg.Quantity(2.0, "A")
PRACTICE = "common practice, no source"
CODE = re.compile(r"(board_input|group|board_output|outlet|sensor)(?:_([1-9][0-9]{0,2}))?_(negative|positive)")
V = TypeVar("V")
PAIR, SET_UP = "~", ":"
MOST_SHOWN = 6
MOST_NAMED = 30
"""Sets of faults told with their grounds, and told by name alone."""


# --- points and set-ups as text


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
    return SetUp(Circumstance(circumstance), tuple(_pair(point(low), point(high)) for low, _, high in ends))


def _pair(low: room.Point, high: room.Point) -> Pair:
    return Pair(code(low), code(high), f"{low} to {high}", low.place is room.Place.SENSOR)


def _set_up(measurement: room.Measurement) -> SetUp:
    pairs = tuple(_pair(*pair) for pair in measurement.pairs)
    return SetUp(measurement.circumstance, pairs, measurement.access.label)


# --- the pack as stated


@dataclass(frozen=True)
class Assumed(Generic[V]):
    """One thing that the reasoning takes of the pack: stated, or a default with the ground it stands on."""

    label: str
    value: V
    because: str = ""

    @property
    def words(self) -> str:
        """The value where it is said in words."""
        return self.value if isinstance(self.value, str) else ""


@dataclass(frozen=True)
class StatedPack:
    """What is known of a pack before anything is measured, defaults put in."""

    search: FaultSearch
    found: PackAsFound | None = None

    @property
    def chemistry(self) -> Chemistry:
        """The chemistry of its cells."""
        return Chemistry(self.search.chemistry)

    @property
    def resistance(self) -> Assumed[Quantity]:
        """DC resistance of one sound group."""
        if self.search.group_resistance_uohm is not None:
            return Assumed("Resistance of a sound group", of(Measure.DC_RESISTANCE, self.search.group_resistance_uohm))
        parallel = self.found.parallel if self.found else 1
        because = f"{CELL_RESISTANCE:~P} a cell, {parallel} in parallel: {PRACTICE}"
        return Assumed("Resistance of a sound group", CELL_RESISTANCE / parallel, because)

    @property
    def load(self) -> Assumed[Quantity]:
        """The load that every reading under load is taken with."""
        if self.search.load_ma is not None:
            return Assumed("Load", of(Measure.CURRENT, self.search.load_ma))
        return Assumed("Load", LOAD, f"none was stated: draw this much for each reading under load; {PRACTICE}")

    @property
    def wake(self) -> Assumed[Quantity]:
        """Below it a board that has switched off stays off."""
        if self.search.wake_voltage_mv is not None:
            return Assumed("Wake voltage of the board", of(Measure.VOLTAGE, self.search.wake_voltage_mv))
        nominal = limits(self.chemistry).require("nominal_voltage") * self.search.series
        because = f"not known: the nominal voltage of the stack, above which boards wake; {PRACTICE}"
        return Assumed("Wake voltage of the board", nominal, because)

    @property
    def switch(self) -> Assumed[str]:
        """Where the board switches."""
        stated = BoardSwitch(self.search.switch)
        if stated is not BoardSwitch.UNKNOWN:
            return Assumed("Board switches", stated.label)
        because = "not known: so no reading after the board without load proves anything"
        return Assumed("Board switches", BoardSwitch.LOW_SIDE.label, because)

    @property
    def sensor(self) -> Assumed[Quantity | str]:
        """What the sensor has at the bench."""
        if self.search.sensor_ohm is not None:
            return Assumed("Sensor", ureg.Quantity(float(self.search.sensor_ohm), "ohm"))
        return Assumed("Sensor", "left out", "there is none, or its value is not known")

    @property
    def outlet(self) -> Assumed[Quantity | str]:
        """What the outlet carries."""
        if self.search.outlet_voltage_mv is not None:
            return Assumed("Outlet, regulated", of(Measure.VOLTAGE, self.search.outlet_voltage_mv))
        return Assumed("Outlet", "the voltage of the stack", "no regulated outlet was stated")

    @property
    def told(self) -> tuple[Assumed[Any], ...]:
        """All of it, in the order of the page."""
        return self.wake, self.switch, self.load, self.resistance, self.sensor, self.outlet

    def model(self, meters: Sequence[Instrument] = ()) -> room.PackModel:
        """Return the pack as packs reasons about it, read with the worst of the meters.

        Raises
        ------
        packs.errors.PacksError
            The chemistry is not known, or a value cannot be.
        """
        sensor, outlet = self.sensor.value, self.outlet.value
        return room.PackModel(
            series=self.search.series,
            chemistry=self.chemistry,
            group_resistance=self.resistance.value,
            load=self.load.value,
            wake_voltage=self.wake.value,
            switch=room.Switch.HIGH_SIDE if self.search.switch == BoardSwitch.HIGH_SIDE else room.Switch.LOW_SIDE,
            sensor_value=None if isinstance(sensor, str) else sensor,
            outlet_voltage=None if isinstance(outlet, str) else outlet,
            tap_plug=self.search.tap_plug,
            meter=_meter(meters),
        )

    def may_charge(self, job: Job) -> bool:
        """Whether there is no danger sign and the cells lie within their charging temperatures; unknown is no."""
        if job.danger_level != DangerLevel.CLEAR or self.search.temperature_mdegc is None:
            return False
        try:
            return charge_zone(self.chemistry, of(Measure.TEMPERATURE, self.search.temperature_mdegc)).may_charge
        except MissingFact:
            return False


def _meter(meters: Sequence[Instrument]) -> room.Meter:
    if not meters:
        return room.Meter()
    return room.Meter(
        share=max(meter.error_ppm for meter in meters) / 1e6,
        offset=ureg.Quantity(max(meter.error_uv for meter in meters) / 1e3, "mV"),
    )


# --- readings


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


# --- what follows


@dataclass(frozen=True)
class Suspects:
    """A set of faults that explains every reading: what speaks for it, and what to do about it."""

    faults: tuple[str, ...]
    grounds: tuple[tuple[Taken, int], ...]
    advice: tuple[str, ...]


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
    others: tuple[tuple[str, ...], ...]
    other_count: int
    struck: tuple[StruckOut, ...]
    next: SetUp | None
    offered: tuple[SetUp, ...]
    may_charge: bool

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
        others=tuple(_words(faults) for faults in others[:MOST_NAMED]),
        other_count=len(others),
        struck=tuple(_struck(found, taken)),
        next=_set_up(proposal.measurement) if proposal else None,
        offered=tuple(_set_up(one) for one in offered),
        may_charge=may_charge,
    )


def _words(faults: Sequence[room.Fault]) -> tuple[str, ...]:
    return tuple(str(fault) for fault in faults) or ("nothing that a meter shows",)


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
    )


def _struck(found: room.Diagnosis, taken: Sequence[Taken]) -> list[StruckOut]:
    by_reading: dict[int, list[str]] = {}
    for faults, by in zip(found.every.faults, found.struck_by.tolist(), strict=True):
        if by >= 0 and len(faults) == 1:
            by_reading.setdefault(by, []).append(str(faults[0]))
    return [StruckOut(taken[by], tuple(faults)) for by, faults in sorted(by_reading.items())]


def known(job: Job, found: PackAsFound | None) -> Mapping[str, object]:
    """Return what is known of a pack before its search is stated, by column."""
    chemistry = found.cell_model.chemistry if found else job.device.chemistry
    first = {"series": found.series} if found else {}
    return first | ({} if chemistry == Chemistry.UNKNOWN else {"chemistry": chemistry})
