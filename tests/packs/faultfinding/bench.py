"""A pack on the bench with faults of known size, read by a meter that errs: written without the room it tests.

Currents follow from whether the loop is closed, voltages from adding up what lies between the probes.
"""

import random
from dataclasses import dataclass, field

from packs.chemistry import limits
from packs.faultfinding import Circumstance, Fault, Measurement, PackModel, PartKind, Place, Point, Reading, State
from packs.units import ureg

LOADED = (Circumstance.LOAD, Circumstance.OUTLET_LOAD, Circumstance.WOKEN, Circumstance.CHARGED)


@dataclass
class Bench:
    """A pack of sound groups near one level, and up to two faults of sizes drawn from the seed."""

    model: PackModel
    faults: tuple[Fault, ...]
    seed: int
    rest: dict[int, float] = field(default_factory=dict)
    drop: dict[int, float] = field(default_factory=dict)
    loss: dict[int, float] = field(default_factory=dict)
    link: dict[int, float] = field(default_factory=dict)
    open: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        draw = self.draw = random.Random(self.seed)
        series = self.model.series
        found = limits(self.model.chemistry)
        self.empty = float(found.require("end_of_discharge").to("V").magnitude)
        full = float(found.require("charge_limit").to("V").magnitude)
        self.most_lost = 0.3 * series * self.empty
        self.least = self.empty * 1.14 + 0.05  # below it no load is drawn, so that little can be told apart
        latched = any(fault.state is State.LATCHED_OFF for fault in self.faults)
        most = self.model.wake_voltage.to("V").magnitude / series - 0.03 if latched else full - 0.05
        self.level = draw.uniform(self.empty - 0.5, most) if latched else draw.uniform(self.least, most)
        usual = self.model.load.to("A").magnitude * self.model.group_resistance.to("ohm").magnitude
        usual *= draw.uniform(3.5, 12.0) if self.has(PartKind.STACK, State.WORN) else draw.uniform(1.0, 2.5)
        for group in range(1, series + 1):
            self.rest[group] = self.level + draw.uniform(-0.015, 0.015)
            self.drop[group] = usual * draw.uniform(0.8, 1.2)
            self.loss[group] = draw.uniform(0.0, 0.005)
        for fault in self.faults:
            self.inflict(fault, usual, draw)

    def inflict(self, fault: Fault, usual: float, draw: random.Random) -> None:
        group, series = fault.number, self.model.series
        place = {
            PartKind.NEGATIVE_LEAD: 0,
            PartKind.GROUP: 2 * group - 1,
            PartKind.JOINT: 2 * group,
            PartKind.POSITIVE_LEAD: 2 * series,
        }.get(fault.kind)
        if place is None:
            return
        if fault.state is State.OPEN:
            self.open.add(place)
        elif fault.state is State.RESISTIVE:
            least = 0.011 if place in (0, 2 * series) else 0.0055  # ohm: beyond a good lead and a good joint
            load = self.model.load.to("A").magnitude
            self.link[place] = draw.uniform(least * load, max(min(0.3 * load, self.most_lost), 2 * least * load))
        elif fault.state is State.WEAK:
            self.drop[group] = usual * draw.uniform(1.5, 8.0)
        elif fault.state is State.SHORTED:
            self.rest[group], self.drop[group] = draw.uniform(0.0, 0.3), 0.0
        elif fault.state is State.HIGH:
            self.rest[group] = self.level + draw.uniform(0.15, 0.4)
        else:
            self.rest[group] = self.level - draw.uniform(0.15, self.level - 0.4)
            self.loss[group] = draw.uniform(0.12, 0.3) if fault.state is State.LEAKING else draw.uniform(0.0, 0.01)

    def has(self, kind: PartKind, state: State) -> bool:
        return any(fault.kind is kind and fault.state is state for fault in self.faults)

    def voltage(self, first: int, last: int, circumstance: Circumstance) -> float | None:
        """Between two nodes along the stack; None where something open lies between them."""
        between = range(first, last)
        if self.open & set(between):
            return None
        current = 1.0 if circumstance in LOADED and not self.open else 0.0
        groups = [(place + 1) // 2 for place in between if place % 2]
        volts = sum(self.rest[group] - current * self.drop[group] for group in groups)
        volts -= sum(self.loss[group] for group in groups) if circumstance is Circumstance.NEXT_DAY else 0.0
        return volts - current * sum(self.link.get(place, 0.005) for place in between if place % 2 == 0)

    def switched_on(self, circumstance: Circumstance) -> bool:
        if self.has(PartKind.BOARD, State.FAILED) or self.open:
            return False
        if self.has(PartKind.BOARD, State.TRIPPED) and circumstance not in (Circumstance.WOKEN, Circumstance.CHARGED):
            return False
        if self.has(PartKind.BOARD, State.LATCHED_OFF) and circumstance is not Circumstance.CHARGED:
            return False
        faulty = {fault.number for fault in self.faults if fault.kind is PartKind.GROUP}
        if self.has(PartKind.STACK, State.WORN):
            faulty = set(self.rest)
        sag = circumstance in LOADED
        return all(self.rest[group] - sag * self.drop[group] > self.empty - 0.2 for group in faulty)

    def true_value(self, low: Point, high: Point, circumstance: Circumstance) -> float | None:
        if low.place is Place.SENSOR:
            return self.sensor()
        ends = low.node(self.model.series), high.node(self.model.series)
        if ends[0] is not None and ends[1] is not None:
            volts = self.voltage(ends[0], ends[1], circumstance)
            return self.dead() if volts is None else volts
        dead = low.place is Place.OUTLET and self.has(PartKind.OUTLET, State.FAILED)
        if dead or not self.switched_on(circumstance):
            return self.dead()
        lift = (
            0.6 * self.model.series if circumstance is Circumstance.CHARGED and self.level < self.empty + 0.3 else 0.0
        )
        stack = self.voltage(0, 2 * self.model.series + 1, circumstance)
        assert stack is not None
        return stack + lift - 0.1

    def dead(self) -> float | None:
        return None if self.draw.random() < 0.4 else self.draw.uniform(0.0, 0.3)

    def sensor(self) -> float | None:
        ohm = self.model.sensor_value.to("ohm").magnitude
        if self.has(PartKind.SENSOR, State.OPEN):
            return None
        wrong = self.has(PartKind.SENSOR, State.OFF_VALUE)
        return ohm * (self.draw.choice([0.3, 0.7, 1.4, 4.0]) if wrong else self.draw.uniform(0.95, 1.05))

    def read(self, measurement: Measurement) -> list[Reading]:
        """Meter error 0.5 % + 2 mV, contact scatter 5 mV, as the model is told."""
        return [self.read_one(low, high, measurement.circumstance) for low, high in measurement.pairs]

    def read_one(self, low: Point, high: Point, circumstance: Circumstance) -> Reading:
        value = self.true_value(low, high, circumstance)
        if value is None:
            return Reading(low, high, circumstance, None)
        value += value * self.draw.uniform(-0.005, 0.005) + self.draw.uniform(-0.007, 0.007)
        return Reading(low, high, circumstance, ureg.Quantity(value, "ohm" if low.place is Place.SENSOR else "V"))
