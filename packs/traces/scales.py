"""Units as tester files write them, and what they are worth in the units of the series."""

from dataclasses import dataclass

from packs.traces.columns import Role


@dataclass(frozen=True)
class Scale:
    """What a unit measures, and its value in the unit of the series (s, A, V, W, °C, Ah, Wh, Ω)."""

    kind: str
    factor: float
    offset: float = 0.0


SCALES: dict[str, Scale] = {
    "s": Scale("time", 1.0), "sec": Scale("time", 1.0), "ms": Scale("time", 1e-3), "min": Scale("time", 60.0),
    "h": Scale("time", 3600.0), "us": Scale("time", 1e-6), "d": Scale("time", 86400.0),
    "A": Scale("current", 1.0), "mA": Scale("current", 1e-3), "uA": Scale("current", 1e-6),
    "V": Scale("voltage", 1.0), "mV": Scale("voltage", 1e-3), "uV": Scale("voltage", 1e-6),
    "W": Scale("power", 1.0), "mW": Scale("power", 1e-3), "uW": Scale("power", 1e-6),
    "°C": Scale("temperature", 1.0), "degC": Scale("temperature", 1.0), "C": Scale("temperature", 1.0),
    "K": Scale("temperature", 1.0, -273.15), "m°C": Scale("temperature", 1e-3),
    "Ah": Scale("capacity", 1.0), "mAh": Scale("capacity", 1e-3), "As": Scale("capacity", 1 / 3600),
    "mAs": Scale("capacity", 1e-3 / 3600), "uAh": Scale("capacity", 1e-6),
    "Wh": Scale("energy", 1.0), "mWh": Scale("energy", 1e-3), "Ws": Scale("energy", 1 / 3600),
    "mWs": Scale("energy", 1e-3 / 3600), "J": Scale("energy", 1 / 3600),
    "Ω": Scale("resistance", 1.0), "ohm": Scale("resistance", 1.0), "Ohm": Scale("resistance", 1.0),
    "mΩ": Scale("resistance", 1e-3), "mOhm": Scale("resistance", 1e-3), "mohm": Scale("resistance", 1e-3),
}  # fmt: skip
KINDS: dict[Role, str] = {
    Role.TIME: "time", Role.STEP_TIME: "time", Role.CLOCK: "time", Role.CURRENT: "current", Role.VOLTAGE: "voltage",
    Role.POWER: "power", Role.TEMPERATURE: "temperature", Role.AMBIENT: "temperature",
    Role.CHARGE_CAPACITY: "capacity", Role.DISCHARGE_CAPACITY: "capacity", Role.CAPACITY: "capacity",
    Role.CHARGE_ENERGY: "energy", Role.DISCHARGE_ENERGY: "energy", Role.ENERGY: "energy",
    Role.AC_RESISTANCE: "resistance", Role.TESTER_RESISTANCE: "resistance",
}  # fmt: skip
# "ma" and "MA" are read as mA: no tester of single cells counts in megaamperes.
_ANY_CASE = {unit.lower(): scale for unit, scale in SCALES.items()}
_SAME = {"µ": "u", "μ": "u", "\u2126": "Ω", "℃": "°C", "·": ""}


def scale_of(unit: str) -> Scale | None:
    """Return what a unit is worth, whichever of the two signs for micro or ohm it is written with.

    Units are brought to [s], [A], [V], [W], [°C], [Ah], [Wh] and [Ω].

    References
    ----------
    Arithmetic: prefixes and units of the international system.

    Examples
    --------
    >>> scale_of("µA").factor, scale_of("furlong")
    (1e-06, None)
    """
    for sign, plain in _SAME.items():
        unit = unit.replace(sign, plain)
    return SCALES.get(unit) or _ANY_CASE.get(unit.lower())


def units_of(role: Role) -> tuple[str, ...]:
    """Return the units that a column of this role can stand in, such as [V] and [mV]; none of counts and words.

    References
    ----------
    Arithmetic: prefixes and units of the international system.
    """
    kind = KINDS.get(role)
    return tuple(unit for unit, scale in SCALES.items() if scale.kind == kind)
