"""Which cells may take part at all; every cell left out is named with its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching.problem import BoolArray, CellTable, Exclusion, IntArray, Question

_NOT_KNOWN = ("", "unknown")


@dataclass(frozen=True)
class Kind:
    """Usable cells that may stand in one pack together: `label` names them, `rows` are their table rows."""

    label: str
    rows: IntArray


def usable(table: CellTable, question: Question) -> tuple[BoolArray, tuple[Exclusion, ...]]:
    """Mark the cells that may be used and explain every other one.

    Parameters
    ----------
    table : CellTable
    question : Question

    Returns
    -------
    mask : array of bool, shape (n,)
    excluded : tuple of Exclusion
        One per cell left out, with the first reason that holds.

    Raises
    ------
    packs.errors.ImpossibleValue
        A cell that must (not) be used is not in the table.
    packs.errors.Infeasible
        A cell that must be used is itself left out.
    """
    _check_codes(table, question)
    mask = np.ones(len(table), dtype=np.bool_)
    excluded: list[Exclusion] = []
    for fails, reason in _filters(table, question):
        out = np.flatnonzero(fails & mask)
        excluded.extend(Exclusion(table.codes[row], reason(row)) for row in out.tolist())
        mask[out] = False
    wanted = set(question.must_use)
    for exclusion in excluded:
        if exclusion.code in wanted:
            raise Infeasible(f"Cell {exclusion.code} must be used, but it cannot be: {exclusion.reason}.")
    return mask, tuple(excluded)


def kinds(table: CellTable, question: Question, mask: BoolArray) -> list[Kind]:
    """Sort the usable cells into sets that may stand in one pack: one chemistry, and as asked one model, one lot.

    Resistances taken by different methods do not compare, so a set holds one method only; a cell without a
    resistance joins every set of its kind.

    Returns
    -------
    list of Kind
        In order of label. Sets differ in at least one of chemistry, model, lot, method.
    """
    members: dict[tuple[str, str, str], list[int]] = {}
    models, lots = not question.allow_mixed_models, not question.allow_mixed_lots
    for row in np.flatnonzero(mask).tolist():
        key = (table.chemistry[row], table.model[row] if models else "", table.lot[row] if lots else "")
        members.setdefault(key, []).append(row)
    return [kind for key in sorted(members) for kind in _by_method(table, key, np.array(members[key], dtype=np.int64))]


def others(table: CellTable, mask: BoolArray, chosen: Kind) -> tuple[Exclusion, ...]:
    """Explain the usable cells that are not of the chosen kind."""
    left = mask.copy()
    left[chosen.rows] = False
    return tuple(
        Exclusion(table.codes[row], f"does not go with the cells chosen ({chosen.label})")
        for row in np.flatnonzero(left).tolist()
    )


def _by_method(table: CellTable, key: tuple[str, str, str], rows: IntArray) -> list[Kind]:
    chemistry, model, lot = key
    label = ", ".join(
        f"{name} {word}" for name, word in (("chemistry", chemistry), ("model", model), ("lot", lot)) if word
    )
    known = ~np.isnan(table.dcir_uohm[rows])
    method = np.array([table.resistance_method[row] for row in rows.tolist()])
    found = sorted(set(method[known].tolist()))
    if len(found) < 2:
        return [Kind(label, rows)]
    return [
        Kind(f"{label}, resistance by {name or 'unnamed method'}", rows[~known | (method == name)]) for name in found
    ]


def _check_codes(table: CellTable, question: Question) -> None:
    asked = set(question.must_use) | set(question.must_not_use)
    missing = sorted(asked.difference(table.codes)) if asked else []
    if missing:
        raise ImpossibleValue(f"Cell {missing[0]} is not among the cells given.")


def _filters(table: CellTable, question: Question) -> list[tuple[BoolArray, Callable[[int], str]]]:
    capacity, least = table.capacity_mah, question.min_capacity_mah
    found: list[tuple[BoolArray, Callable[[int], str]]] = [
        (_among(table.codes, question.must_not_use), lambda row: "asked not to be used"),
        (table.quarantined, lambda row: "in quarantine"),
        (table.reserved, lambda row: "reserved for another job"),
        (np.isnan(capacity), lambda row: "capacity not known"),
        (_among(table.chemistry, _NOT_KNOWN), lambda row: "chemistry not known"),
    ]
    if least is not None:
        found.append((capacity < least, lambda row: f"capacity {capacity[row]:g} mAh, at least {least:g} mAh asked"))
    if not question.allow_mixed_models:
        found.append((_among(table.model, _NOT_KNOWN), lambda row: "model not known"))
    if not question.allow_mixed_lots:
        found.append((_among(table.lot, _NOT_KNOWN), lambda row: "lot not known"))
    if question.max_resistance_ratio is not None:
        found.append((np.isnan(table.dcir_uohm), lambda row: "resistance not known"))
    if question.ocv_window_mv is not None:
        found.append((np.isnan(table.ocv_mv), lambda row: "rest voltage not known"))
    return found


def _among(column: tuple[str, ...], words: tuple[str, ...]) -> BoolArray:
    wanted = set(words)
    return np.fromiter((word in wanted for word in column), dtype=np.bool_, count=len(column))
