"""The pack as stated before anything is measured, defaults put in where nothing is known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from packs import faultfinding as room
from packs.chemistry import charge_zone, limits
from packs.errors import MissingFact
from packs.terms import BoardSwitch, Chemistry, DangerLevel, Measure
from packs.units import Quantity, of, show, ureg
from shop.models import FaultSearch, Instrument, Job, PackAsFound

V = TypeVar("V")
CELL_RESISTANCE = ureg.Quantity(40.0, "milliohm")
LOAD = ureg.Quantity(2.0, "A")
PRACTICE = "common practice, no source"


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
        because = f"{show(CELL_RESISTANCE)} a cell, {parallel} in parallel: {PRACTICE}"
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


def known(job: Job, found: PackAsFound | None) -> Mapping[str, object]:
    """Return what is known of a pack before its search is stated, by column."""
    chemistry = found.cell_model.chemistry if found else job.device.chemistry
    first = {"series": found.series} if found else {}
    return first | ({} if chemistry == Chemistry.UNKNOWN else {"chemistry": chemistry})
