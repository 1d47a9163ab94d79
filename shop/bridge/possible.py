"""What this bench can meet at all. A value beyond is a slipped unit or a typing fault, whichever door it comes by."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from packs.terms import Measure
from packs.topology import Arrangement
from packs.units import Kind, NumberFormat, Quantity, either_way, measure_kind, measure_unit, show, stored_unit, ureg

LONGEST_CODE = 40
"""Characters of a code, as they fit on a label."""

ABOVE_ZERO = frozenset({Measure.DC_RESISTANCE, Measure.AC_RESISTANCE, Measure.MASS})
"""What no cell has none of: a zero there is a tester's way of writing nothing (common practice, no source)."""

MOST: Mapping[Measure, int] = MappingProxyType(
    {
        Measure.CAPACITY: 1_000_000,
        Measure.ENERGY: 5_000_000,
        Measure.DC_RESISTANCE: 100_000_000,
        Measure.AC_RESISTANCE: 100_000_000,
        Measure.REST_VOLTAGE: 5_000,
        Measure.SELF_DISCHARGE: 5_000_000,
        Measure.MASS: 20_000_000,
    }
)
"""More, in the stored unit, than a single cell on this bench has; common practice, no source."""

MOST_TOLERANCE_MV = 5_000
"""A charger or a trip further off its voltage is none; common practice, no source."""

MOST_CELLS = 1200
"""More cells than one bench rebuilds; common practice, no source."""

MOST_MV = 1_500_000
"""Upper end of low voltage for direct current (Directive 2014/35/EU, article 1; from memory)."""

MOST_MA = 1_000_000
MOST_MAH = MOST[Measure.CAPACITY]
LEAST_PACK_MAH = 50
"""Less than the smallest pack that is rebuilt: what holds less is a button cell, or 2.6 mAh typed for 2.6 Ah; common
practice, no source."""

MOST_WIDTH_UM = 100_000
MOST_THICKNESS_UM = 5_000
MOST_LENGTH_UM = 1_000_000
MOST_TORQUE_MNM = 100_000
MOST_LAYERS = 3
MOST_PEAK_MS = 3_600_000
LEAST_LEAD_UM2, MOST_LEAD_UM2 = 10_000, 150_000_000
MOST_LEAD_UM = 10_000_000
MOST_CUT_UM = 1_000_000_000
MOST_BREAKING_MA = 200_000_000
MOST_GROSS_MG = 2_000_000_000
MOST_SITE_MG = 100_000_000_000
MOST_PACK_MWH = 100_000_000
MOST_ITEM_MM3 = 10_000_000_000
MOST_AREA_MWH, MOST_AREA_MM3 = 100_000_000_000, 10_000_000_000_000
"""Further than any pack, strip, lead, fuse, cell, terminal, container or site here goes; common practice, no source."""

MOST_FAULT_GROUPS = 30
"""More groups than faults are looked for in: the answer would take longer than a page waits."""

MOST_PULSE_MA, MOST_PULSE_US, MOST_PULSES = 50_000_000, 10_000_000, 100_000
MOST_SOURCE_MV, MOST_SOURCE_UOHM, MOST_RISE_K = 60_000, 1_000_000, 200
"""More than a spot welder drives, for longer or more often, from more or through more, or than any sleeve stands; common
practice, no source."""

MOST_SENSOR_OHM = 100_000_000
"""More than a sensor on a pack has; common practice, no source."""

MOST_INSULATION_KOHM, MOST_INSULATION_TEST_MV = 1_000_000_000, 5_000_000
"""A teraohm, and the highest test voltage of what a shop has; common practice, no source."""

MOST_MONEY, MOST_MINUTES, MOST_YEARS = 100_000_000, 10_000, 50
"""More than anything here costs, takes or lasts, in any currency; common practice, no source."""

COLDEST_MDEGC, HOTTEST_MDEGC = -60_000, 1_000_000
"""What a sensor on a pack reads between the coldest yard and a burning cell; common practice, no source."""

MOST_KOHM = 100_000_000
"""What an insulation tester reads at the very most, 100 GΩ; common practice, no source."""

MOST_TRIP_US = 60_000_000
"""A board that takes longer than a minute to trip trips on nothing; common practice, no source."""

WORST_SHARE_PPM, WORST_FIXED_UV = 100_000, 1_000_000
"""A meter off by more than a tenth of its reading or by a volt measures nothing here; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Bound:
    """What a stored number may be: from ``least``, or above it, up to ``most``, in the stored unit."""

    kind: Kind
    unit: str
    typed_unit: str
    most: int
    least: int = 0
    above: bool = False

    @classmethod
    def of(cls, measure: Measure, *, most: int, least: int = 0, above: bool = False) -> "Bound":
        """Return a bound in the units of a measure."""
        unit, typed = stored_unit(measure), measure_unit(measure)
        return cls(kind=measure_kind(measure), unit=unit, typed_unit=typed, most=most, least=least, above=above)

    def doubt(self, value: Decimal | int) -> str:
        """Say why a number cannot be; nothing where it can."""
        if not Decimal(value).is_finite():
            return f"{value} is not a number that anything reads."
        if self.least <= value <= self.most and not (self.above and value == self.least):
            return ""
        low = self.shown(self.least) if self.least else "0"
        return (
            f"{self.shown(value)} cannot be right: expected is {'above' if self.above else 'from'} {low} "
            f"up to {self.shown(self.most)}. Check the number and its unit."
        )

    def shown(self, value: Decimal | int, *, locale: str = "en") -> str:
        """Return a stored number as the shop writes it."""
        number = float(value) / 1000 if self.kind is Kind.TEMPERATURE else float(value)
        unit = "degC" if self.kind is Kind.TEMPERATURE else self.unit
        quantity: Quantity = ureg.Quantity(number, unit)
        return str(show(quantity, self.kind, locale=locale))


def _length(most: int) -> Bound:
    return Bound(kind=Kind.LENGTH, unit="um", typed_unit="mm", most=most, above=True)


def _kilograms(most: int, *, above: bool = False) -> Bound:
    return Bound(kind=Kind.MASS, unit="milligram", typed_unit="kg", most=most, above=above)


def _count(most: int, *, above: bool = False) -> Bound:
    return Bound(kind=Kind.COUNT, unit="dimensionless", typed_unit="", most=most, above=above)


_MONEY = _count(MOST_MONEY)
_PACK_VOLTAGE = Bound.of(Measure.VOLTAGE, most=MOST_MV, above=True)
_CELL_VOLTAGE = Bound.of(Measure.VOLTAGE, most=MOST[Measure.REST_VOLTAGE], above=True)
_CURRENT = Bound.of(Measure.CURRENT, most=MOST_MA, above=True)
_SENSOR = Bound(kind=Kind.RESISTANCE, unit="ohm", typed_unit="Ω", most=MOST_SENSOR_OHM, above=True)

STATED: Mapping[str, Bound] = MappingProxyType(
    {
        "rated_voltage_mv": _PACK_VOLTAGE,
        "charger_voltage_mv": _PACK_VOLTAGE,
        "charger_tolerance_mv": Bound.of(Measure.VOLTAGE, most=MOST_TOLERANCE_MV),
        "board_groups": _count(MOST_CELLS, above=True),
        "board_overcharge_mv": _CELL_VOLTAGE,
        "board_tolerance_mv": Bound.of(Measure.VOLTAGE, most=MOST_TOLERANCE_MV),
        "board_undervoltage_mv": _CELL_VOLTAGE,
        "board_current_ma": _CURRENT,
        "insulation_kohm": Bound(kind=Kind.RESISTANCE, unit="kiloohm", typed_unit="MΩ", most=MOST_INSULATION_KOHM),
        "insulation_test_mv": Bound.of(Measure.VOLTAGE, most=MOST_INSULATION_TEST_MV, above=True),
        "contact_ohm": Bound(kind=Kind.RESISTANCE, unit="ohm", typed_unit="Ω", most=MOST_SENSOR_OHM),
        "absolute_max_mv": _CELL_VOLTAGE,
        "pulse_current_ma": _CURRENT,
        "pulse_time_ms": Bound(kind=Kind.TIME, unit="ms", typed_unit="s", most=MOST_PEAK_MS, above=True),
        "outlet_voltage_mv": _PACK_VOLTAGE,
        "dropout_mv": _PACK_VOLTAGE,
        "continuous_current_ma": _CURRENT,
        "rated_capacity_mah": Bound.of(Measure.CAPACITY, most=MOST_MAH, above=True),
        "strip_width_um": _length(MOST_WIDTH_UM),
        "strip_thickness_um": _length(MOST_THICKNESS_UM),
        "strip_layers": Bound(kind=Kind.COUNT, unit="dimensionless", typed_unit="", most=MOST_LAYERS, above=True),
        "peak_current_ma": _CURRENT,
        "peak_time_ms": Bound(kind=Kind.TIME, unit="ms", typed_unit="s", most=MOST_PEAK_MS, above=True),
        "lead_area_um2": Bound(
            kind=Kind.AREA, unit="um**2", typed_unit="mm²", most=MOST_LEAD_UM2, least=LEAST_LEAD_UM2
        ),
        "lead_length_um": _length(MOST_LEAD_UM),
        "fuse_current_ma": _CURRENT,
        "fuse_voltage_mv": _PACK_VOLTAGE,
        "fuse_breaking_ma": Bound.of(Measure.CURRENT, most=MOST_BREAKING_MA, above=True),
        "board_trip_ma": Bound.of(Measure.CURRENT, most=MOST_BREAKING_MA, above=True),
        "board_trip_us": Bound(kind=Kind.TIME, unit="us", typed_unit="ms", most=MOST_TRIP_US, above=True),
        "nominal_voltage_mv": _CELL_VOLTAGE,
        "charge_limit_mv": _CELL_VOLTAGE,
        "end_of_discharge_mv": _CELL_VOLTAGE,
        "max_charge_current_ma": _CURRENT,
        "max_discharge_current_ma": _CURRENT,
        "diameter_um": _length(MOST_LENGTH_UM),
        "width_um": _length(MOST_LENGTH_UM),
        "height_um": _length(MOST_LENGTH_UM),
        "mass_mg": Bound.of(Measure.MASS, most=MOST[Measure.MASS], above=True),
        "terminal_torque_mnm": Bound.of(Measure.TORQUE, most=MOST_TORQUE_MNM, above=True),
        "item_mass_mg": Bound.of(Measure.MASS, most=MOST_GROSS_MG, above=True),
        "volume_mm3": Bound(kind=Kind.VOLUME, unit="millimeter**3", typed_unit="L", most=MOST_ITEM_MM3, above=True),
        "rated_energy_mwh": Bound.of(Measure.ENERGY, most=MOST_PACK_MWH, above=True),
        "gross_mass_mg": _kilograms(MOST_GROSS_MG, above=True),
        "other_universal_waste_mg": _kilograms(MOST_SITE_MG),
        "area_energy_mwh": Bound(
            kind=Kind.ENERGY, unit="milliwatt*hour", typed_unit="kWh", most=MOST_AREA_MWH, above=True
        ),
        "area_mass_mg": _kilograms(MOST_SITE_MG, above=True),
        "area_volume_mm3": Bound(
            kind=Kind.VOLUME, unit="millimeter**3", typed_unit="L", most=MOST_AREA_MM3, above=True
        ),
        "load_ma": _CURRENT,
        "wake_voltage_mv": _PACK_VOLTAGE,
        "group_resistance_uohm": Bound.of(Measure.DC_RESISTANCE, most=MOST[Measure.DC_RESISTANCE], above=True),
        "sensor_ohm": _SENSOR,
        "temperature_mdegc": Bound.of(Measure.TEMPERATURE, most=HOTTEST_MDEGC, least=COLDEST_MDEGC),
        **dict.fromkeys(("strip_um", "wire_um"), Bound(kind=Kind.LENGTH, unit="um", typed_unit="m", most=MOST_CUT_UM)),
        **dict.fromkeys(
            ("strip_metre", "wire_metre", "labour_rate", "consumables", "waste_fee", "examination_fee"), _MONEY
        ),
        **dict.fromkeys(("unit_cost", "cell_cost", "conductor_cost", "board_cost", "replacement_price"), _MONEY),
        **dict.fromkeys(("labour_minutes", "test_minutes", "minutes"), _count(MOST_MINUTES)),
        **dict.fromkeys(("life_years", "replacement_years"), _count(MOST_YEARS, above=True)),
        "expected_capacity_mah": Bound.of(Measure.CAPACITY, most=MOST_MAH, above=True),
        "calibrated_every_d": Bound(kind=Kind.TIME, unit="day", typed_unit="d", most=3650, above=True),
        "error_ppm": Bound(kind=Kind.FRACTION, unit="ppm", typed_unit="%", most=WORST_SHARE_PPM),
        "error_uv": Bound(kind=Kind.VOLTAGE, unit="microvolt", typed_unit="mV", most=WORST_FIXED_UV),
    }
)
"""What is stated of devices, packs, cell models, meters, waste and the site, by the column it is kept in."""

WELDER: Mapping[str, Bound] = MappingProxyType(
    {
        "lead_area_um2": STATED["lead_area_um2"],
        "lead_length_um": STATED["lead_length_um"],
        "current_ma": Bound.of(Measure.CURRENT, most=MOST_PULSE_MA, above=True),
        "rise_k": Bound(kind=Kind.TEMPERATURE_RISE, unit="delta_degC", typed_unit="K", most=MOST_RISE_K, above=True),
        "pulse_us": Bound(kind=Kind.TIME, unit="microsecond", typed_unit="ms", most=MOST_PULSE_US, above=True),
        "pulses": _count(MOST_PULSES, above=True),
        "voltage_mv": Bound.of(Measure.VOLTAGE, most=MOST_SOURCE_MV, above=True),
        "resistance_uohm": Bound.of(Measure.CONTACT_RESISTANCE, most=MOST_SOURCE_UOHM),
        "contact_uohm": Bound.of(Measure.CONTACT_RESISTANCE, most=MOST_SOURCE_UOHM, above=True),
    }
)
"""What is said of a welder when its leads are checked; nothing of it is kept."""

READ: Mapping[Measure, Bound] = MappingProxyType(
    {
        Measure.VOLTAGE: Bound.of(Measure.VOLTAGE, most=MOST_MV, least=-MOST_MV),
        Measure.REST_VOLTAGE: Bound.of(Measure.REST_VOLTAGE, most=MOST_MV, least=-MOST_MV),
        Measure.CURRENT: Bound.of(Measure.CURRENT, most=MOST_MA, least=-MOST_MA),
        Measure.CAPACITY: Bound.of(Measure.CAPACITY, most=MOST_MAH),
        Measure.TEMPERATURE: Bound.of(Measure.TEMPERATURE, most=HOTTEST_MDEGC, least=COLDEST_MDEGC),
        Measure.TORQUE: Bound.of(Measure.TORQUE, most=MOST_TORQUE_MNM),
        Measure.CONTACT_RESISTANCE: Bound.of(Measure.CONTACT_RESISTANCE, most=MOST[Measure.DC_RESISTANCE]),
        Measure.INSULATION: Bound.of(Measure.INSULATION, most=MOST_KOHM),
    }
)
"""What is read at a point of a job. Probes may lie the wrong way round; the rules judge what that means."""

PROBED: Mapping[str, Bound] = MappingProxyType(
    {
        "value_mv": READ[Measure.VOLTAGE],
        "value_ohm": Bound(kind=Kind.RESISTANCE, unit="ohm", typed_unit="Ω", most=MOST_SENSOR_OHM),
    }
)
"""What a meter shows between two probe points, by the column it is kept in."""

OF_A_CELL: Mapping[Measure, Bound] = MappingProxyType(
    {
        measure: Bound.of(
            measure,
            most=most,
            least=-most if measure in (Measure.REST_VOLTAGE, Measure.SELF_DISCHARGE) else 0,
            above=measure in ABOVE_ZERO,
        )
        for measure, most in MOST.items()
    }
)
"""What is measured of a single cell. A capacity of 0 mAh is a true reading of a dead cell."""


def misread(text: str, unit: str, numbers: NumberFormat) -> str:
    """Say which other number a text could have meant; nothing where it can be read one way only."""
    found = either_way(text, default_unit=unit, numbers=numbers)
    if found is None:
        return ""
    return f"Read as {found.read}: this shop writes numbers as {numbers.example}. Did you mean {found.other}?"


def read_as(text: str, unit: str, numbers: NumberFormat) -> str:
    """Say how a text was read that was taken, though it could have meant another number; nothing where it could not."""
    found = either_way(text, default_unit=unit, numbers=numbers)
    if found is None:
        return ""
    return (
        f"“{text.strip()}” was read as {found.read}, not {found.other}: this shop writes numbers as {numbers.example}."
    )


def code_doubt(code: str) -> str:
    """Say why a code cannot stand on a label; nothing where it can."""
    if len(code) > LONGEST_CODE:
        return f"code “{code[:LONGEST_CODE]}…” is longer than {LONGEST_CODE} characters"
    return "" if code.isprintable() else "code holds characters that cannot be printed"


def arrangement_doubt(series: int, parallel: int) -> str:
    """Say why an arrangement is not put on one job; nothing where it can be."""
    if series < 1 or parallel < 1:
        return f"{series}s{parallel}p is no arrangement: a pack has at least one group of one cell."
    stated = Arrangement(series=series, parallel=parallel)
    if stated.cells <= MOST_CELLS:
        return ""
    return f"{stated} is {stated.cells} cells; up to {MOST_CELLS} can be put on one job."


def fault_groups_doubt(series: int) -> str:
    """Say why faults are not looked for in so many groups; nothing where they are."""
    if 1 <= series <= MOST_FAULT_GROUPS:
        return ""
    return f"Faults are looked for in 1 to {MOST_FAULT_GROUPS} groups in series, not in {series}."
