"""Take one cell out of an accepted or half-built plan with as few changed places as can be."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.deal import Limits, candidates
from packs.matching.exchange import EndOfBudget, Exchange, Groups, Plan
from packs.matching.levelling import to_level
from packs.matching.question import Objective, Question
from packs.matching.replacement import PlaceChange, Replacement
from packs.matching.table import BoolArray, CellTable, IntArray

_TRIES = 2_000_000

Codes = tuple[tuple[str, ...], ...]


def replace_cell(
    table: CellTable,
    question: Question,
    groups: Sequence[Sequence[str]],
    code: str,
    *,
    joined: Collection[str] = (),
    tries: int = _TRIES,
) -> Replacement:
    """Take one cell out of a plan: fewest changed places first, then the weakest group, then the spread.

    Parameters
    ----------
    table : CellTable
        The stock and the cells of the plan; that these stand reserved for it does not matter.
    question : Question
        What the plan answered, capacities in [mAh]. The groups given say how many there are and of how many cells; only groups that
        change are held to its limits. Where it asks to use up weaker cells, the poorest that do take the place.
    groups : sequence of sequence of str, length series
        Cell codes of the plan, place by place.
    code : str
        The cell to take out.
    joined : collection of str
        Cells whose joints are made: they stay where they are.
    tries : int
        Groups the search looks at before it ends with what it has.

    Returns
    -------
    Replacement

    Raises
    ------
    packs.errors.Infeasible
        The cell is joined, or no replacement was found; the message says whether that is proven.
    packs.errors.ImpossibleValue
        A code that is not in the table or twice in the plan, or a cell to take out that is not in it.

    References
    ----------
    Derived here: enumeration by the number of changed places.
    """
    plan = tuple(tuple(group) for group in groups)
    _check(table, plan, code, joined)
    if code in joined:
        raise Infeasible(f"Cell {code} is joined already, and joints that are made stay: it cannot be taken out.")
    mask = _usable(table, question, plan, code)
    ended = False
    found: list[tuple[int, tuple[float, ...], Exchange, Groups]] = []
    for rows in _companions(table, question, mask, plan, code):
        exchange = Exchange(_standing(table, question, rows, plan, code, set(joined)), tries)
        changes, complete = _fewest(exchange, exchange.plan.groups, table, code)
        ended |= not complete
        if exchange.best is not None:
            found.append((changes, exchange.rank, exchange, exchange.best))
    if not found:
        proof = "That is no proof that there is none." if ended else "Every exchange of cells was tried."
        raise Infeasible(
            f"No replacement for cell {code} was found that keeps the limits and leaves what is joined. {proof}"
        )
    least = min(changes for changes, *_ in found)
    _, _, exchange, best = max((one for one in found if one[0] == least), key=lambda one: one[1])
    return _written(table, question, plan, set(joined), exchange.plan, best, proven=not ended)


def _check(table: CellTable, plan: Codes, code: str, joined: Collection[str]) -> None:
    every = [one for group in plan for one in group]
    if not every or len(set(every)) != len(every) or not all(plan):
        raise ImpossibleValue("A plan names each of its cells once, and every group has cells.")
    missing = sorted(set(every) - set(table.codes))
    if missing:
        raise ImpossibleValue(f"Cell {missing[0]} is not among the cells given.")
    strange = sorted({code, *joined} - set(every))
    if strange:
        raise ImpossibleValue(f"Cell {strange[0]} is not in the plan.")


def _usable(table: CellTable, question: Question, plan: Codes, code: str) -> BoolArray:
    """Cells that may stand in the plan; those that stand in it already must be among them."""
    own = {one for group in plan for one in group}
    inside = np.array([one in own for one in table.codes], dtype=np.bool_)
    asked = replace(question, must_use=(), must_not_use=tuple(sorted({*question.must_not_use, code})))
    mask, excluded = filters.usable(replace(table, reserved=table.reserved & ~inside), asked)
    for exclusion in excluded:
        if exclusion.code in own and exclusion.code != code:
            raise Infeasible(
                f"Cell {exclusion.code} of the plan may not stay either: {exclusion.reason}. Replace it first."
            )
    return mask


def _companions(table: CellTable, question: Question, mask: BoolArray, plan: Codes, code: str) -> list[IntArray]:
    """Sets of cells that may stand in one pack with all those that stay."""
    asked = replace(question, must_use=())
    place = {one: row for row, one in enumerate(table.codes)}
    stay = {place[one] for group in plan for one in group if one != code}
    sets = [kind.rows for kind in filters.kinds(table, asked, mask) if stay <= set(kind.rows.tolist())]
    if not any(len(rows) > len(stay) for rows in sets):
        raise Infeasible(f"No free cell in stock goes with the cells that stay, so that none can replace {code}.")
    return sets


def _standing(table: CellTable, question: Question, rows: IntArray, plan: Codes, code: str, joined: set[str]) -> Plan:
    """The plan in terms of candidates; the cell taken out stands behind all others and may not enter again."""
    every = np.concatenate([rows, [table.codes.index(code)]]).astype(np.int64)
    asked = replace(question, parallel=max(len(group) for group in plan), must_use=())
    cells = candidates(table, rows, asked)
    place = {table.codes[row]: at for at, row in enumerate(cells.rows.tolist())}
    place[code] = len(cells.rows)
    groups = tuple(tuple(place[one] for one in group) for group in plan)
    inside = {cell for group in groups for cell in group}
    out = replace(
        cells,
        rows=np.append(cells.rows, every[-1]),
        capacity=np.append(cells.capacity, 0),
        resistance=np.append(cells.resistance, 0),
        voltage=np.append(cells.voltage, 0),
        origin=np.append(cells.origin, 0),
        forced=np.append(cells.forced, np.False_),
    )
    movable = np.array([table.codes[row] not in joined for row in out.rows.tolist()], dtype=np.bool_)
    weaker = question.objective is Objective.USE_UP_WEAKER
    return Plan(
        cells=out,
        limits=Limits.of(asked),
        groups=groups,
        movable=movable,
        free=np.array([at for at in range(len(cells.rows)) if at not in inside], dtype=np.int64),
        stays=frozenset(place[one] for one in question.must_use if one in place and one != code),
        least=-(-question.required_tenths // cells.step) if weaker else 0,
        weaker_first=weaker,
    )


def _fewest(exchange: Exchange, groups: tuple[tuple[int, ...], ...], table: CellTable, code: str) -> tuple[int, bool]:
    """Search by one changed place, two, three ...; returns their number and whether all of them were tried."""
    out = next(at for at, row in enumerate(exchange.plan.cells.rows.tolist()) if table.codes[row] == code)
    most = sum(int(exchange.plan.movable[list(group)].sum()) for group in groups)
    for changes in range(1, most + 1):
        try:
            exchange.fill(out, changes)
        except EndOfBudget:
            return changes, False
        if exchange.best is not None:
            return changes, True
    return most, True


def _written(
    table: CellTable,
    question: Question,
    plan: Codes,
    joined: set[str],
    standing: Plan,
    best: Groups,
    *,
    proven: bool,
) -> Replacement:
    codes = [table.codes[row] for row in standing.cells.rows.tolist()]
    groups, changes = list(plan), []
    for number, cells in sorted(best.items()):
        groups[number], changed = _in_place(number + 1, plan[number], [codes[cell] for cell in cells])
        changes += changed
    place = {one: row for row, one in enumerate(table.codes)}
    rows = [np.array([place[one] for one in group]) for group in groups]
    sums = [int(table.capacity_tenths[group].sum()) for group in rows]
    before = min(float(table.capacity_mah[[place[one] for one in group]].sum()) for group in plan)
    bound = min(sums) if proven else _most(table, plan, joined)
    return Replacement(
        changes=tuple(changes),
        groups=tuple(groups),
        group_capacity_mah=tuple(total / 10 for total in sums),
        weakest_mah=min(sums) / 10,
        weakest_before_mah=round(before, 1) if before == before else float("nan"),
        spread_mah=(max(sums) - min(sums)) / 10,
        bound_mah=max(bound, min(sums)) / 10,
        proven=proven,
        levelling=tuple(one for one in to_level(table, question, rows) if one.group - 1 in best),
    )


def _in_place(number: int, before: tuple[str, ...], now: list[str]) -> tuple[tuple[str, ...], list[PlaceChange]]:
    """The group with those that stay in their places, and what changed in the others."""
    entering = sorted(set(now) - set(before))
    after = tuple(one if one in now else entering.pop(0) for one in before)
    changes = [PlaceChange(number, out, into) for out, into in zip(before, after, strict=True) if out != into]
    return after, changes


def _most(table: CellTable, plan: Codes, joined: set[str]) -> int:
    """What no group can exceed [0.1 mAh]: its joined cells and the largest of all others."""
    place = {one: row for row, one in enumerate(table.codes)}
    largest = np.sort(table.capacity_tenths)[::-1]
    return min(
        int(sum(int(table.capacity_tenths[place[one]]) for one in group if one in joined))
        + int(largest[: sum(one not in joined for one in group)].sum())
        for group in plan
    )
