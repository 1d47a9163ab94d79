"""What groups were shown with: the figures of their cells and the limits asked; and whether that still holds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isnan
from typing import Any

from packs import matching
from packs.matching import CellTable
from shop.models import Cell, Plan

from .matching import Limits, Stock, question_of, stock_table, unfit

NUMBERS = (
    "min_capacity_mah",
    "max_resistance_ratio",
    "capacity_window",
    "ocv_window_mv",
    "required_mah",
    "max_self_discharge_mv_per_day",
)
_FLAGS = ("assured", "known_history", "allow_mixed_conditions")
_CODES = ("must_use", "must_not_use")
_READ = ("capacity", "resistance", "rest voltage")

Read = Mapping[str, Sequence[str]]
"""By cell code its capacity [mAh], resistance [µΩ] and rest voltage [mV] as written numbers; "" for one not known."""


@dataclass(frozen=True)
class Shown:
    """How groups were shown: under which limits, by which figures, and which limit they did not keep even then."""

    limits: Limits
    read: Read
    broken: str = ""
    most_mah: str = ""
    """What no weakest group could exceed as far as was proven [mAh]; nothing where that is not told."""

    def written(self) -> dict[str, Any]:
        """Return it as a form or a task carries it."""
        return {"limits": written(self.limits), "read": dict(self.read), "broken": self.broken, "most": self.most_mah}

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> "Shown":
        """Return what was written."""
        return cls(limits_of(kept["limits"]), kept["read"], kept["broken"], kept.get("most", ""))

    def kept(self) -> dict[str, Any]:
        """Return what a plan keeps of it: the limits, and what no arrangement could exceed."""
        return written(self.limits) | ({"most_mah": self.most_mah} if self.most_mah else {})


def written(limits: Limits) -> dict[str, Any]:
    """Return limits as they are written down."""
    numbers = {name: None if (value := getattr(limits, name)) is None else str(value) for name in NUMBERS}
    flags = {name: getattr(limits, name) for name in _FLAGS}
    if limits.required_mah is not None:
        flags["weaker"] = limits.weaker
    return numbers | flags | {name: list(getattr(limits, name)) for name in _CODES}


def limits_of(kept: Mapping[str, Any]) -> Limits:
    """Return limits that were written down."""
    given: dict[str, Any] = {name: None if (text := kept.get(name)) is None else Decimal(text) for name in NUMBERS}
    # What was written before the aim had this name says "surest".
    given |= {name: bool(kept.get(name, False)) for name in _FLAGS} | {name: kept.get(name, []) for name in _CODES}
    # What was written before it could be a limit alone used weaker cells up.
    given["weaker"] = bool(kept.get("weaker", True))
    given["assured"] |= bool(kept.get("surest", False))
    return Limits(**given)


def read_of(table: CellTable, groups: Sequence[Sequence[int]]) -> dict[str, list[str]]:
    """Return the figures of the cells of groups of table rows."""
    columns = (table.capacity_mah, table.dcir_uohm, table.ocv_mv)
    return {
        table.codes[row]: ["" if isnan(value := float(column[row])) else f"{value:.3f}" for column in columns]
        for group in groups
        for row in group
    }


def changed_since(plan: Plan, groups: Sequence[Sequence[str]], shown: Shown) -> str:
    """Return why groups are no longer what was shown, by the book as it is now; nothing where they are."""
    cells = Cell.objects.in_stock(plan.job).filter(lot__cell_model=plan.cell_model, lot__held_why="")
    table = stock_table(cells)
    row_of = {code: row for row, code in enumerate(table.codes)}
    if gone := [code for group in groups for code in group if code not in row_of]:
        return f"{gone[0]} is no longer in stock"
    rows = [[row_of[code] for code in group] for group in groups]
    if told := "; ".join(differences(shown.read, read_of(table, rows))):
        return told
    question = question_of(plan, Stock(table, unfit(plan, cells, table)), shown.limits)
    _, broken = matching.by_hand(table, question, rows, 0.0)
    return "" if shown.broken else broken.rstrip(".")


def differences(before: Read, now: Read) -> list[str]:
    """Return what reads otherwise than it did, in words."""
    return [
        f"{name} of {code}"
        for code, values in now.items()
        for name, value, was in zip(_READ, values, before.get(code, values), strict=True)
        if value != was
    ]
