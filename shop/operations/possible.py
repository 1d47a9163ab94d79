"""Values nobody meets on this bench are refused here, so that no door lets them in; each beside the field it came in."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from packs.terms import Measure
from shop.bridge import likely, possible
from shop.errors import ShopError
from shop.models import Cell, CellModel, PackAsFound, Plan


def refuse(code: str, doubts: Mapping[str, str]) -> None:
    """Refuse where there is a doubt; the first is the message, each stands beside its field."""
    if wrong := {field: message for field, message in doubts.items() if message}:
        field, message = next(iter(wrong.items()))
        raise ShopError(code, message, field=field, fields=wrong)


def refuse_all(*found: tuple[str, Mapping[str, str]]) -> None:
    """Refuse with every doubt of several checks at once, each beside its field; the code is that of the first."""
    if wrong := [(code, doubts) for code, doubts in found if any(doubts.values())]:
        named = {field: message for _, doubts in reversed(wrong) for field, message in doubts.items() if message}
        first = {field: named[field] for field, message in wrong[0][1].items() if message}
        refuse(wrong[0][0], first | named)


def stated_doubts(values: Mapping[str, Any]) -> dict[str, str]:
    """Return what is doubted of stated values, by column."""
    bounds = possible.STATED
    given = {name: value for name, value in values.items() if name in bounds and value is not None}
    return {name: bounds[name].doubt(value) for name, value in given.items()}


def require_stated(values: Mapping[str, Any]) -> None:
    """Refuse stated values, by column, that no device, pack, cell model or meter has."""
    refuse("impossible_value", stated_doubts(values))


def require_arrangement(series: int, parallel: int) -> None:
    """Refuse a pack larger than one bench rebuilds."""
    refuse("impossible_value", {"arrangement": possible.arrangement_doubt(series, parallel)})


def require_readable(measure: Measure, value: Decimal, point: str) -> None:
    """Refuse what no meter shows at a point of a job."""
    if measure in possible.READ:
        refuse("impossible_value", {point: possible.READ[measure].doubt(value)})


def require_of_a_cell(measure: Measure, value: Decimal) -> None:
    """Refuse a measure that is not taken of a single cell, and a value that none has."""
    if measure not in possible.OF_A_CELL:
        raise ShopError("not_of_a_cell", f"No {measure.label} is kept of a single cell.", field="measure")
    refuse("impossible_value", {"value": possible.OF_A_CELL[measure].doubt(value)})


MOST_TIMES = 8
"""Voltages of one nameplate lie no further apart, not even where a charger of 5 V feeds a pack of 36 V; common practice."""


def require_one_plate(rated_mv: int | None, charger_mv: int | None, rated_mah: Decimal | int | None = None) -> None:
    """Refuse what cannot stand on one nameplate, a mark or a digit slipped: a capacity that no pack to be rebuilt has, a
    rated voltage and a charger that cannot belong to one device.
    """
    if rated_mah is not None and rated_mah < possible.LEAST_PACK_MAH:
        least = possible.STATED["rated_capacity_mah"].shown(possible.LEAST_PACK_MAH)
        words = f"No pack that is rebuilt is rated below {least}. Check the number and its unit, mAh or Ah."
        refuse("impossible_value", {"rated_capacity_mah": words})
    if rated_mv and charger_mv and not charger_mv / MOST_TIMES <= rated_mv <= charger_mv * MOST_TIMES:
        both = " and ".join(
            possible.STATED[name].shown(mv)
            for name, mv in (("rated_voltage_mv", rated_mv), ("charger_voltage_mv", charger_mv))
        )
        words = (
            f"{both} cannot be rated voltage and charger of one device. Check both, and where the decimal mark stands."
        )
        refuse("impossible_value", {"rated_voltage_mv": words})


UNLIKELY = "unlikely_value"
"""The code of what is asked back; said to be true with ``sure``, it is taken."""

CONFIRM = "sure"


def ask(doubts: Mapping[str, str], *, sure: bool) -> None:
    """Ask back about values that hardly any cell has, each beside its field; who is sure of them has them taken."""
    if sure or not (odd := {field: message for field, message in doubts.items() if message}):
        return
    field, message = next(iter(odd.items()))
    raise ShopError(UNLIKELY, message, field=field, fields=odd, confirm=CONFIRM)


def require_likely(measure: Measure, value: Decimal, model: CellModel, *, sure: bool) -> None:
    """Ask back about a reading that hardly any cell of the model has."""
    ask({"value": likely.doubt(measure, value, model)}, sure=sure)


def require_like_before(cell: Cell, measure: Measure, value: Decimal, *, sure: bool) -> None:
    """Ask back about a capacity that is far from the one the same cell gave last."""
    if measure is Measure.CAPACITY and not sure:
        before = cell.readings.still_telling().filter(measure=measure.value).last()
        ask({"value": likely.jump_doubt(before.value, value) if before else ""}, sure=sure)


def require_pack_likely(capacity_mah: Decimal | None, pack: Plan | PackAsFound, *, sure: bool) -> None:
    """Ask back about a capacity that hardly any pack of these cells has."""
    if capacity_mah is not None:
        ask({"capacity": likely.pack_capacity_doubt(capacity_mah, pack.cell_model, pack.parallel)}, sure=sure)


def require_code(code: str, *, field: str = "code") -> str:
    """Return a code without the spaces around it; refuse one that no label or address can carry (an empty one the table itself refuses)."""
    code = code.strip()
    if code in ("new", ".", ".."):
        raise ShopError("impossible_code", "Give it a code that can stand on a label, and not “new”.", field=field)
    if doubt := possible.code_doubt(code):
        raise ShopError("impossible_code", f"{doubt[0].upper()}{doubt[1:]}.", field=field)
    return code


def require_not_ahead(day: date, at: datetime, message: str, *, field: str) -> None:
    """Refuse a day that has not begun where the shop stands."""
    if day > timezone.localdate(at):
        raise ShopError("future_date", message, field=field)
