"""Kinds of quantity: what each is called, how its units are typed, how it is shown.

A kind knows its own units by spelling, so that a torque in N·m is never taken for an energy
although both have the same dimension.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf
from types import MappingProxyType

from packs.terms import Measure


class Kind(StrEnum):
    """What a number on a bench measures."""

    VOLTAGE = "voltage"
    CURRENT = "current"
    CAPACITY = "capacity"
    ENERGY = "energy"
    RESISTANCE = "resistance"
    INSULATION = "insulation resistance"
    TEMPERATURE = "temperature"
    TEMPERATURE_RISE = "temperature rise"
    MASS = "mass"
    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    TIME = "time"
    TORQUE = "torque"
    POWER = "power"
    FRACTION = "fraction"
    COUNT = "count"
    SELF_DISCHARGE = "self-discharge"
    C_RATE = "C-rate"
    PULSE_ENERGY = "pulse energy"


@dataclass(frozen=True)
class Step:
    """One way to show a kind: unit, decimals, and the rounded value below which it is used."""

    unit: str
    symbol: str
    decimals: int
    below: float = inf


@dataclass(frozen=True)
class KindFacts:
    """How one kind is named, typed and shown.

    Attributes
    ----------
    expected : str
        Name and example for messages, "a voltage such as 3.62 V".
    spellings : Mapping[str, str]
        Typed unit, letter case kept (mΩ is not MΩ) → unit of the registry.
    steps : tuple of Step
        From the smallest unit to the largest.
    signed : bool
        Whether a value below zero can be true.
    """

    expected: str
    spellings: Mapping[str, str]
    steps: tuple[Step, ...]
    signed: bool = True


def _spelled(units: Mapping[str, str]) -> Mapping[str, str]:
    """Turn registry unit → spellings (separated by ``|``) round; micro and ohm signs count in both code points."""
    table: dict[str, str] = {}
    for unit, spellings in units.items():
        for spelling in spellings.split("|"):
            other_micro = spelling.replace("µ", "\u03bc")
            for written in (spelling, other_micro):
                table[written] = unit
                table[written.replace("Ω", "\u2126")] = unit
    return MappingProxyType(table)


FACTS: Mapping[Kind, KindFacts] = MappingProxyType(
    {
        Kind.VOLTAGE: KindFacts(
            "a voltage such as 3.62 V",
            _spelled({"volt": "V|v|volt|volts", "millivolt": "mV|mv", "microvolt": "µV|uV", "kilovolt": "kV"}),
            (Step("millivolt", "mV", 1, 100), Step("volt", "V", 3, 10), Step("volt", "V", 2)),
        ),
        Kind.CURRENT: KindFacts(
            "a current such as 2.5 A",
            _spelled({"ampere": "A|a|amp|amps", "milliampere": "mA|ma", "microampere": "µA|uA", "kiloampere": "kA|ka"}),
            (Step("milliampere", "mA", 1, 100), Step("ampere", "A", 3, 10), Step("ampere", "A", 2)),
        ),
        Kind.CAPACITY: KindFacts(
            "a capacity such as 2600 mAh",
            _spelled(
                {
                    "ampere*hour": "Ah|ah|AH|A·h|A h|A.h",
                    # labels are printed in capitals; a capacity of millions of Ah does not exist on this bench
                    "milliampere*hour": "mAh|mah|MAH|MAh|mAH|mA·h|mA h|mA.h",
                }
            ),
            (Step("milliampere*hour", "mAh", 0, 10_000), Step("ampere*hour", "Ah", 2)),
            signed=False,
        ),
        Kind.ENERGY: KindFacts(
            "an energy such as 36 Wh",
            _spelled(
                {
                    "watt*hour": "Wh|wh|WH|W·h|W h|W.h",
                    "milliwatt*hour": "mWh|mwh|mW·h",
                    "kilowatt*hour": "kWh|kwh|kW·h",
                    "joule": "J",
                    "kilojoule": "kJ",
                }
            ),
            (Step("watt*hour", "Wh", 2, 1000), Step("kilowatt*hour", "kWh", 3)),
            signed=False,
        ),
        Kind.RESISTANCE: KindFacts(
            "a resistance such as 18 mΩ",
            _spelled(
                {
                    "ohm": "Ω|ohm|ohms|Ohm|Ohms",
                    "milliohm": "mΩ|mohm|mohms|mOhm|milliohm|milliohms",
                    "microohm": "µΩ|uΩ|µohm|uohm|µOhm|uOhm|microohm",
                    "kiloohm": "kΩ|kohm|kOhm",
                    "megaohm": "MΩ|Mohm|MOhm",
                }
            ),
            (
                Step("microohm", "µΩ", 0, 1000),
                Step("milliohm", "mΩ", 2, 10),
                Step("milliohm", "mΩ", 1, 1000),
                Step("ohm", "Ω", 3, 1000),
                Step("kiloohm", "kΩ", 2, 1000),
                Step("megaohm", "MΩ", 2),
            ),
            signed=False,
        ),
        # Behind the resistances of cells, so that a bare resistance prints as one of those.
        Kind.INSULATION: KindFacts(
            "an insulation resistance such as 20 MΩ",
            _spelled({"megaohm": "MΩ|Mohm|MOhm", "kiloohm": "kΩ|kohm|kOhm"}),
            (Step("kiloohm", "kΩ", 2, 1000), Step("megaohm", "MΩ", 2)),
            signed=False,
        ),
        Kind.TEMPERATURE: KindFacts(
            "a temperature such as 25 °C",
            _spelled({"degC": "°C|C|c|degC|℃|° C|ºC", "degF": "°F|F|degF|℉|ºF", "kelvin": "K"}),
            (Step("degC", "°C", 1),),
        ),
        # A difference of 30 K is one of 30 °C; of a temperature it would be −243 °C.
        Kind.TEMPERATURE_RISE: KindFacts(
            "a temperature rise such as 30 K",
            _spelled({"delta_degC": "K|°C|C|c|degC|℃|° C|ºC", "delta_degF": "°F|F|degF|℉|ºF"}),
            (Step("delta_degC", "K", 1),),
        ),
        Kind.MASS: KindFacts(
            "a mass such as 45 g",
            _spelled(
                {"gram": "g|gr|grams", "kilogram": "kg|Kg|KG", "milligram": "mg", "ounce": "oz", "pound": "lb|lbs"}
            ),
            (Step("gram", "g", 1, 1000), Step("kilogram", "kg", 3)),
            signed=False,
        ),
        Kind.LENGTH: KindFacts(
            "a length such as 65 mm",
            _spelled(
                {
                    "millimeter": "mm",
                    "centimeter": "cm",
                    "meter": "m",
                    "micrometer": "µm|um",
                    "inch": 'in|inch|inches|in.|"|″',
                    "foot": "ft",
                }
            ),
            (Step("millimeter", "mm", 2, 1000), Step("meter", "m", 3)),
            signed=False,
        ),
        Kind.AREA: KindFacts(
            "an area such as 1.2 mm²",
            _spelled({"millimeter**2": "mm²|mm2|mm^2|sq mm|sqmm", "centimeter**2": "cm²|cm2|cm^2"}),
            (Step("millimeter**2", "mm²", 2),),
            signed=False,
        ),
        Kind.VOLUME: KindFacts(
            "a volume such as 120 L",
            _spelled(
                {
                    "liter": "L|l|litre|litres|liter|liters|dm³|dm3",
                    "centimeter**3": "cm³|cm3|cm^3|ml|mL",
                    "meter**3": "m³|m3|m^3",
                    "foot**3": "ft³|ft3|ft^3|cu ft|cuft",
                }
            ),
            (Step("liter", "L", 2, 1000), Step("meter**3", "m³", 3)),
            signed=False,
        ),
        Kind.TIME: KindFacts(
            "a time such as 90 min",
            _spelled(
                {
                    "second": "s|sec|secs|second|seconds",
                    "millisecond": "ms",
                    "minute": "min|mins|minute|minutes",
                    "hour": "h|hr|hrs|hour|hours",
                    "day": "d|day|days",
                    "week": "week|weeks",
                }
            ),
            (
                Step("millisecond", "ms", 1, 1000),
                Step("second", "s", 1, 120),
                Step("minute", "min", 1, 120),
                Step("hour", "h", 1, 72),
                Step("day", "d", 1),
            ),
            signed=False,
        ),
        Kind.TORQUE: KindFacts(
            "a torque such as 2.5 N·m",
            _spelled(
                {
                    "newton*meter": "N·m|Nm|N m|N.m|N*m|nm|NM",
                    "millinewton*meter": "mN·m|mNm|mN m",
                    "newton*centimeter": "N·cm|Ncm|N cm|cN·m|cNm|cN m",
                    "force_pound*inch": "lbf·in|in·lbf|in-lb|in lb|in·lb",
                }
            ),
            (Step("newton*meter", "N·m", 2),),
            signed=False,
        ),
        Kind.POWER: KindFacts(
            "a power such as 18 W",
            _spelled({"watt": "W|w|watt|watts", "milliwatt": "mW|mw", "kilowatt": "kW|kw"}),
            (Step("milliwatt", "mW", 1, 1000), Step("watt", "W", 2)),
        ),
        Kind.FRACTION: KindFacts(
            "a percentage such as 80 %",
            _spelled({"percent": "%|percent|pct"}),
            (Step("percent", "%", 1),),
        ),
        Kind.COUNT: KindFacts(
            "a whole number such as 12",
            _spelled({"dimensionless": "pcs|pc"}),
            (Step("dimensionless", "", 0),),
            signed=False,
        ),
        Kind.SELF_DISCHARGE: KindFacts(
            "a self-discharge such as 0.7 mV/day",
            _spelled(
                {
                    "millivolt/day": "mV/day|mV/d|mV per day|mv/day",
                    "microvolt/day": "µV/day|uV/day|µV/d|uV/d|µV per day",
                    "volt/day": "V/day|V/d",
                }
            ),
            (Step("millivolt/day", "mV/day", 3),),
        ),
        Kind.C_RATE: KindFacts("a C-rate such as 0.5 C", _spelled({"1/hour": "C|c|It"}), (Step("1/hour", "C", 2),)),
        Kind.PULSE_ENERGY: KindFacts(
            "a pulse energy such as 40 J",
            _spelled({"joule": "J|Ws|W·s", "millijoule": "mJ", "kilojoule": "kJ"}),
            (Step("joule", "J", 1, 10_000), Step("kilojoule", "kJ", 2)),
            signed=False,
        ),
    }
)


@dataclass(frozen=True)
class Stored:
    """How one measure is kept: its kind, the unit of the column, the unit a person types."""

    kind: Kind
    column_unit: str
    typed_unit: str


STORED: Mapping[Measure, Stored] = MappingProxyType(
    {
        Measure.CAPACITY: Stored(Kind.CAPACITY, "milliampere*hour", "mAh"),
        Measure.ENERGY: Stored(Kind.ENERGY, "milliwatt*hour", "Wh"),
        Measure.VOLTAGE: Stored(Kind.VOLTAGE, "millivolt", "V"),
        Measure.REST_VOLTAGE: Stored(Kind.VOLTAGE, "millivolt", "V"),
        Measure.CURRENT: Stored(Kind.CURRENT, "milliampere", "A"),
        Measure.DC_RESISTANCE: Stored(Kind.RESISTANCE, "microohm", "mΩ"),
        Measure.AC_RESISTANCE: Stored(Kind.RESISTANCE, "microohm", "mΩ"),
        Measure.CONTACT_RESISTANCE: Stored(Kind.RESISTANCE, "microohm", "mΩ"),
        Measure.INSULATION: Stored(Kind.INSULATION, "kiloohm", "MΩ"),
        Measure.SELF_DISCHARGE: Stored(Kind.SELF_DISCHARGE, "microvolt/day", "mV/day"),
        Measure.TEMPERATURE: Stored(Kind.TEMPERATURE, "degC", "°C"),
        Measure.MASS: Stored(Kind.MASS, "milligram", "g"),
        Measure.TORQUE: Stored(Kind.TORQUE, "millinewton*meter", "N·m"),
        Measure.COUNT: Stored(Kind.COUNT, "dimensionless", ""),
    }
)
