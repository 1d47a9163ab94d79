"""New groups for a pack in which others stay, known only as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from statistics import median

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.answer import Proposal
from packs.matching.effort import DEFAULT_ITERATIONS
from packs.matching.levelling import level_by, to_level
from packs.matching.near import Wish, fitted, slack_of
from packs.matching.parts import Part, part_of
from packs.matching.question import Objective, Question
from packs.matching.repaired import Repair, StandingGroup
from packs.matching.report import proposal
from packs.matching.search import propose
from packs.matching.table import CellTable, IntArray


def propose_repair(
    table: CellTable,
    question: Question,
    standing: Sequence[StandingGroup],
    *,
    seed: int = 0,
    iterations: int = DEFAULT_ITERATIONS,
) -> Repair:
    """Choose cells for the groups of a pack that are built anew while others stay as they are.

    The weakest group of the whole pack is as good as can be without wasting good cells: a new group holds what the
    weakest that stays holds, with as little above it as can be, since more would never be used. Among groups that the
    tests cannot tell apart from the most thrifty one, the one whose resistance lies nearest to those that stay. Where
    the stock has no such cells, or no group's capacity is known, the new groups hold as much as they can.

    Parameters
    ----------
    table : CellTable
    question : Question
        Its series and parallel are those of the new groups; it asks for most capacity.
    standing : sequence of StandingGroup, at least one
        Capacities [mAh], resistances [µΩ], rest voltages [mV].
    seed, iterations : int
        As for ``propose``.

    Returns
    -------
    Repair

    Raises
    ------
    packs.errors.Infeasible
        Too few usable cells, or no groups that keep the limits; the message says whether that is proven.
    packs.errors.ImpossibleValue
        No group that stays, or a question that asks for something else than most capacity.

    References
    ----------
    Common practice, no source: in a series pack more capacity than the weakest group holds is never used. The choice:
    derived here, see `near.fitted`.
    """
    if not standing:
        raise ImpossibleValue("Without a group that stays this is no repair.")
    if question.objective is not Objective.MOST_CAPACITY:
        raise ImpossibleValue("The groups that stay say what capacity is asked; the question asks for most capacity.")
    asked = _least_known(standing)
    found, wanted = _first(table, question, asked, seed, iterations)
    target = _middle([group.resistance_uohm for group in standing])
    fitting = _fitted(table, wanted, found, target)
    written = _rewritten(table, wanted, found, fitting)
    return _told(table, question, standing, written, asked, target)


def _least_known(standing: Sequence[StandingGroup]) -> float | None:
    return min((group.capacity_mah for group in standing if group.capacity_mah is not None), default=None)


def _middle(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return round(float(median(known)), 3) if len(known) == len(values) else None


def _first(
    table: CellTable, question: Question, asked: float | None, seed: int, iterations: int
) -> tuple[Proposal, Question]:
    """Groups that hold what is asked with weaker cells, else as much as they can; and the question they answer."""
    if asked is not None:
        thrifty = replace(question, objective=Objective.USE_UP_WEAKER, required_mah=asked)
        try:
            return propose(table, thrifty, seed=seed, iterations=iterations), thrifty
        except Infeasible:
            pass
    found = propose(table, question, seed=seed, iterations=iterations)
    if asked is not None and Fraction(str(found.weakest_mah)) >= Fraction(str(asked)):
        return found, replace(question, objective=Objective.USE_UP_WEAKER, required_mah=asked)
    return found, question


def _fitted(table: CellTable, wanted: Question, found: Proposal, target: float | None) -> list[IntArray]:
    """Each group with little above what it must hold and its resistance near the target, group after group."""
    mask, _ = filters.usable(table, wanted)
    used = {row for group in found.groups for row in group}
    kind = next(kind for kind in filters.kinds(table, wanted, mask) if used <= set(kind.rows.tolist()))
    part = part_of(table, wanted, kind.rows)
    place = np.full(len(table), -1, dtype=np.int64)
    place[part.cells.rows] = np.arange(len(part.cells.rows))
    groups = [place[list(group)] for group in found.groups]
    enough = wanted.objective is Objective.USE_UP_WEAKER
    least = wanted.required_tenths if enough else round(found.weakest_mah * 10)
    for number, group in enumerate(groups):
        free = np.ones(len(part.allowed), dtype=np.bool_)
        free[np.concatenate(groups)] = False
        groups[number] = fitted(part, group, free, _wish(part, wanted, least, target, enough))
    return [part.cells.rows[group] for group in groups]


def _wish(part: Part, wanted: Question, least: int, target: float | None, enough: bool) -> Wish:
    capacity = -(-least // part.cells.step)
    slack = slack_of(capacity, part.parallel, wanted.repeatability)
    return Wish(capacity, slack, None if target is None else target * 1000, anywhere=enough)


def _rewritten(table: CellTable, wanted: Question, found: Proposal, groups: Sequence[IntArray]) -> Proposal:
    return proposal(
        table,
        wanted,
        np.array(groups),
        max(round(found.bound_mah * 10), min(int(table.capacity_tenths[group].sum()) for group in groups)),
        found.pack_capacity_p5_bound_mah * 10,
        round(found.least_used_mah * 10),
        found.limiting,
        found.excluded,
    )


def _told(
    table: CellTable,
    question: Question,
    standing: Sequence[StandingGroup],
    found: Proposal,
    asked: float | None,
    target: float | None,
) -> Repair:
    level = _middle([group.rest_mv for group in standing])
    rows = [np.array(group) for group in found.groups]
    to = level_by(table, rows)
    own = found.levelling if level is None else to_level(table, question, rows, level)
    off = () if target is None else tuple(round(ohm - target, 3) for ohm in found.group_resistance_uohm)
    return Repair(
        proposal=replace(found, levelling=own),
        asked_mah=asked,
        pack_weakest_mah=found.weakest_mah if asked is None else min(asked, found.weakest_mah),
        pack_bound_mah=found.bound_mah if asked is None else min(asked, found.bound_mah),
        resistance_target_uohm=target,
        resistance_off_uohm=off,
        level_to=to,
        level_mv=level,
        standing_to_level=_apart(standing, level, question.level_within_mv),
        unmeasured=tuple(table.codes[row] for group in rows for row in group.tolist() if np.isnan(table.ocv_mv[row])),
    )


def _apart(standing: Sequence[StandingGroup], level: float | None, within: float) -> tuple[int, ...]:
    rest = [group.rest_mv for group in standing]
    known = [value for value in rest if value is not None]
    if level is None or max(known) - min(known) <= within:
        return ()
    return tuple(number for number, mv in enumerate(known, start=1) if abs(mv - level) > within / 2)
