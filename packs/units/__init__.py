"""Quantities: one registry, what people type, what the shop prints, what the tables hold."""

from packs.units.gauge import LARGEST_GAUGE, SMALLEST_GAUGE, gauge_diameter_mm, gauge_of
from packs.units.kinds import Kind
from packs.units.marks import decimal_mark, in_marks, locale_of_now, writing
from packs.units.money import minor_digits, rounded, show_money, show_price
from packs.units.registry import Quantity, ureg
from packs.units.section import TypedSection, parse_section
from packs.units.shown import Shown, show, to_shown_digit
from packs.units.stored import amount, measure_kind, measure_unit, of, stored_unit, to
from packs.units.typed import EitherWay, NumberFormat, either_way, parse, parse_number

__all__ = [
    "LARGEST_GAUGE",
    "SMALLEST_GAUGE",
    "EitherWay",
    "Kind",
    "NumberFormat",
    "Quantity",
    "Shown",
    "TypedSection",
    "amount",
    "decimal_mark",
    "either_way",
    "gauge_diameter_mm",
    "gauge_of",
    "in_marks",
    "locale_of_now",
    "measure_kind",
    "measure_unit",
    "minor_digits",
    "of",
    "parse",
    "parse_number",
    "parse_section",
    "rounded",
    "show",
    "show_money",
    "show_price",
    "stored_unit",
    "to",
    "to_shown_digit",
    "ureg",
    "writing",
]
