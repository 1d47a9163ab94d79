"""Part of the independent check: why a cell may not be used, and whether a proposal left out who it says it did."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

from packs.errors import ImpossibleValue
from packs.matching.answer import Filter, Proposal
from packs.matching.question import Question
from packs.matching.table import UNKNOWN, CellTable

_NOT_KNOWN = ("", "unknown")


@dataclass(frozen=True)
class Fault:
    """One thing that keeps a cell out, in words."""

    filter: Filter
    said: str


Faults = Callable[[int], list[Fault]]


def faults_of(table: CellTable, question: Question) -> Faults:
    """Return what tells of a row of the table why its cell may not be used: everything that holds, none where it may.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    References
    ----------
    Arithmetic, done anew.
    """
    drifted = _drifted(table, question)
    return lambda row: [
        *_said(table, question, row),
        *_unknown(table, question, row),
        *_outside_windows(table, question, row),
        *([Fault(Filter.DRIFT, "drifted from its lot-mates")] if row in drifted else []),
    ]


def check_excluded(table: CellTable, question: Question, proposal: Proposal) -> None:
    """Refuse a proposal that leaves a cell out for a reason that does not hold, or without one; values in [mAh], [µΩ].

    References
    ----------
    Arithmetic, done anew.
    """
    row_of = {code: row for row, code in enumerate(table.codes)}
    chosen = {row for group in proposal.groups for row in group}
    strange = _strange(table, question, sorted(chosen))
    faults = faults_of(table, question)
    named = {one.code: one.filter for one in proposal.excluded}
    if len(named) < len(proposal.excluded) or set(named) - set(row_of):
        raise ImpossibleValue("A cell is left out twice, or one that is not in the table.")
    for code, row in row_of.items():
        why = {fault.filter for fault in faults(row)}
        said = named.get(code)
        if said is None and (why or (row not in chosen and strange(row, sure=True))):
            raise ImpossibleValue(f"Cell {code} could not take part, but is not said to be left out.")
        if said is Filter.KIND and (why or row in chosen or not strange(row, sure=False)):
            raise ImpossibleValue(f"Cell {code} is left out beside the others without a reason.")
        if said not in (None, Filter.KIND) and said not in why:
            raise ImpossibleValue(f"Cell {code} is said to be left out for its {said}, which does not hold.")


def _said(table: CellTable, question: Question, row: int) -> list[Fault]:
    faults = (
        (table.codes[row] in question.must_not_use, Filter.REFUSED, "asked not to be used"),
        (bool(table.quarantined[row]), Filter.QUARANTINED, "quarantined"),
        (bool(table.reserved[row]), Filter.RESERVED, "reserved"),
        (table.history[row] in question.refused_histories, Filter.HISTORY, "its history"),
    )
    return [Fault(kind, words) for wrong, kind, words in faults if wrong]


def _unknown(table: CellTable, question: Question, row: int) -> list[Fault]:
    """What the question needs to know of a cell and nobody does."""
    health = question.min_health is not None or question.max_health is not None
    numbers = (
        ("capacity", table.capacity_mah, True),
        ("rated capacity", table.rated_mah, health),
        ("self-discharge", table.self_discharge_mv_per_day, question.max_self_discharge_mv_per_day is not None),
        ("resistance", table.dcir_uohm, question.ratio is not None),
        ("rest voltage", table.ocv_mv, question.ocv_window_mv is not None),
    )
    words = (
        ("chemistry", table.chemistry, True),
        ("model", table.model, not question.allow_mixed_models),
        ("lot", table.lot, not question.allow_mixed_lots or question.together == "lot"),
        ("donor", table.donor, question.together == "donor"),
        ("history", table.history, bool(question.refused_histories)),
    )
    missing = [name for name, column, asked in numbers if asked and column[row] != column[row]]
    missing += [name for name, words_of, asked in words if asked and words_of[row] in _NOT_KNOWN]
    return [Fault(Filter.NOT_KNOWN, f"{name} not known") for name in missing]


def _outside_windows(table: CellTable, question: Question, row: int) -> list[Fault]:
    capacity, rated = float(table.capacity_mah[row]), float(table.rated_mah[row])
    windows = (
        (Filter.CAPACITY, capacity, question.min_capacity_mah, question.max_capacity_mah),
        (Filter.HEALTH, capacity / rated, question.min_health, question.max_health),
        (
            Filter.SELF_DISCHARGE,
            float(table.self_discharge_mv_per_day[row]),
            None,
            question.max_self_discharge_mv_per_day,
        ),
    )
    return [
        Fault(kind, f"{kind} outside its window")
        for kind, value, least, most in windows
        if (least is not None and value < least) or (most is not None and value > most)
    ]


def _drifted(table: CellTable, question: Question) -> set[int]:
    """Three or more cells of one lot charged on one day are compared with the middle of them."""
    if question.max_drift_mv is None:
        return set()
    mates: dict[tuple[str, str], dict[int, int]] = {}
    rows = zip(table.lot, table.charged_on, table.ocv_uv.tolist(), strict=True)
    for row, (lot, day, volts) in enumerate(rows):
        if lot not in _NOT_KNOWN and day and volts != UNKNOWN:
            mates.setdefault((lot, day), {})[row] = volts
    most = Fraction(str(question.max_drift_mv)) * 1000
    return {
        row
        for one in mates.values()
        if len(one) >= 3
        for middle in [Fraction(median(one.values()))]
        for row, volts in one.items()
        if abs(volts - middle) > most
    }


def _strange(table: CellTable, question: Question, chosen: list[int]) -> Callable[..., bool]:
    """Return whether a cell does not go with those chosen.

    Where none of those has a resistance, another's method may be what it was left out for; that is not ``sure``.
    """
    alike = [
        (column, {column[row] for row in chosen})
        for column, mixed in (
            (table.chemistry, question.allow_mixed_chemistries),
            (table.model, question.allow_mixed_models),
            (table.lot, question.allow_mixed_lots),
            (table.test_conditions, question.allow_mixed_conditions),
        )
        if not mixed
    ]
    ohms = table.dcir_nohm.tolist()
    methods = {table.resistance_method[row] for row in chosen if ohms[row] != UNKNOWN}

    def strange(row: int, *, sure: bool) -> bool:
        measured = ohms[row] != UNKNOWN
        by_another = measured and (table.resistance_method[row] not in methods if methods else not sure)
        return by_another or any(column[row] not in found for column, found in alike)

    return strange
