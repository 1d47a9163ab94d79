"""What people type, what is printed, what is stored.

Factors: SI Brochure, 9th edition, tables 7 and 8; NIST SP 811 (2008), appendix B, for inch, pound and °F.
Which spellings a bench types, and how many digits it reads: common practice, no source.
"""

from decimal import Decimal
from math import inf, isfinite, nan, pi

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from packs.errors import ImpossibleValue, ParseError
from packs.terms import Measure
from packs.units import (
    Kind,
    NumberFormat,
    Quantity,
    Shown,
    either_way,
    measure_kind,
    measure_unit,
    of,
    parse,
    parse_section,
    show,
    to,
    ureg,
)
from packs.units.kinds import FACTS, STORED

POINT = NumberFormat(decimal=".", group=",")
COMMA = NumberFormat(decimal=",", group=".")
SPACED = NumberFormat(decimal=",", group="\u202f")

TYPED = [
    pytest.param("2.6 Ah", Kind.CAPACITY, 2600, "mAh", id="SI-prefix-milli"),
    pytest.param("20 kA", Kind.CURRENT, 20_000, "A", id="breaking-capacity-SI-prefix-kilo"),
    pytest.param("2600mAh", Kind.CAPACITY, 2600, "mAh", id="no-space"),
    pytest.param("2600 MAH", Kind.CAPACITY, 2.6, "Ah", id="capitals-of-a-label"),
    pytest.param("18 m\u03a9", Kind.RESISTANCE, 0.018, "ohm", id="omega-U+03A9"),
    pytest.param("18 m\u2126", Kind.RESISTANCE, 0.018, "ohm", id="ohm-sign-U+2126-is-U+03A9-in-Unicode"),
    pytest.param("18 mohm", Kind.RESISTANCE, 0.018, "ohm", id="mohm"),
    pytest.param("20 M\u03a9", Kind.RESISTANCE, 20e6, "ohm", id="SI-prefix-mega-is-not-milli"),
    pytest.param("850 \u00b5\u2126", Kind.RESISTANCE, 0.85, "mohm", id="micro-sign-U+00B5"),
    pytest.param("850 \u03bc\u03a9", Kind.RESISTANCE, 0.85, "mohm", id="mu-U+03BC"),
    pytest.param("3,62 V", Kind.VOLTAGE, 3620, "mV", id="decimal-comma"),
    pytest.param("3.62\u00a0V", Kind.VOLTAGE, 3.62, "V", id="no-break-space"),
    pytest.param("\t3.62 \u202f V ", Kind.VOLTAGE, 3.62, "V", id="narrow-space-tab-and-margins"),
    pytest.param("\u22120,4 V", Kind.VOLTAGE, -0.4, "V", id="minus-U+2212"),
    pytest.param("+5 V", Kind.VOLTAGE, 5, "V", id="plus"),
    pytest.param(".5 V", Kind.VOLTAGE, 0.5, "V", id="no-leading-zero"),
    pytest.param("0,092 \u03a9", Kind.RESISTANCE, 92, "mohm", id="no-group-begins-with-zero"),
    pytest.param("1500,250 mV", Kind.VOLTAGE, 1.50025, "V", id="no-group-of-four"),
    pytest.param("1,234.5 mAh", Kind.CAPACITY, 1234.5, "mAh", id="both-marks-english"),
    pytest.param("1.234,5 mAh", Kind.CAPACITY, 1234.5, "mAh", id="both-marks-german"),
    pytest.param("1,234,567 mAh", Kind.CAPACITY, 1234567, "mAh", id="a-mark-twice-groups"),
    pytest.param("1\u2019500 mAh", Kind.CAPACITY, 1500, "mAh", id="apostrophe-groups"),
    pytest.param("25 \u00b0C", Kind.TEMPERATURE, 298.15, "kelvin", id="SI-Brochure-0-degC-is-273.15-K"),
    pytest.param("25 C", Kind.TEMPERATURE, 25, "degC", id="C-is-degrees-here"),
    pytest.param("-40 \u00b0F", Kind.TEMPERATURE, -40, "degC", id="SP811-F-meets-C-at-minus-40"),
    pytest.param("1/8 in", Kind.LENGTH, 3.175, "mm", id="SP811-inch-25.4-mm"),
    pytest.param('1 1/2"', Kind.LENGTH, 38.1, "mm", id="SP811-whole-and-fraction"),
    pytest.param("1 lb", Kind.MASS, 453.59237, "g", id="SP811-pound"),
    pytest.param("1 lbf\u00b7in", Kind.TORQUE, 0.1129848, "N*m", id="SP811-pound-force-inch"),
    pytest.param("2.5 Nm", Kind.TORQUE, 2500, "mN*m", id="Nm"),
    pytest.param("1 Wh", Kind.ENERGY, 3600, "J", id="SI-Brochure-hour-3600-s"),
    pytest.param("1,2 mm\u00b2", Kind.AREA, 1.2e-6, "m**2", id="square-millimetre"),
    pytest.param("0.7 mV/day", Kind.SELF_DISCHARGE, 700, "uV/day", id="per-day"),
    pytest.param("90 min", Kind.TIME, 1.5, "hour", id="SI-Brochure-minute"),
    pytest.param("80 %", Kind.FRACTION, 0.8, "", id="SI-Brochure-percent-is-0.01"),
    pytest.param("0.5 C", Kind.C_RATE, 0.5, "1/hour", id="C-is-a-rate-here"),
    pytest.param("18 W", Kind.POWER, 18000, "mW", id="watt"),
    pytest.param("12", Kind.COUNT, 12, "", id="count-needs-no-unit"),
]


@pytest.mark.parametrize(("text", "kind", "expected", "unit"), TYPED)
def test_typed_text_is_read(text: str, kind: Kind, expected: float, unit: str) -> None:
    assert parse(text, kind).to(unit).magnitude == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("kind", Kind)
def test_the_example_in_every_message_is_itself_accepted(kind: Kind) -> None:
    example_text = FACTS[kind].expected.split("such as ")[1]
    assert parse(example_text, kind).magnitude > 0


REFUSED = [
    pytest.param("", Kind.VOLTAGE, "Nothing was entered", id="empty"),
    pytest.param(" \u00a0\t", Kind.VOLTAGE, "Nothing was entered", id="only-spaces"),
    pytest.param("nan V", Kind.VOLTAGE, "not one number", id="nan"),
    pytest.param("inf", Kind.VOLTAGE, "not one number", id="inf"),
    pytest.param("-Infinity V", Kind.VOLTAGE, "not one number", id="infinity"),
    pytest.param("1e5 mV", Kind.VOLTAGE, "not a unit", id="exponent"),
    pytest.param("10**3 mV", Kind.VOLTAGE, "not a unit", id="arithmetic"),
    pytest.param("3.6 V 3.7 V", Kind.VOLTAGE, "not a unit", id="two-readings"),
    pytest.param("3.6 3.7", Kind.VOLTAGE, "not one number", id="two-numbers"),
    pytest.param("3.5-3.6 V", Kind.VOLTAGE, "not a unit", id="range"),
    pytest.param("1 500 mAh", Kind.CAPACITY, "not one number", id="space-groups-only-when-the-shop-does"),
    pytest.param("1.2.3 V", Kind.VOLTAGE, "not one number", id="two-decimal-marks"),
    pytest.param("1,23,456 mAh", Kind.CAPACITY, "not one number", id="crooked-groups"),
    pytest.param("3. V", Kind.VOLTAGE, "not one number", id="no-digit-after-the-mark"),
    pytest.param("3.62", Kind.VOLTAGE, "unit is missing; expected a voltage such as 3.62 V", id="bare-number"),
    pytest.param("V", Kind.VOLTAGE, "not one number", id="only-a-unit"),
    pytest.param("2600 mAh", Kind.VOLTAGE, "expected a voltage such as 3.62 V", id="capacity-for-a-voltage"),
    pytest.param("3 N\u00b7m", Kind.ENERGY, "belongs to a torque", id="torque-is-no-energy"),
    pytest.param("3 MV", Kind.VOLTAGE, "not a unit", id="mega-is-not-milli"),
    pytest.param("18 MOHM", Kind.RESISTANCE, "not a unit", id="capitals-leave-milli-or-mega-open"),
    pytest.param("-3 mAh", Kind.CAPACITY, "below zero", id="negative-capacity"),
    pytest.param("12.5", Kind.COUNT, "must be whole", id="half-a-cell"),
    pytest.param("1/0 in", Kind.LENGTH, "divides by zero", id="zero-below-the-line"),
    pytest.param("9" * 12 + " V", Kind.VOLTAGE, "too large", id="too-large"),
    pytest.param("3" * 50 + " V", Kind.VOLTAGE, "too long", id="too-long"),
    pytest.param("\u0663 V", Kind.VOLTAGE, "not one number", id="other-digits"),
    pytest.param("AWG 14", Kind.LENGTH, "is a wire size", id="a-wire-size-is-no-length"),
    pytest.param("AWG 41", Kind.AREA, "not one number", id="no-such-gauge"),
    pytest.param("AWG", Kind.AREA, "not one number", id="gauge-without-number"),
    pytest.param("AWG 2.5", Kind.AREA, "not one number", id="no-gauge-between-two"),
    pytest.param("10\u00b2 V", Kind.VOLTAGE, "not a unit", id="superscript-is-no-digit"),
]


@pytest.mark.parametrize(("text", "kind", "said"), REFUSED)
def test_what_is_not_one_quantity_is_refused(text: str, kind: Kind, said: str) -> None:
    with pytest.raises(ParseError, match=said) as refusal:
        parse(text, kind)
    assert FACTS[kind].expected in str(refusal.value)


# Diameters in inches as fixed or tabulated by ASTM B258 (to 0.0001 in), 1 in = 25.4 mm.
GAUGES = [
    pytest.param("AWG 36", 0.0050, id="ASTM-B258-fixed-point-36"),
    pytest.param("AWG 4/0", 0.4600, id="ASTM-B258-fixed-point-4/0"),
    pytest.param("0000 awg", 0.4600, id="four-noughts-are-4/0"),
    pytest.param("AWG 0", 0.3249, id="ASTM-B258-0-from-memory"),
    pytest.param("AWG 1/0", 0.3249, id="1/0-is-0"),
    pytest.param("awg10", 0.1019, id="ASTM-B258-10-from-memory"),
    pytest.param("14 AWG", 0.0641, id="ASTM-B258-14-from-memory"),
    pytest.param("AWG\u00a014", 0.0641, id="no-break-space"),
]


@pytest.mark.parametrize(("text", "inches"), GAUGES)
def test_a_wire_size_is_an_area(text: str, inches: float) -> None:
    diameter = (parse(text, Kind.AREA) / (pi / 4)) ** 0.5
    assert diameter.to("inch").magnitude == pytest.approx(inches, abs=0.00005)


SECTIONS = [
    pytest.param("0.15 x 8 mm", 0.15, 8, id="thickness-first"),
    pytest.param("8 x 0.15 mm", 0.15, 8, id="width-first"),
    pytest.param("0,15\u00d78mm", 0.15, 8, id="decimal-comma-and-cross"),
    pytest.param("0.2mm X 10 mm", 0.2, 10, id="a-unit-each"),
    pytest.param("1/8 x 1 in", 3.175, 25.4, id="SP811-inch-25.4-mm"),
    pytest.param("150 \u00b5m * 0.8 cm", 0.15, 8, id="two-units"),
    pytest.param("1/8 in x 30 mm", 3.175, 30, id="inch-by-millimetre"),
]


@pytest.mark.parametrize(("text", "thickness", "width"), SECTIONS)
def test_a_strip_is_typed_as_thickness_and_width(text: str, thickness: float, width: float) -> None:
    section = parse_section(text)
    assert section.thickness.to("mm").magnitude == pytest.approx(thickness, rel=1e-9)
    assert section.width.to("mm").magnitude == pytest.approx(width, rel=1e-9)


@pytest.mark.parametrize(
    "text", ["", "8 mm", "0.15 x 8", "0.15 x 8 x 20 mm", "0 x 8 mm", "-0.15 x 8 mm", "0.15 x 8 mV", "x", "a x b mm",
             "0.15 x 8 mm" + " " * 60, "AWG 14 x 8 mm"]
)  # fmt: skip
def test_what_is_no_section_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ParseError, match=r"0\.15 x 8 mm"):
        parse_section(text)


def test_bare_measures_of_a_strip_take_the_unit_of_the_field_and_the_marks_of_the_shop() -> None:
    assert parse_section("0.15x8", default_unit="mm").width == ureg.Quantity(8, "mm")
    with pytest.raises(ParseError, match="can be read as"):
        parse_section("1,500 x 8000 µm")
    assert parse_section("1,500 x 8000 µm", numbers=POINT).thickness.to("mm").magnitude == pytest.approx(1.5)


def test_a_rise_is_not_shown_as_a_temperature() -> None:
    rise = ureg.Quantity(45, "degC") - ureg.Quantity(25, "degC")
    assert show(rise) == Shown("20.0", "K")
    assert parse("20 °C", Kind.TEMPERATURE_RISE).to("kelvin").magnitude == pytest.approx(20)


@pytest.mark.parametrize("text", ["1,500 mAh", "1.500 mAh"])
def test_one_mark_before_three_digits_is_refused_while_nobody_decided(text: str) -> None:
    with pytest.raises(ParseError, match=r"can be read as 1500 or as 1\.5"):
        parse(text, Kind.CAPACITY)
    with pytest.raises(ParseError):
        parse(text, Kind.CAPACITY, numbers=NumberFormat())


@pytest.mark.parametrize(
    ("text", "numbers", "expected"),
    [
        ("1,500 mAh", POINT, 1500),
        ("1.500 mAh", POINT, 1.5),
        ("1,500 mAh", COMMA, 1.5),
        ("1.500 mAh", COMMA, 1500),
        ("1,500 mAh", SPACED, 1.5),
        ("1 500 mAh", SPACED, 1500),
        ("12 500,5 mAh", SPACED, 12500.5),
        ("3,62 mAh", POINT, 3.62),
    ],
)
def test_the_shop_decides_what_a_text_leaves_open(text: str, numbers: NumberFormat, expected: float) -> None:
    assert parse(text, Kind.CAPACITY, numbers=numbers).to("mAh").magnitude == expected


# SI Brochure, 5.4.4 (from memory): neither points nor commas stand between groups of three digits.
@pytest.mark.parametrize(
    ("text", "numbers", "read", "other"),
    [
        ("3,612", POINT, "3612 V", "3.612 V"),
        ("24,950 mΩ", POINT, "24950 mΩ", "24.950 mΩ"),
        ("-3,612V", POINT, "-3612 V", "-3.612 V"),
        ("1.440", COMMA, "1440 V", "1,440 V"),
    ],
)
def test_a_mark_that_may_be_meant_as_the_other_one(text: str, numbers: NumberFormat, read: str, other: str) -> None:
    assert either_way(text, default_unit="V", numbers=numbers) == (read, other)


@pytest.mark.parametrize(
    "text", ["3.612", "3,62", "0,612", "3,6125", "1,234.5", "1,234,567", "3 612", "1/8 in", "x", ""]
)
def test_what_can_be_read_one_way_only(text: str) -> None:
    assert either_way(text, default_unit="V", numbers=POINT) is None


@pytest.mark.parametrize(("numbers", "example"), [(POINT, "1,234.5"), (COMMA, "1.234,5"), (SPACED, "1\u202f234,5")])
def test_how_a_shop_writes_numbers_is_shown_by_one(numbers: NumberFormat, example: str) -> None:
    assert numbers.example == example


def test_a_format_decides_only_about_its_own_marks() -> None:
    with pytest.raises(ParseError, match="can be read as"):
        parse("1.500 mAh", Kind.CAPACITY, numbers=SPACED)


@pytest.mark.parametrize(
    ("locale", "decimal", "group"), [("en", ".", ","), ("de", ",", "."), ("pt-BR", ",", "."), ("fr", ",", "\u202f")]
)
def test_marks_of_a_locale_are_those_of_unicode_cldr(locale: str, decimal: str, group: str) -> None:
    assert NumberFormat.of_locale(locale) == NumberFormat(decimal, group)


def test_a_bare_number_takes_the_unit_of_its_field() -> None:
    assert parse("18", Kind.RESISTANCE, default_unit="mΩ").to("ohm").magnitude == pytest.approx(0.018)
    assert parse("18 ohm", Kind.RESISTANCE, default_unit="mΩ").to("ohm").magnitude == 18


LIKELY = st.text(alphabet="0123456789.,'/+-\u2212 \u00a0\u202fVmAhCWΩ\u2126µ°%einfa²", max_size=24)


@given(text=LIKELY | st.text(max_size=60), kind=st.sampled_from(Kind), numbers=st.sampled_from([None, POINT, SPACED]))
@example(text="0/0", kind=Kind.COUNT, numbers=None)
@example(text="'", kind=Kind.COUNT, numbers=None)
def test_any_text_is_a_finite_quantity_or_refused(text: str, kind: Kind, numbers: NumberFormat | None) -> None:
    try:
        quantity = parse(text, kind, numbers=numbers)
    except ParseError:
        return
    assert isfinite(quantity.magnitude)
    assert any(character in "0123456789" for character in text)


LOCALES = ["en", "de", "fr", "sv"]
SHOWABLE = [kind for kind in Kind if kind is not Kind.COUNT]


@given(
    number=st.floats(min_value=0, max_value=1e5),
    sign=st.sampled_from([1, -1]),
    kind=st.sampled_from(SHOWABLE),
    locale=st.sampled_from(LOCALES),
)
def test_what_is_printed_can_be_typed_again(number: float, sign: int, kind: Kind, locale: str) -> None:
    signed = number * sign if FACTS[kind].signed else number
    quantity = ureg.Quantity(signed, FACTS[kind].steps[-1].unit)
    shown = show(quantity, kind, locale=locale)
    again = parse(str(shown), kind, numbers=NumberFormat.of_locale(locale))
    step = next(step for step in FACTS[kind].steps if step.symbol == shown.unit)
    digits = len(shown.value.partition(NumberFormat.of_locale(locale).decimal or ".")[2])
    assert abs((again.to(step.unit) - quantity.to(step.unit)).magnitude) <= 0.5000001 * 10.0**-digits + 1e-9 * number
    assert show(again, kind, locale=locale) == shown


SHOWN = [
    pytest.param(3.62, "V", None, "en", "3.620", "V", id="cell-voltage"),
    pytest.param(7.24, "V", None, "de", "7,240", "V", id="german-comma"),
    pytest.param(9.9994, "V", None, "en", "9.999", "V", id="below-10-V"),
    pytest.param(9.9996, "V", None, "en", "10.00", "V", id="rounds-to-10-V"),
    pytest.param(12.5, "mV", None, "en", "12.5", "mV", id="difference"),
    pytest.param(-3.6, "V", None, "sv", "\u22123,600", "V", id="CLDR-swedish-minus-U+2212"),
    pytest.param(-0.00001, "mV", None, "en", "0.0", "mV", id="no-minus-zero"),
    pytest.param(0.0, "V", None, "en", "0.0", "mV", id="zero"),
    pytest.param(2.5, "Ah", None, "en", "2500", "mAh", id="cell-capacity-ungrouped"),
    pytest.param(10000, "mAh", None, "en", "10.00", "Ah", id="pack-capacity"),
    pytest.param(1234.5, "Wh", None, "en", "1.234", "kWh", id="half-to-even"),
    pytest.param(18, "mΩ", None, "en", "18.0", "mΩ", id="cell-resistance"),
    pytest.param(850, "uohm", None, "en", "850", "µΩ", id="joint-resistance"),
    pytest.param(298.15, "K", None, "en", "25.0", "°C", id="kelvin-shown-as-celsius"),
    pytest.param(45000, "mg", None, "en", "45.0", "g", id="cell-mass"),
    pytest.param(14 * 24, "hour", None, "en", "14.0", "d", id="days"),
    pytest.param(2.5, "N*m", Kind.TORQUE, "en", "2.50", "N·m", id="torque"),
    pytest.param(0.8, "", None, "en", "80.0", "%", id="fraction"),
    pytest.param(12, "", None, "en", "12", "", id="count"),
    pytest.param(0.5, "1/hour", None, "en", "0.50", "C", id="c-rate"),
    pytest.param(nan, "V", None, "en", "not a number", "", id="nan"),
    pytest.param(inf, "V", None, "en", "not a number", "", id="inf"),
]


@pytest.mark.parametrize(("number", "unit", "kind", "locale", "value", "shown_unit"), SHOWN)
def test_printed_in_the_digits_of_its_kind(
    number: float, unit: str, kind: Kind | None, locale: str, value: str, shown_unit: str
) -> None:
    assert show(ureg.Quantity(number, unit), kind, locale=locale) == Shown(value, shown_unit)


def test_more_digits_tell_near_values_apart() -> None:
    assert show(ureg.Quantity(4.2004, "V"), digits=4).value == "4.2004"


def test_a_space_stands_between_number_and_unit() -> None:
    """SI Brochure, 9th edition, 5.4.3; that it is a narrow one that does not break is ours."""
    assert str(show(ureg.Quantity(3.62, "V"))) == "3.620\u202fV"
    assert str(show(ureg.Quantity(12, ""))) == "12"


@pytest.mark.parametrize("kind", [Kind.CAPACITY, Kind.TEMPERATURE, Kind.COUNT])
def test_a_voltage_is_not_printed_as_something_else(kind: Kind) -> None:
    with pytest.raises(ImpossibleValue):
        show(ureg.Quantity(3.6, "V"), kind)


def test_what_no_bench_measures_is_not_printed() -> None:
    with pytest.raises(ImpossibleValue, match="Nothing on the bench"):
        show(ureg.Quantity(1, "mol"))


STORED_NUMBERS = [
    pytest.param(Measure.VOLTAGE, "3.62 V", "3620", id="voltage-mV"),
    pytest.param(Measure.REST_VOLTAGE, "3,6205 V", "3620.5", id="rest-voltage-mV"),
    pytest.param(Measure.CAPACITY, "2.6 Ah", "2600", id="capacity-mAh"),
    pytest.param(Measure.ENERGY, "36 J", "10", id="energy-mWh-SI-Brochure-hour-3600-s"),
    pytest.param(Measure.CURRENT, "2.5 A", "2500", id="current-mA"),
    pytest.param(Measure.DC_RESISTANCE, "18 mΩ", "18000", id="dc-resistance-µΩ"),
    pytest.param(Measure.AC_RESISTANCE, "25.25 mΩ", "25250", id="ac-resistance-µΩ"),
    pytest.param(Measure.SELF_DISCHARGE, "0.7 mV/day", "700", id="self-discharge-µV-per-day"),
    pytest.param(Measure.TEMPERATURE, "25 °C", "25000", id="temperature-m°C"),
    pytest.param(Measure.TEMPERATURE, "298.15 K", "25000", id="temperature-from-kelvin"),
    pytest.param(Measure.TEMPERATURE, "77 °F", "25000", id="SP811-temperature-from-fahrenheit"),
    pytest.param(Measure.MASS, "45.5 g", "45500", id="mass-mg"),
    pytest.param(Measure.TORQUE, "2.5 N·m", "2500", id="torque-mN·m"),
    pytest.param(Measure.COUNT, "12", "12", id="count"),
]


@pytest.mark.parametrize(("measure", "text", "stored"), STORED_NUMBERS)
def test_stored_exactly(measure: Measure, text: str, stored: str) -> None:
    number = to(measure, parse(text, measure_kind(measure)))
    assert (number, str(number)) == (Decimal(stored), stored)


@pytest.mark.parametrize("measure", Measure)
def test_every_measure_has_a_column_and_a_unit_to_type(measure: Measure) -> None:
    unit = measure_unit(measure)
    typed = parse(f"12 {unit}".strip(), measure_kind(measure))
    assert typed.is_compatible_with(STORED[measure].column_unit)


@given(measure=st.sampled_from(Measure), number=st.decimals("-1e9", "1e9", places=3))
def test_a_stored_number_comes_back_unchanged(measure: Measure, number: Decimal) -> None:
    assert to(measure, of(measure, number)) == number


@pytest.mark.parametrize(
    ("typed", "stored"), [("0.0005", "0"), ("0.0015", "0.002"), ("0.0025", "0.002"), ("-0.0005", "0")]
)
def test_halves_of_a_thousandth_round_to_even(typed: str, stored: str) -> None:
    assert to(Measure.VOLTAGE, parse(f"{typed} mV", Kind.VOLTAGE)) == Decimal(stored)


@pytest.mark.parametrize("number", [nan, inf, -inf, Decimal("NaN")])
def test_nothing_infinite_is_stored_or_read(number: float | Decimal) -> None:
    with pytest.raises(ImpossibleValue):
        of(Measure.VOLTAGE, number)
    with pytest.raises(ImpossibleValue):
        to(Measure.VOLTAGE, ureg.Quantity(float(number), "V"))


@pytest.mark.parametrize("quantity", [ureg.Quantity(2.6, "Ah"), ureg.Quantity(1e30, "V")])
def test_what_no_voltage_column_holds_is_refused(quantity: Quantity) -> None:
    with pytest.raises(ImpossibleValue):
        to(Measure.VOLTAGE, quantity)
