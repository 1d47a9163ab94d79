"""What people type becomes a quantity.

The grammar is our own and small: one number, one unit. The unit is looked up alone in the table of
its kind; typed text never reaches the unit library's own parser.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from math import pi
from typing import NamedTuple

from babel import Locale

from packs.errors import ParseError
from packs.units.gauge import gauge_diameter_mm, gauge_of
from packs.units.kinds import FACTS, Kind
from packs.units.registry import Quantity, ureg

LONGEST_TEXT = 40
LARGEST_NUMBER = 10**9

_NARROWED = str.maketrans(dict.fromkeys("\t\xa0\u2007\u2009\u202f", " ") | {"\u2212": "-", "\u2019": "'"})
_SHAPE = re.compile(r"(?P<sign>[+-]?) ?(?P<number>[0-9.,](?:[0-9.,'/]| (?=[0-9]))*) ?(?P<unit>[^0-9 .,'/].*)?")
_FRACTION = re.compile(r"(?:(?P<whole>[0-9]{1,4}) )?(?P<above>[0-9]{1,4})/(?P<below>[0-9]{1,4})")
_PLAIN = re.compile(r"[0-9]*[.,]?[0-9]+")
_GROUPED = re.compile(r"[0-9]{1,3}(?P<group>[.,' ])[0-9]{3}(?:(?P=group)[0-9]{3})*(?:(?!(?P=group))[.,][0-9]+)?")
_EITHER_WAY = re.compile(r"[1-9][0-9]{0,2}([.,])[0-9]{3}")


@dataclass(frozen=True)
class NumberFormat:
    """How the shop writes numbers; decides only what a text leaves open. None = not decided.

    Attributes
    ----------
    decimal : str or None
        Decimal mark, "." or ",".
    group : str or None
        Mark between groups of three digits: ".", ",", "'" or any space.
    """

    decimal: str | None = None
    group: str | None = None

    @classmethod
    def of_locale(cls, locale: str) -> "NumberFormat":
        """Return the marks a locale uses, such as "," and "." for ``de``."""
        symbols = Locale.parse(locale.replace("-", "_")).number_symbols["latn"]
        return cls(decimal=symbols["decimal"], group=symbols["group"])

    @property
    def example(self) -> str:
        """A number with both marks, such as "1,234.5"."""
        return f"1{self.group or ''}234{self.decimal or '.'}5"


UNDECIDED = NumberFormat()


class EitherWay(NamedTuple):
    """A typed number whose one mark the shop reads as one between groups, and the same with it as decimal mark."""

    read: str
    other: str


def parse(text: str, kind: Kind, *, default_unit: str | None = None, numbers: NumberFormat | None = None) -> Quantity:
    """Read one number with its unit, as typed at the bench.

    Parameters
    ----------
    text : str
        "2.6 Ah", "2600mAh", "18 mohm", "3,62 V", "−5 °C", "1/8 in"; for an area also a wire size, "AWG 14".
    kind : Kind
        What the field takes; a unit of another kind is refused.
    default_unit : str, optional
        Spelling of the unit that a bare number gets. Without it a bare number is refused, except for a count.
    numbers : NumberFormat, optional
        Decides "1,500", which is otherwise refused: it can be 1500 or 1.5.

    Returns
    -------
    Quantity
        In the unit that was typed; a wire size as its copper section [mm²].

    Raises
    ------
    ParseError
        The text is empty, not one number with a unit of this kind, ambiguous, or below zero where that cannot be.

    References
    ----------
    SI Brochure for units; ASTM B258 for wire sizes. Spellings: common practice, no source.

    Examples
    --------
    >>> str(parse("3,62 V", Kind.VOLTAGE))
    '3.62 volt'
    >>> str(parse("18", Kind.RESISTANCE, default_unit="mΩ"))
    '18.0 milliohm'
    """
    expected = FACTS[kind].expected
    tidy = _tidied(text, expected)
    if (gauge := gauge_of(tidy)) is not None:
        return _wire(tidy, gauge, kind)
    shape = _SHAPE.fullmatch(tidy)
    if shape is None:
        raise ParseError(f"“{text.strip()}” is not one number with a unit; expected {expected}.")
    value = _value(shape["number"], numbers or UNDECIDED, expected)
    unit = _unit(shape["unit"], kind, default_unit)
    if shape["sign"] == "-":
        value = -value
    _refuse_untrue(value, kind)
    return ureg.Quantity(float(value), unit)


def either_way(text: str, *, default_unit: str, numbers: NumberFormat) -> EitherWay | None:
    """Return how a text was read that could have meant another number; None where only one reading is open.

    Both with the unit that was typed, or the default one, such as [V].

    References
    ----------
    SI Brochure, 5.4.4 (clause from memory): neither points nor commas part groups of digits, so people mean either.

    Examples
    --------
    >>> either_way("3,612", default_unit="V", numbers=NumberFormat(decimal=".", group=","))
    EitherWay(read='3612 V', other='3.612 V')
    """
    shape = _SHAPE.fullmatch(" ".join(text.translate(_NARROWED).split()))
    marked = shape and _EITHER_WAY.fullmatch(shape["number"])
    if not shape or not marked or marked[1] != numbers.group:
        return None
    unit = shape["unit"] or default_unit
    whole, part = (shape["sign"] + shape["number"]).split(marked[1])
    return EitherWay(f"{whole}{part} {unit}".strip(), f"{whole}{numbers.decimal}{part} {unit}".strip())


def parse_number(text: str, *, expected: str, numbers: NumberFormat | None = None) -> Decimal:
    """Read one number without a unit, exactly as it was typed, zero or above [dimensionless].

    Raises
    ------
    ParseError
        It is not one number, it is negative, too large, or can be read in two ways.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> parse_number("1.240,50", expected="an amount", numbers=NumberFormat(",", "."))
    Decimal('1240.50')
    """
    shape = _SHAPE.fullmatch(_tidied(text, expected))
    if shape is None or shape["unit"]:
        raise ParseError(f"“{text.strip()}” is not one number; expected {expected}.")
    value = _value(shape["number"], numbers or UNDECIDED, expected)
    if value > LARGEST_NUMBER or (shape["sign"] == "-" and value):
        raise ParseError(f"“{text.strip()}” cannot be; expected {expected}.")
    return value


def _tidied(text: str, expected: str) -> str:
    tidy = " ".join(text.translate(_NARROWED).split())
    if not tidy:
        raise ParseError(f"Nothing was entered; expected {expected}.")
    if len(tidy) > LONGEST_TEXT:
        raise ParseError(f"That text is too long for one number with a unit; expected {expected}.")
    return tidy


def _wire(typed: str, gauge: int, kind: Kind) -> Quantity:
    """Take a wire size for an area alone: as a length it could be a diameter, or a slip in the field of a length."""
    if kind is not Kind.AREA:
        raise ParseError(f"“{typed}” is a wire size; expected {FACTS[kind].expected}.")
    return ureg.Quantity(pi / 4 * gauge_diameter_mm(gauge) ** 2, "millimeter**2")


def _unit(typed: str | None, kind: Kind, default_unit: str | None) -> str:
    facts = FACTS[kind]
    if typed is None:
        return _unit_of_bare_number(kind, default_unit)
    if typed in facts.spellings:
        return facts.spellings[typed]
    for other in FACTS.values():
        if typed in other.spellings:
            raise ParseError(f"“{typed}” belongs to {other.expected}; expected {facts.expected}.")
    raise ParseError(f"“{typed}” is not a unit this field knows; expected {facts.expected}.")


def _unit_of_bare_number(kind: Kind, default_unit: str | None) -> str:
    if default_unit:
        return FACTS[kind].spellings[default_unit]
    if kind is Kind.COUNT:
        return "dimensionless"
    raise ParseError(f"The unit is missing; expected {FACTS[kind].expected}.")


def _value(number: str, numbers: NumberFormat, expected: str) -> Decimal:
    if fraction := _FRACTION.fullmatch(number):
        return _fraction(fraction, expected)
    if _EITHER_WAY.fullmatch(number):
        return _decided(number, numbers, expected)
    if _PLAIN.fullmatch(number):
        return Decimal(number.replace(",", "."))
    if (grouped := _GROUPED.fullmatch(number)) and _may_group(grouped["group"], numbers):
        return Decimal(number.replace(grouped["group"], "").replace(",", "."))
    raise ParseError(f"“{number}” is not one number; expected {expected}.")


def _fraction(fraction: re.Match[str], expected: str) -> Decimal:
    below = Decimal(fraction["below"])
    if not below:
        raise ParseError(f"“{fraction[0]}” divides by zero; expected {expected}.")
    return Decimal(fraction["whole"] or 0) + Decimal(fraction["above"]) / below


def _decided(number: str, numbers: NumberFormat, expected: str) -> Decimal:
    """Read "1,500" the way the shop writes numbers; undecided, it is refused."""
    mark = "," if "," in number else "."
    as_group, as_decimal = number.replace(mark, ""), number.replace(mark, ".")
    if mark == numbers.decimal:
        return Decimal(as_decimal)
    if mark == numbers.group:
        return Decimal(as_group)
    shorter = f"{Decimal(as_decimal).normalize():f}"
    raise ParseError(f"“{number}” can be read as {as_group} or as {shorter}; write one of these. Expected {expected}.")


def _may_group(mark: str, numbers: NumberFormat) -> bool:
    """A space parts two numbers unless the shop groups its digits by spaces."""
    return mark != " " or (numbers.group or "").isspace()


def _refuse_untrue(value: Decimal, kind: Kind) -> None:
    expected = FACTS[kind].expected
    if abs(value) > LARGEST_NUMBER:
        raise ParseError(f"This number is too large; expected {expected}.")
    if value < 0 and not FACTS[kind].signed:
        raise ParseError(f"This cannot be below zero; expected {expected}.")
    if kind is Kind.COUNT and value != value.to_integral_value():
        raise ParseError(f"This must be whole; expected {expected}.")
