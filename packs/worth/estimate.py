"""What a rebuild costs the workshop, and what it is sold for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain

from packs.errors import ImpossibleValue
from packs.units import rounded

HOUR = Decimal(60)  # minutes


@dataclass(frozen=True)
class Item:
    """A part that goes in: so many pieces, or so much of a ``unit`` such as m, at what each costs the workshop."""

    label: str
    count: int | Decimal
    each: Decimal
    unit: str = ""


@dataclass(frozen=True)
class Work:
    """Work of so many minutes."""

    label: str
    minutes: int


@dataclass(frozen=True)
class Rates:
    """What the workshop reckons with.

    Attributes
    ----------
    currency : str
    labour : Decimal
        For one hour of work.
    margin : Decimal
        Added to every cost, as a share of it [dimensionless].
    tax : Decimal
        On what is sold, as a share of it [dimensionless].
    """

    currency: str
    labour: Decimal
    margin: Decimal
    tax: Decimal


@dataclass(frozen=True)
class PriceLine:
    """One line of an estimate: what it costs the workshop, and what it is sold for before tax; both rounded."""

    label: str
    detail: str
    cost: Decimal
    price: Decimal


@dataclass(frozen=True)
class Estimate:
    """Lines and what they add up to; every figure is rounded, so that a printed column adds up exactly."""

    currency: str
    lines: tuple[PriceLine, ...]
    tax: Decimal

    @property
    def cost(self) -> Decimal:
        """What it costs the workshop [currency]."""
        return sum((line.cost for line in self.lines), Decimal(0))

    @property
    def net(self) -> Decimal:
        """The price before tax [currency]."""
        return sum((line.price for line in self.lines), Decimal(0))

    @property
    def total(self) -> Decimal:
        """What the customer pays [currency]."""
        return self.net + self.tax


def estimate(parts: Sequence[Item], work: Sequence[Work], fees: Sequence[Item], rates: Rates) -> Estimate:
    """Return parts, work and fees with margin and tax; each line is rounded, then added up [currency].

    Parameters
    ----------
    parts, fees : sequence of Item
        Fees, such as that for waste, are passed on without a margin.
    work : sequence of Work
    rates : Rates

    Raises
    ------
    ImpossibleValue
        A count, a time, a cost or a rate is below zero or no number, or there is no such currency.

    References
    ----------
    Unicode CLDR, digits of currencies; adding rounded lines: common practice, no source.

    Examples
    --------
    >>> rates = Rates("EUR", labour=Decimal(60), margin=Decimal("0.2"), tax=Decimal("0.2"))
    >>> asked = estimate([Item("cells", 8, Decimal("3.50"))], [Work("rebuild", 90)], [], rates)
    >>> asked.cost, asked.net, asked.tax, asked.total
    (Decimal('118.00'), Decimal('141.60'), Decimal('28.32'), Decimal('169.92'))
    """
    _require(chain([rates.labour, rates.margin, rates.tax], *((one.count, one.each) for one in (*parts, *fees))))
    _require(one.minutes for one in work)
    lines = [
        *(_line(one.label, _times(one), one.count * one.each, rates.margin, rates) for one in parts),
        *(
            _line(one.label, f"{one.minutes} min", one.minutes * rates.labour / HOUR, rates.margin, rates)
            for one in work
        ),
        *(_line(one.label, _times(one), one.count * one.each, Decimal(0), rates) for one in fees),
    ]
    net = sum((line.price for line in lines), Decimal(0))
    return Estimate(rates.currency, tuple(lines), rounded(net * rates.tax, rates.currency))


def _line(label: str, detail: str, cost: Decimal, margin: Decimal, rates: Rates) -> PriceLine:
    price = rounded(cost * (1 + margin), rates.currency)
    return PriceLine(label, detail, rounded(cost, rates.currency), price)


def _times(one: Item) -> str:
    if one.unit:
        return f"{one.count} {one.unit}"
    return f"{one.count} ×" if one.count != 1 else ""


def _require(values: Iterable[Decimal | int]) -> None:
    for value in values:
        if not (Decimal(value).is_finite() and value >= 0):
            raise ImpossibleValue("Counts, times, costs and rates are numbers, zero or above.")
