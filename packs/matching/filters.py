"""Which cells may take part at all; every cell left out is named with its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching.answer import Exclusion, Filter
from packs.matching.question import Question, Together
from packs.matching.table import BoolArray, CellTable, FloatArray, IntArray

_NOT_KNOWN = ("", "unknown")
_LOT_MATES = 3


@dataclass(frozen=True)
class Kind:
    """Usable cells that may stand in one pack together: `label` names them, `rows` are their table rows."""

    label: str
    rows: IntArray


def usable(table: CellTable, question: Question) -> tuple[BoolArray, tuple[Exclusion, ...]]:
    """Mark the cells that may be used and explain every other one.

    Capacities [mAh], voltages [mV], self-discharge [mV/day].

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

    References
    ----------
    Common practice, no source: what was not measured, stands reserved or lies in quarantine is not used.
    """
    _check_codes(table, question)
    mask = np.ones(len(table), dtype=np.bool_)
    excluded: list[Exclusion] = []
    for kind, fails, reason in _filters(table, question):
        out = np.flatnonzero(fails & mask)
        excluded.extend(Exclusion(table.codes[row], reason(row), kind) for row in out.tolist())
        mask[out] = False
    wanted = set(question.must_use)
    for exclusion in excluded:
        if exclusion.code in wanted:
            raise Infeasible(f"Cell {exclusion.code} must be used, but it cannot be: {exclusion.reason}.")
    return mask, tuple(excluded)


def kinds(table: CellTable, question: Question, mask: BoolArray) -> list[Kind]:
    """Sort the usable cells into sets that may stand in one pack: one chemistry, and as asked one model, lot, way of testing.

    Resistances taken by different methods do not compare, so a set holds one method only; a cell without a resistance
    joins every set of its kind. Capacities [mAh], resistances [µΩ].

    Returns
    -------
    list of Kind
        In order of label.

    References
    ----------
    Common practice, no source: one chemistry, one model and one way of testing to a pack.
    """
    columns = _alike(table, question)
    whole = np.flatnonzero(mask)
    if all(len(set(column)) == 1 for _, column in columns):
        first = tuple(column[0] for _, column in columns)
        return _by_method(table, _label(columns, first), whole) if len(whole) else []
    members: dict[tuple[str, ...], list[int]] = {}
    for row in whole.tolist():
        members.setdefault(tuple(column[row] for _, column in columns), []).append(row)
    return [
        kind
        for key in sorted(members)
        for kind in _by_method(table, _label(columns, key), np.array(members[key], dtype=np.int64))
    ]


def _alike(table: CellTable, question: Question) -> list[tuple[str, tuple[str, ...]]]:
    """Columns in which the cells of one pack agree."""
    columns = (
        ("chemistry", table.chemistry, question.allow_mixed_chemistries),
        ("model", table.model, question.allow_mixed_models),
        ("lot", table.lot, question.allow_mixed_lots),
        ("test conditions", table.test_conditions, question.allow_mixed_conditions),
    )
    return [(name, column) for name, column, mixed in columns if not mixed]


def _label(columns: list[tuple[str, tuple[str, ...]]], words: tuple[str, ...]) -> str:
    return ", ".join(f"{name} {word}" for (name, _), word in zip(columns, words, strict=True) if word)


def others(table: CellTable, mask: BoolArray, chosen: Kind) -> tuple[Exclusion, ...]:
    """Explain the usable cells that are not of the chosen kind.

    Capacities [mAh], resistances [µΩ].

    References
    ----------
    Common practice, no source, as ``kinds``.
    """
    left = mask.copy()
    left[chosen.rows] = False
    return tuple(
        Exclusion(table.codes[row], f"{Filter.KIND} ({chosen.label})", Filter.KIND)
        for row in np.flatnonzero(left).tolist()
    )


def _by_method(table: CellTable, label: str, rows: IntArray) -> list[Kind]:
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


_Test = tuple[Filter, BoolArray, Callable[[int], str]]


def _filters(table: CellTable, question: Question) -> list[_Test]:
    return [
        (Filter.REFUSED, _among(table.codes, question.must_not_use), lambda row: "asked not to be used"),
        (Filter.QUARANTINED, table.quarantined, lambda row: "in quarantine"),
        (Filter.RESERVED, table.reserved, lambda row: "reserved for another job"),
        *((Filter.NOT_KNOWN, fails, _saying(f"{name} not known")) for name, fails in _not_known(table, question)),
        *_windows(table, question),
        (Filter.HISTORY, _among(table.history, question.refused_histories), lambda row: f"was {table.history[row]}"),
        *_drifted(table, question),
    ]


def _saying(reason: str) -> Callable[[int], str]:
    return lambda row: reason


def _not_known(table: CellTable, question: Question) -> list[tuple[str, BoolArray]]:
    """Values that the question needs and that are not there."""
    health = (question.min_health, question.max_health) != (None, None)
    numbers = (
        ("capacity", table.capacity_mah, True),
        ("rated capacity", table.rated_mah, health),
        ("self-discharge", table.self_discharge_mv_per_day, question.max_self_discharge_mv_per_day is not None),
        ("resistance", table.dcir_uohm, question.max_resistance_ratio is not None),
        ("rest voltage", table.ocv_mv, question.ocv_window_mv is not None),
    )
    words = (
        ("chemistry", table.chemistry, True),
        ("model", table.model, not question.allow_mixed_models),
        ("lot", table.lot, not question.allow_mixed_lots or question.together is Together.LOT),
        ("donor", table.donor, question.together is Together.DONOR),
        ("history", table.history, bool(question.refused_histories)),
    )
    return [(name, np.isnan(column)) for name, column, asked in numbers if asked] + [
        (name, _among(words_of, _NOT_KNOWN)) for name, words_of, asked in words if asked
    ]


def _windows(table: CellTable, question: Question) -> list[_Test]:
    """Capacity, health and self-discharge outside what is asked."""
    capacity, rated, loss = table.capacity_mah, table.rated_mah, table.self_discharge_mv_per_day
    health = capacity / rated
    asked = (
        (
            Filter.CAPACITY,
            capacity,
            question.min_capacity_mah,
            question.max_capacity_mah,
            "capacity {:g} mAh",
            "{:g} mAh",
        ),
        (Filter.HEALTH, health, question.min_health, question.max_health, "health {:.1%}", "{:.1%}"),
        (Filter.SELF_DISCHARGE, loss, None, question.max_self_discharge_mv_per_day, "loses {:g} mV/day", "{:g} mV/day"),
    )
    found: list[_Test] = []
    for kind, column, least, most, words, limit in asked:
        if least is not None:
            found.append((kind, column < least, _outside(column, words, f"at least {limit.format(least)} asked")))
        if most is not None:
            found.append((kind, column > most, _outside(column, words, f"at most {limit.format(most)} asked")))
    return found


def _outside(column: FloatArray, words: str, asked: str) -> Callable[[int], str]:
    return lambda row: f"{words.format(column[row])}, {asked}"


def _drifted(table: CellTable, question: Question) -> list[_Test]:
    """Cells whose rest voltage left that of their lot-mates since the charge they had together."""
    if question.max_drift_mv is None or set(table.charged_on) <= {""}:
        return []
    mates: dict[tuple[str, str], list[int]] = {}
    for row, (lot, day) in enumerate(zip(table.lot, table.charged_on, strict=True)):
        if lot not in _NOT_KNOWN and day and not np.isnan(table.ocv_mv[row]):
            mates.setdefault((lot, day), []).append(row)
    drift = np.zeros(len(table))
    for rows in mates.values():
        if len(rows) >= _LOT_MATES:
            drift[rows] = table.ocv_mv[rows] - np.median(table.ocv_mv[rows])
    limit = f"at most {question.max_drift_mv:g} mV asked"
    fails = np.round(np.abs(drift), 3) > question.max_drift_mv
    return [(Filter.DRIFT, fails, _outside(drift, "rest voltage {:+g} mV from its lot-mates", limit))]


def _among(column: tuple[str, ...], words: tuple[str, ...]) -> BoolArray:
    wanted = set(words)
    if wanted.isdisjoint(column):
        return np.zeros(len(column), dtype=np.bool_)
    return np.fromiter((word in wanted for word in column), dtype=np.bool_, count=len(column))
