"""An independent check of a replacement: what stays, what enters, what changed and the figures, again from the table."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from packs.errors import ImpossibleValue
from packs.matching.question import Objective, Question
from packs.matching.replacement import Replacement
from packs.matching.table import CellTable
from packs.matching.verify import check_alike, check_group
from packs.matching.verify_cells import faults_of


def verify_replacement(
    table: CellTable,
    question: Question,
    groups: Sequence[Sequence[str]],
    code: str,
    answer: Replacement,
    *,
    joined: Collection[str] = (),
) -> None:
    """Refuse a replacement in which anything does not hold. Parameters as for ``replace_cell``; capacities [mAh].

    Raises
    ------
    packs.errors.ImpossibleValue
        A joined cell moved, a cell twice, the cell taken out still there, one that may not be used, a limit not kept
        in a changed group, or a change or figure that is not as stated.

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    before, after = [list(group) for group in groups], [list(group) for group in answer.groups]
    if [len(group) for group in before] != [len(group) for group in after]:
        raise ImpossibleValue("The groups have not kept their sizes.")
    every = [one for group in after for one in group]
    if len(set(every)) != len(every) or code in every:
        raise ImpossibleValue("A cell stands twice, or the one to take out still stands.")
    _check_changes(before, after, answer, joined)
    place = {one: row for row, one in enumerate(table.codes)}
    _check_cells(table, question, [place[one] for one in every], {one for group in before for one in group})
    _check_limits(table, question, before, after, place)
    _check_figures(table, after, place, answer)


def _check_changes(
    before: list[list[str]], after: list[list[str]], answer: Replacement, joined: Collection[str]
) -> None:
    found = sorted(
        (number, out, into)
        for number, (old, new) in enumerate(zip(before, after, strict=True), start=1)
        for out, into in zip(old, new, strict=True)
        if out != into
    )
    if found != sorted((one.group, one.out, one.into) for one in answer.changes):
        raise ImpossibleValue("The changes stated are not those between the plans.")
    moved = sorted(set(joined) & {out for _, out, _ in found})
    if moved:
        raise ImpossibleValue(f"Cell {moved[0]} is joined, but its place changed.")


def _check_cells(table: CellTable, question: Question, rows: list[int], own: set[str]) -> None:
    elsewhere = [bool(flag) and code not in own for flag, code in zip(table.reserved, table.codes, strict=True)]
    free = replace(table, reserved=np.array(elsewhere, dtype=np.bool_))
    faults = faults_of(free, question)
    for row in rows:
        if wrong := faults(row):
            raise ImpossibleValue(f"Cell {table.codes[row]} may not be used: {wrong[0].said}.")
    check_alike(table, question, rows)


def _check_limits(
    table: CellTable, question: Question, before: list[list[str]], after: list[list[str]], place: dict[str, int]
) -> None:
    for number, (old, new) in enumerate(zip(before, after, strict=True), start=1):
        if old == new:
            continue
        rows = tuple(place[one] for one in new)
        check_group(table, question, number, rows)
        held = sum(int(table.capacity_tenths[row]) for row in rows)
        if question.objective is Objective.USE_UP_WEAKER and held < question.required_tenths:
            raise ImpossibleValue(f"Group {number} holds less than what is required.")


def _check_figures(table: CellTable, after: list[list[str]], place: dict[str, int], answer: Replacement) -> None:
    sums = [sum(int(table.capacity_tenths[place[one]]) for one in group) for group in after]
    said = [round(value * 10) for value in answer.group_capacity_mah]
    stated = (round(answer.weakest_mah * 10), round(answer.spread_mah * 10))
    if said != sums or stated != (min(sums), max(sums) - min(sums)):
        raise ImpossibleValue("The capacities stated are not those of the groups.")
    if round(answer.bound_mah * 10) < min(sums):
        raise ImpossibleValue("The weakest group lies above its bound.")
