"""Part of the independent check: what is to be levelled before joining, reckoned anew in whole microvolts."""

from __future__ import annotations

from fractions import Fraction
from statistics import median

from packs.chemistry import LEAST_REST, state_of_charge
from packs.errors import ImpossibleValue, MissingFact
from packs.matching.answer import LevelTo, Proposal
from packs.matching.question import Question
from packs.matching.table import UNKNOWN, CellTable
from packs.terms import Chemistry
from packs.units import ureg

_SAME_CHARGE = 0.05

# Group, cell ("" for the whole group), where it rests and where it goes [µV].
_Told = tuple[int, str, int | None, int | None]


def check_levelling(table: CellTable, question: Question, proposal: Proposal, level_mv: float | None) -> None:
    """Refuse a proposal that levels other cells than have to be, or to elsewhere; ``level_mv`` [mV] of groups that stay.

    References
    ----------
    Arithmetic, done anew; equal charge by ``chemistry.state_of_charge``.
    """
    level = None if level_mv is None else round(level_mv * 1000)
    flat = any(table.chemistry[row] == "lfp" for group in proposal.groups for row in group)
    due = _by_charge(table, proposal, level) if flat else _by_voltage(table, question, proposal, level)
    said: list[_Told] = [
        (one.group, one.code, _micro(one.rest_mv), _micro(one.target_mv)) for one in proposal.levelling
    ]
    ways = {one.to for one in proposal.levelling} - {LevelTo.CHARGE if flat else LevelTo.VOLTAGE}
    if ways or sorted(said, key=str) != sorted(due, key=str):
        raise ImpossibleValue("What is to be levelled is not as stated.")


def _micro(millivolts: float | None) -> int | None:
    return None if millivolts is None or millivolts != millivolts else round(millivolts * 1000)


def _by_charge(table: CellTable, proposal: Proposal, level: int | None) -> list[_Told]:
    """Every cell, unless the voltages leave no room for unequal charge."""
    volts = table.ocv_uv.tolist()
    rows = [(number, row) for number, group in enumerate(proposal.groups, start=1) for row in group]
    rest = [volts[row] for _, row in rows] + ([] if level is None else [level])
    kinds = {table.chemistry[row] for _, row in rows}
    if UNKNOWN not in rest and len(kinds) == 1 and _same_charge(kinds.pop(), rest):
        return []
    return [(number, table.codes[row], None if volts[row] == UNKNOWN else volts[row], None) for number, row in rows]


def _same_charge(chemistry: str, rest: list[int]) -> bool:
    ends: list[float] = []
    for volts in set(rest):
        try:
            found = state_of_charge(Chemistry(chemistry), ureg.Quantity(volts, "uV"), LEAST_REST)
        except MissingFact:
            return False
        ends += [found.low, found.high]
    return max(ends) - min(ends) <= _SAME_CHARGE


def _by_voltage(table: CellTable, question: Question, proposal: Proposal, level: int | None) -> list[_Told]:
    volts = table.ocv_uv.tolist()
    apart = Fraction(str(question.level_within_mv)) * 1000
    rests = [[volts[row] for row in group if volts[row] != UNKNOWN] for group in proposal.groups]
    middles = [int(median(rest)) if rest else None for rest in rests]
    known = [middle for middle in middles if middle is not None]
    common = int(median(known)) if known and max(known) - min(known) > apart else None
    due: list[_Told] = []
    for number, (group, rest, middle) in enumerate(zip(proposal.groups, rests, middles, strict=True), start=1):
        if middle is None:
            continue
        near = level is None and (common is None or abs(middle - common) <= apart / 2)
        goal = middle if near else level if level is not None else common
        far = [row for row in group if volts[row] != UNKNOWN and abs(volts[row] - (goal or 0)) > apart / 2]
        close = max(rest) - min(rest) <= apart
        if close and not near and len(far) == len(group):
            due.append((number, "", middle, goal))
        elif not (close and near):
            due += [(number, table.codes[row], volts[row], goal) for row in far]
    return due
