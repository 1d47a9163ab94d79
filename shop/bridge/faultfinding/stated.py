"""The pack as stated before anything is measured, defaults put in where nothing is known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from packs import faultfinding as room
from packs.chemistry import charge_zone, limits
from packs.errors import MissingFact
from packs.terms import BoardSwitch, Chemistry, DangerLevel, GroupsReadAs, Measure
from packs.units import Quantity, of, show, ureg
from shop.models import FaultSearch, Instrument, Job, PackAsFound

V = TypeVar("V")
CELL_RESISTANCE = ureg.Quantity(40.0, "milliohm")
UNSTATED = ureg.Quantity(1.0, "A")  # reckoned with, and never drawn
SHARES = "at most a quarter of what the weakest group is rated for, and half its rated capacity in an hour"
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
        derived = derived_load(self.found)
        if derived is None:
            because = "none was stated, and the cells are not known: no load is proposed until you state it"
            return Assumed("Load", UNSTATED, because)
        return Assumed("Load", derived, f"none was stated: {SHARES}; {PRACTICE}")

    @property
    def load_known(self) -> bool:
        """Whether a load was stated, or follows from the cells."""
        return self.search.load_ma is not None or self.found is not None

    @property
    def load_doubt(self) -> str:
        """Why the stated load is more than the weakest group may be asked for; nothing where it is not."""
        most = _rated_current(self.found)
        if self.search.load_ma is None or most is None or of(Measure.CURRENT, self.search.load_ma) <= most:
            return ""
        return f"The weakest group is rated for {show(most)} at most: draw less. That is what the data sheet of its cells says."

    @property
    def groups_doubt(self) -> str:
        """Why the number of groups cannot be right; nothing where it agrees with the examination or there was none."""
        if self.found is None or self.found.series == self.search.series:
            return ""
        return (
            f"The examination found {self.found.series} groups in series, not {self.search.series}. Count them again."
        )

    @property
    def examined_doubt(self) -> str:
        """Why the voltages of the examination cannot count: they are not those of these groups."""
        if not self.groups_doubt or self.search.examined_as == GroupsReadAs.UNUSED:
            return ""
        return "The examination read another number of groups: its voltages cannot be told to these. Leave them out."

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
    def data_sheet_end(self) -> Quantity | None:
        """End of discharge of its cells by their data sheet, where they are known and of the stated chemistry."""
        cell = self.found.cell_model if self.found else None
        if cell is None or cell.chemistry != self.search.chemistry:
            return None
        return of(Measure.VOLTAGE, cell.end_of_discharge_mv)

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
            load_stated=self.load_known and not self.load_doubt,
            meter=_meter(meters),
            data_sheet_end=self.data_sheet_end,
        )

    def may_charge(self, job: Job) -> bool:
        """Whether there is no danger sign and the cells lie within their charging temperatures; unknown is no."""
        return not self.charger_doubt(job)

    def charger_doubt(self, job: Job) -> str:
        """Why the charger stays away whatever the groups show; nothing where it need not."""
        if job.danger_level != DangerLevel.CLEAR:
            return "A danger sign was written down, or was not looked for: no charger."
        if self.search.temperature_mdegc is None:
            return "How warm the cells are is not stated: no charger before that."
        try:
            within = charge_zone(self.chemistry, of(Measure.TEMPERATURE, self.search.temperature_mdegc)).may_charge
        except MissingFact:
            return "The charging temperatures of this chemistry are not known here: no charger."
        return "" if within else "The cells lie outside their charging temperatures: no charger before they do."

    def only_temperature_missing(self, job: Job) -> bool:
        """Whether nothing but the temperature of the cells keeps the charger away."""
        return job.danger_level == DangerLevel.CLEAR and self.search.temperature_mdegc is None


def derived_load(found: PackAsFound | None) -> Quantity | None:
    """Return the load that follows from the cells of a pack as found; None where they are not known."""
    if found is None:
        return None
    cell, most = found.cell_model, found.cell_model.max_discharge_current_ma
    current = None if most is None else of(Measure.CURRENT, most)
    return room.gentle_load(found.parallel, of(Measure.CAPACITY, cell.rated_capacity_mah), current)


def _rated_current(found: PackAsFound | None) -> Quantity | None:
    most = found.cell_model.max_discharge_current_ma if found else None
    return None if found is None or most is None else of(Measure.CURRENT, most * found.parallel)


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
    first: dict[str, object] = {"series": found.series} if found else {}
    load = derived_load(found)
    if load is not None:
        first["load_ma"] = round(load.m_as("mA"))
    return first | ({} if chemistry == Chemistry.UNKNOWN else {"chemistry": chemistry})
