"""What the rules of the place say of a rebuilt pack: what it carries, and what it may be called."""

import math
from collections.abc import Iterable
from dataclasses import replace
from decimal import ROUND_UP, Decimal

from packs import waste as rules
from packs.documents import Claim, OnTheMarket
from packs.errors import MissingFact
from packs.terms import Chemistry, Measure, Stage
from shop.models import Job, Plan

from . import cells, figures, spacing, waste
from .waste import Topic, Where

__all__ = ["Claim", "OnTheMarket", "carried", "on_the_market"]

CARRIED = ("rebuilt.energy", "rebuilt.says_so", "rebuilt.label", "rebuilt.marks_of_others")
"""Rows on what every rebuilt pack carries, in the order in which they are told."""

PART_CARRIED = ("rebuilt.energy", "rebuilt.part_says_so", "rebuilt.marks_of_others")
"""Rows on what a pack carries of which only groups were replaced: it is no rebuilt pack, and its marks stay."""

OF_AN_OLD_PACK = frozenset({"rebuilt.says_so", "rebuilt.marks_of_others"})
"""Of these nothing is told where no old pack was opened: a pack built for stock is new."""
DUTIES = ("rebuilt.market",)
"""Rows on what else is asked of who places it on the market."""

_UM_PER_CM = 10_000


def carried(plan: Plan, where: Where) -> OnTheMarket:
    """Return what a rebuilt pack carries at a place on a date, or one of which groups were replaced."""
    if plan.replaced:
        carries = _told(PART_CARRIED, where)
        return OnTheMarket(where.place.label, where.on, carries, bin_asked=False, defers=rules.MARKET_DEFERS.text)
    mark = _bin(plan, where)
    return OnTheMarket(
        place=where.place.label,
        on=where.on,
        carries=_carries(plan, where),
        bin_asked=rules.needs_bin(where.place, where.on),
        bin_side_um=None if mark is None else (mark.side_cm * _UM_PER_CM).quantize(Decimal("1e3"), ROUND_UP),
        bin_on_packaging=mark is not None and mark.on_packaging,
        defers=rules.MARKET_DEFERS.text,
    )


def on_the_market(plan: Plan, where: Where) -> OnTheMarket:
    """Return what a proved pack carries and may be called at a place on a date; one that stayed in part has no new name."""
    if plan.replaced:
        return carried(plan, where)
    return replace(carried(plan, where), claim=_claim(plan, where), duties=_told(DUTIES, where))


def _carries(plan: Plan, where: Where) -> tuple[str, ...]:
    names = [name for name in CARRIED if Stage.EXAMINE in plan.job.route or name not in OF_AN_OLD_PACK]
    if plan.cell_model.chemistry == Chemistry.NICD:
        names.append("rebuilt.chemical_sign")
    return _told(names, where)


def _told(names: Iterable[str], where: Where) -> tuple[str, ...]:
    rows = {row.rule: row for row in waste.rows_of(where, Topic.REBUILT)}
    return tuple(waste.told(rows[name], rows[name].text) for name in names if name in rows)


def _bin(plan: Plan, where: Where) -> rules.BinMark | None:
    """Return the bin by the largest side of the bare cells in their places; the housing's is larger."""
    area = _largest_side_cm2(plan)
    if area is None:
        return None
    if plan.cell_count > 1 or plan.cell_model.cell_format != "round":
        return rules.bin_mark(area, where.place, where.on, cylinder=False)
    return rules.bin_mark(_surface_cm2(plan), where.place, where.on, cylinder=True)


def _largest_side_cm2(plan: Plan) -> Decimal | None:
    height = cells.model(plan.cell_model).height
    try:
        across, down = spacing.measured(plan).footprint
    except MissingFact:
        return None
    if height is None:
        return None
    sides = sorted(Decimal(str(length.to("cm").magnitude)) for length in (across, down, height))
    return sides[1] * sides[2]


def _surface_cm2(plan: Plan) -> Decimal:
    """Return the surface of the one round cell; its height and diameter are known."""
    diameter, height = (Decimal(value or 0) / _UM_PER_CM for value in _sizes(plan))
    return Decimal(str(math.pi)) * diameter * (height + diameter / 2)


def _sizes(plan: Plan) -> tuple[int | None, int | None]:
    return plan.cell_model.diameter_um, plan.cell_model.height_um


def _claim(plan: Plan, where: Where) -> Claim | None:
    least, most = (rules.row(f"rebuilt.{name}", where.place, where.on) for name in ("capacity", "spread"))
    if (
        least is None
        or most is None
        or least.limit is None
        or most.limit is None
        or Stage.EXAMINE not in plan.job.route
    ):
        return None
    capacity, of_cells = _capacity_share(plan.job), _capacities(plan)
    known = [mah for mah in of_cells if mah is not None]
    evaluated = bool(known) and len(known) == len(of_cells)
    spread = (max(known) - min(known)) / plan.cell_model.rated_capacity_mah if evaluated else None
    return Claim(
        allowed=_allowed(capacity, spread, where, evaluated=evaluated),
        capacity=capacity,
        least_capacity=least.limit / 100,
        spread=spread,
        most_spread=most.limit / 100,
        all_evaluated=evaluated,
        words=f"{least.source.title}, {least.source.clause}, {least.grade}",
    )


def _allowed(capacity: Decimal | None, spread: Decimal | None, where: Where, *, evaluated: bool) -> bool:
    """Whether the word may be used; the pack goes back into the device it came in, so its purpose is the same."""
    if capacity is None or spread is None:
        return False
    shares = (capacity * 100, spread * 100)
    return rules.may_say_remanufactured(*shares, where.place, where.on, all_evaluated=evaluated, same_purpose=True)


def _capacity_share(job: Job) -> Decimal | None:
    """Return the measured capacity as a share of what the old pack was rated at."""
    found = job.as_found
    rated = found.cell_model.rated_capacity_mah * found.parallel
    measured = figures.of_points(job, Stage.FINAL_TEST, Measure.CAPACITY).get("pack")
    return None if measured is None else measured / rated


def _capacities(plan: Plan) -> list[Decimal | None]:
    """Return the measured capacity of every placed cell [mAh]; None where it was not measured."""
    placed = [position.cell for position in plan.positions.select_related("cell") if position.cell is not None]
    known = figures.of_cells(placed)
    return [known.get(cell.pk, {}).get(Measure.CAPACITY) for cell in placed]
