"""From the heading of a column to what it holds: the open Battery Data Format and the trade's own words.

References
----------
Battery Data Format, vocabulary 1.3.0 (Battery Data Alliance), label and machine notation.
"""

import re
from dataclasses import dataclass

from packs.traces.columns import Role
from packs.traces.scales import KINDS, SCALES, scale_of

# Words of the trade, without unit, in small letters; the format's label and machine notations both come down to these.
NAMES: dict[str, Role] = {
    "test time": Role.TIME, "total time": Role.TIME, "elapsed time": Role.TIME, "time": Role.TIME,
    "elapsed": Role.TIME, "zeit": Role.TIME, "t": Role.TIME,
    "step time": Role.STEP_TIME, "steptime": Role.STEP_TIME,
    "unix time": Role.CLOCK, "date time": Role.CLOCK, "datetime": Role.CLOCK, "date": Role.CLOCK,
    "absolute time": Role.CLOCK, "timestamp": Role.CLOCK,
    "current": Role.CURRENT, "cell current": Role.CURRENT, "i": Role.CURRENT, "strom": Role.CURRENT,
    "voltage": Role.VOLTAGE, "cell voltage": Role.VOLTAGE, "terminal voltage": Role.VOLTAGE, "u": Role.VOLTAGE,
    "v": Role.VOLTAGE, "spannung": Role.VOLTAGE,
    "power": Role.POWER,
    "temperature": Role.TEMPERATURE, "cell temperature": Role.TEMPERATURE, "surface temperature": Role.TEMPERATURE,
    "temperature t1": Role.TEMPERATURE, "t1": Role.TEMPERATURE, "temperatur": Role.TEMPERATURE,
    "temp": Role.TEMPERATURE, "cell temp": Role.TEMPERATURE, "zelltemperatur": Role.TEMPERATURE,
    "ambient temperature": Role.AMBIENT, "chamber temperature": Role.AMBIENT,
    "ambient temp": Role.AMBIENT, "umgebungstemperatur": Role.AMBIENT,
    "cycle count": Role.CYCLE, "cycle index": Role.CYCLE, "cycle number": Role.CYCLE, "cycle": Role.CYCLE,
    "step count": Role.STEP_COUNT,
    "step id": Role.STEP_ID, "step index": Role.STEP_ID, "step number": Role.STEP_ID, "step": Role.STEP_ID,
    "schritt": Role.STEP_ID,
    "step type": Role.STEP_TYPE, "mode": Role.STEP_TYPE, "status": Role.STEP_TYPE,
    "state": Role.STEP_TYPE, "modus": Role.STEP_TYPE,
    "record index": Role.RECORD, "data point": Role.RECORD, "record": Role.RECORD,
    "cell": Role.CHANNEL, "cell id": Role.CHANNEL, "channel": Role.CHANNEL, "barcode": Role.CHANNEL,
    "charging capacity": Role.CHARGE_CAPACITY, "charge capacity": Role.CHARGE_CAPACITY,
    "discharging capacity": Role.DISCHARGE_CAPACITY, "discharge capacity": Role.DISCHARGE_CAPACITY,
    "capacity": Role.CAPACITY, "step cumulative capacity": Role.CAPACITY, "step capacity": Role.CAPACITY,
    "kapazität": Role.CAPACITY, "ladung": Role.CAPACITY,
    "charging energy": Role.CHARGE_ENERGY, "charge energy": Role.CHARGE_ENERGY,
    "discharging energy": Role.DISCHARGE_ENERGY, "discharge energy": Role.DISCHARGE_ENERGY,
    "energy": Role.ENERGY, "step cumulative energy": Role.ENERGY, "step energy": Role.ENERGY,
    "energie": Role.ENERGY, "leistung": Role.POWER,
    "ac internal resistance": Role.AC_RESISTANCE, "ac resistance": Role.AC_RESISTANCE,
    "internal resistance": Role.TESTER_RESISTANCE, "dc internal resistance": Role.TESTER_RESISTANCE,
}  # fmt: skip
# Units as the machine notation spells them out, at the end of a name.
SPELT = {
    "second": "s", "millisecond": "ms", "volt": "V", "ampere": "A", "celsius": "°C", "ohm": "Ω", "watt": "W",
    "ah": "Ah", "wh": "Wh",
}  # fmt: skip
OLD_NAMES = frozenset(
    {"step_index", "step_capacity_ah", "step_energy_wh", "test_time_millisecond", "unix_time_millisecond"}
)
DEFAULT_UNITS = {
    Role.TIME: "s", Role.STEP_TIME: "s", Role.CURRENT: "A", Role.VOLTAGE: "V", Role.POWER: "W",
    Role.TEMPERATURE: "°C", Role.AMBIENT: "°C", Role.CHARGE_CAPACITY: "Ah", Role.DISCHARGE_CAPACITY: "Ah",
    Role.CAPACITY: "Ah", Role.CHARGE_ENERGY: "Wh", Role.DISCHARGE_ENERGY: "Wh", Role.ENERGY: "Wh",
    Role.AC_RESISTANCE: "Ω", Role.TESTER_RESISTANCE: "Ω",
}  # fmt: skip
# Time, current and voltage are never guessed from a unit alone: the name has to say it.
_BRACKETED = re.compile(r"^(?P<name>[^\[(/]+?)\s*[\[(](?P<unit>[^\])]*)[\])]$")
_SLASHED = re.compile(r"^(?P<name>.+?)\s*/\s*(?P<unit>[^/\s]+)$")


@dataclass(frozen=True)
class Heading:
    """What a heading says; ``role`` is ``None`` where it is none of ours, ``unit`` where it names none."""

    role: Role | None
    unit: str | None
    old: bool = False


def heading(text: str) -> Heading:
    """Read one heading in any of the notations: ``Voltage / V``, ``voltage_volt``, ``Voltage(mV)``, ``Voltage_V``.

    References
    ----------
    Battery Data Format, vocabulary of names and units; other names are common practice, no source.

    Examples
    --------
    >>> heading("Voltage(mV)").unit, heading("test_time_second").role.label, heading("Strain / 1").role
    ('mV', 'time', None)
    """
    name, unit = _parts(text.strip())
    role = NAMES.get(name)
    if name == "t" and unit is not None and is_unit(unit) and scale_of(unit) != scale_of("s"):
        role = Role.TEMPERATURE if text.strip().startswith("T") else role
    if role in (Role.CLOCK, Role.STEP_TYPE, Role.CHANNEL) or (role is not None and role not in DEFAULT_UNITS):
        unit = unit if role is Role.CLOCK and unit in SCALES else ""
    return Heading(role, unit, text.strip() in OLD_NAMES)


def _parts(text: str) -> tuple[str, str | None]:
    for notation in (_BRACKETED, _SLASHED):
        if found := notation.match(text):
            return _words(found["name"]), found["unit"].strip() or None
    words = _words(text).split(" ")
    if "_" in text and words[-1] in SPELT and len(words) > 1:
        return " ".join(words[:-1]), SPELT[words[-1]]
    return _unit_behind(text) or (" ".join(words), None)


def _unit_behind(text: str) -> tuple[str, str] | None:
    """``Voltage_V`` and ``Elapsed s``: a last word that is a unit of just what the words before it name."""
    *named, unit = text.replace("_", " ").split() or [""]
    name = _words(" ".join(named))
    scale = scale_of(unit)
    role = NAMES.get(name)
    return (name, unit) if scale is not None and role is not None and KINDS.get(role) == scale.kind else None


def _words(text: str) -> str:
    return " ".join(text.replace("_", " ").lower().split())


def is_unit(text: str) -> bool:
    """Tell whether a text is nothing but a unit, as on a line of units below the names.

    References
    ----------
    Arithmetic: prefixes and units of the international system.
    """
    return scale_of(text.strip(" []()")) is not None
