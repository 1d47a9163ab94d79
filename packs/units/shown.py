"""How a quantity is printed: value and unit apart, digits that suit the kind, by locale."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal, localcontext
from math import isfinite

from babel.numbers import format_decimal, get_minus_sign_symbol

from packs.errors import ImpossibleValue
from packs.units.kinds import FACTS, Kind, Step
from packs.units.marks import locale_of_now
from packs.units.registry import Quantity, ureg

NARROW_SPACE = "\u202f"


@dataclass(frozen=True)
class Shown:
    """A printed quantity: the value as text, its unit (empty for a count)."""

    value: str
    unit: str

    def __str__(self) -> str:
        return f"{self.value}{NARROW_SPACE}{self.unit}" if self.unit else self.value


def show(
    quantity: Quantity,
    kind: Kind | None = None,
    *,
    locale: str | None = None,
    digits: int | None = None,
    symbol: str | None = None,
) -> Shown:
    """Print a quantity in the unit and with the digits its kind is read in.

    Voltages show mV with one decimal below 100 mV, V with three decimals below 10 V (cells) and two above (packs);
    capacities mAh without decimals below 10 Ah, then Ah with two; the rest stands in ``kinds.FACTS``. Halves round to
    even. Digits are never grouped, so "1.500" can only be a decimal mark on our paper. Units by kind, such as [V],
    [mΩ] and [mAh].

    Parameters
    ----------
    quantity : Quantity
        What to print. A value that is not finite prints as "not a number".
    kind : Kind, optional
        Without it the dimension decides; a torque then prints as an energy, since both share theirs, a difference of
        temperatures (delta_degC) as a rise, and a dimensionless number as a count when whole, else as a percentage.
    locale : str, optional
        Such as "en", "de", "pt-BR"; without it the one in which numbers are written just now.
    digits : int, optional
        Decimals to use instead, where two near values must be told apart.
    symbol : str, optional
        The unit to print in where the kind has it, such as "mΩ", for numbers that stand under one heading.

    Raises
    ------
    ImpossibleValue
        The quantity has not the dimension of the kind, or no kind has its dimension.

    References
    ----------
    SI Brochure for units; Unicode CLDR for marks. Digits: common practice, no source.

    Examples
    --------
    >>> shown = show(ureg.Quantity(7.24, "V"))
    >>> shown.value, shown.unit
    ('7.240', 'V')
    """
    facts = FACTS[kind or _kind_of(quantity)]
    if not quantity.is_compatible_with(facts.steps[0].unit):
        raise ImpossibleValue(f"{quantity} is not {facts.expected}.")
    if not isfinite(quantity.magnitude):
        return Shown("not a number", "")
    named = tuple(step for step in facts.steps if step.symbol == symbol)
    step, value = _step_for(quantity, named or facts.steps, digits)
    return Shown(_written(value, (locale or locale_of_now()).replace("-", "_")), step.symbol)


def to_shown_digit(quantity: Quantity, kind: Kind, *, up: bool) -> Quantity:
    """Return a quantity moved up or down to the last digit that is shown of it, such as 16.797 V to 16.79 V.

    What lies on that digit within a millionth of its unit stays. Units by kind, such as [V] and [mAh].

    References
    ----------
    Common practice, no source: a limit is rounded to the side of caution.

    Examples
    --------
    >>> str(to_shown_digit(ureg.Quantity(16.797, "V"), Kind.VOLTAGE, up=False))
    '16.79 volt'
    """
    step, _ = _step_for(quantity, FACTS[kind].steps, None)
    exact = Decimal(repr(round(float(quantity.to(step.unit).magnitude), 6)))
    moved = exact.quantize(Decimal(1).scaleb(-step.decimals), ROUND_CEILING if up else ROUND_FLOOR)
    return ureg.Quantity(float(moved), step.unit)


def _written(value: Decimal, locale: str) -> str:
    decimals = max(-int(value.as_tuple().exponent), 0)
    digits = format_decimal(abs(value), format=f"0.{'0' * decimals}".rstrip("."), locale=locale)
    # A pattern of our own would write a hyphen where the locale has a minus sign.
    return f"{get_minus_sign_symbol(locale)}{digits}" if value < 0 else digits


def _step_for(quantity: Quantity, steps: tuple[Step, ...], digits: int | None) -> tuple[Step, Decimal]:
    """Choose the first step whose rounded value stays below its bound; the last step has none."""
    for step in steps:
        value = _rounded(quantity, step, digits)
        if abs(value) < step.below:
            break
    return step, value


def _rounded(quantity: Quantity, step: Step, digits: int | None) -> Decimal:
    decimals = step.decimals if digits is None else digits
    exact = Decimal(repr(float(quantity.to(step.unit).magnitude)))
    with localcontext(prec=400):  # room for every digit a float can have before its decimal mark
        rounded = exact.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
    return rounded or abs(rounded)  # "−0.0" reads as a fault


def _kind_of(quantity: Quantity) -> Kind:
    if quantity.dimensionless:
        counted = quantity.units != ureg.percent and float(quantity.magnitude).is_integer()
        return Kind.COUNT if counted else Kind.FRACTION
    if "delta" in str(quantity.units):
        return Kind.TEMPERATURE_RISE
    for kind, facts in FACTS.items():
        if quantity.is_compatible_with(facts.steps[0].unit):
            return kind
    raise ImpossibleValue(f"Nothing on the bench is measured in {quantity.units}.")
