"""What would do where the stock gives no groups, in terms of the page: limits to change, cells to level, cells to buy."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from math import ceil
from time import monotonic

import numpy as np

from packs import matching
from packs.errors import Infeasible
from packs.matching import CellTable, ProvenInfeasible, Purchase, Relaxation
from packs.terms import Measure
from packs.units import Quantity, of
from shop.models import Plan

from .matching import Limits, question_of, stock_for

RATIOS = (1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.4, 1.5)
"""Resistance ratios that the price of the limit is shown for; common practice, no source."""


@dataclass(frozen=True)
class Change:
    """One limit and the least change of it that would do alone; ``value`` None where no change of it alone would.

    ``limit`` is a name of `Limits`; ``not_enough`` a smaller change that is proven not to do, None where none is.
    """

    limit: str
    value: Decimal | None
    not_enough: Decimal | None = None


@dataclass(frozen=True)
class CellToLevel:
    """A cell that is brought between two rest voltages and measured again."""

    code: str
    rest: Quantity
    low: Quantity
    high: Quantity

    @property
    def to_one(self) -> bool:
        """Whether the two are one voltage as a bench meter reads it, to a millivolt."""
        return bool(round(self.low.m_as("mV")) == round(self.high.m_as("mV")))


@dataclass(frozen=True)
class ToBuy:
    """Cells to buy for a group, beside those in stock, and for how many groups alike.

    Ends of a range are None where nothing bounds them.
    """

    cells: int
    capacity: tuple[Quantity, Quantity | None] | None
    resistance: tuple[Quantity, Quantity] | None
    beside: tuple[str, ...]
    groups: int = 1
    rest: tuple[Quantity, Quantity] | None = None


@dataclass(frozen=True)
class Remedies:
    """Why there are no groups, and what would do."""

    usable: int
    needed: int
    groups: int
    found: int
    """Groups that were found; no arrangement has more than `most`."""
    most: int
    binding: tuple[str, ...]
    changes: tuple[Change, ...]
    to_level: tuple[CellToLevel, ...]
    fewest_levelled: bool
    to_buy: tuple[ToBuy, ...]
    fewest_bought: bool
    fall_not_known: int = 0
    """Cells of which no self-discharge is measured, where a largest one was asked."""

    @property
    def cells_to_buy(self) -> int:
        """Cells to buy in all."""
        return sum(one.groups * one.cells for one in self.to_buy)

    @property
    def asks_rest(self) -> bool:
        """Whether cells to buy have to rest between two voltages."""
        return any(one.rest for one in self.to_buy)

    def says_more_than(self, error: Infeasible) -> bool:
        """Whether how many groups there can be is proven here at least as sharply as by a refusal of the search."""
        return isinstance(error, ProvenInfeasible) and self.most < self.groups


def remedies(plan: Plan, limits: Limits) -> Remedies:
    """Return why the stock gives no groups under these limits, and what would give some.

    A cell that the rules refuse stays refused: it is not among what may be changed.
    """
    stock = stock_for(plan)
    refused = np.array([code in stock.unfit for code in stock.table.codes], dtype=np.bool_)
    table = replace(stock.table, quarantined=stock.table.quarantined | refused)
    question = replace(
        question_of(plan, stock, replace(limits, assured=False)), must_not_use=tuple(limits.must_not_use)
    )
    found = matching.advise(table, question)
    return Remedies(
        found.usable,
        found.needed,
        found.groups,
        found.found,
        found.most,
        found.binding,
        tuple(change for one in found.relaxations if (change := _change(one)) is not None),
        tuple(
            CellToLevel(one.code, *(of(Measure.REST_VOLTAGE, mv) for mv in (one.rest_mv, one.low_mv, one.high_mv)))
            for one in found.levelling
        ),
        found.fewest_levelled,
        _each_once([_to_buy(one) for one in found.purchases]),
        found.fewest_bought,
        _fall_not_known(table, limits),
    )


def _fall_not_known(table: CellTable, limits: Limits) -> int:
    if limits.max_self_discharge_mv_per_day is None:
        return 0
    return int((np.isnan(table.self_discharge_mv_per_day) & ~table.quarantined).sum())


def _change(one: Relaxation) -> Change | None:
    """Only limits that the page asks for can be changed there."""
    if one.asked not in Limits.__dataclass_fields__:
        return None
    if isinstance(one.does, bool):
        return Change(one.asked, Decimal(1) if one.does else None)
    if one.asked in ("must_use", "must_not_use"):
        return Change(one.asked, Decimal(0) if one.does == () else None)
    return Change(one.asked, _decimal(one.does), _decimal(one.not_enough))


def _decimal(value: object) -> Decimal | None:
    return None if value is None else Decimal(str(value))


def _to_buy(one: Purchase) -> ToBuy:
    capacity, ohm = one.capacity_mah, one.resistance_uohm
    low = None if capacity is None else of(Measure.CAPACITY, ceil(round(capacity[0], 3)))
    rest = one.rest_mv
    most = None if capacity is None or capacity[1] is None else of(Measure.CAPACITY, int(capacity[1]))
    return ToBuy(
        one.cells,
        None if low is None else (low, most),
        None if ohm is None else (of(Measure.DC_RESISTANCE, ohm[0]), of(Measure.DC_RESISTANCE, ohm[1])),
        one.beside,
        rest=None if rest is None else (of(Measure.REST_VOLTAGE, rest[0]), of(Measure.REST_VOLTAGE, rest[1])),
    )


def _each_once(lines: Sequence[ToBuy]) -> tuple[ToBuy, ...]:
    """Return lines that say the same as one, for as many groups."""
    alike = [next(at for at, other in enumerate(lines) if other == one) for one in lines]
    return tuple(replace(lines[at], groups=alike.count(at)) for at in dict.fromkeys(alike))


def health_percent(plan: Plan, capacity_mah: Decimal) -> Decimal:
    """Return a least capacity as a share of the rated one, rounded down so that it lets no less through."""
    return (capacity_mah / plan.cell_model.rated_capacity_mah * 100).quantize(Decimal("0.01"), ROUND_DOWN)


def price_of_ratio(plan: Plan, limits: Limits, seconds: float) -> tuple[Sequence[float], Sequence[float]]:
    """Return resistance ratios and the weakest group [mAh] found under each; NaN where none was found in time."""
    stock = stock_for(plan)
    prices = matching.price_of_ratio(
        stock.table,
        question_of(plan, stock, replace(limits, assured=False)),
        RATIOS,
        deadline=monotonic() + seconds,
        clock=monotonic,
    )
    return [price.ratio for price in prices], [
        float("nan") if price.weakest_mah is None else price.weakest_mah for price in prices
    ]
