"""When nothing fits: which limits bind, what the least change of each would be, what to level, what to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from packs.errors import Infeasible
from packs.matching import filters
from packs.matching.deal import Candidates, Limits, candidates
from packs.matching.fitting import Levelled, Room, Stocked, levelled, levelled_as_dealt, may_fit, room, shopping
from packs.matching.levers import Lever, levers
from packs.matching.purchases import Purchase, purchases
from packs.matching.question import Objective, Question
from packs.matching.search import answers, propose
from packs.matching.table import FINE_STEPS, CellTable, IntArray

_ITERATIONS = 20


@dataclass(frozen=True)
class Relaxation:
    """The least change of one thing asked, all else as asked, with which groups are found.

    `asked` names the field of the question, `was` what stood there, `does` what would do; None where no value of it
    alone would. `least` says whether the next smaller step is proven not to do; `not_enough` is the largest smaller
    value of which that is proven, None where it is of none. Between two steps nothing is said.
    """

    asked: str
    was: object
    does: object
    least: bool
    not_enough: object = None


@dataclass(frozen=True)
class ToLevel:
    """A cell to bring to another rest voltage: what it has [mV] and between what it should lie."""

    code: str
    rest_mv: float
    low_mv: float
    high_mv: float


@dataclass(frozen=True)
class Advice:
    """Why no groups were found and what would do.

    Attributes
    ----------
    usable, needed : int
        Cells.
    groups : int
        Groups asked.
    found, most : int
        Groups that were found, and the number that no arrangement can exceed.
    binding : tuple of str
        The smallest set of limits that together forbid the pack; empty where cells are lacking, or nothing is proven.
    relaxations : tuple of Relaxation
    levelling : tuple of ToLevel
        Cells to level and measure again, with which the voltage window can stay; empty where that does not help.
    fewest_levelled, fewest_bought : bool
        Whether fewer are proven not to do.
    purchases : tuple of Purchase
    weakest_mah : float or None
        The most that the weakest group was found to have, where a capacity was required.
    """

    usable: int
    needed: int
    groups: int
    found: int
    most: int
    binding: tuple[str, ...]
    relaxations: tuple[Relaxation, ...]
    levelling: tuple[ToLevel, ...]
    fewest_levelled: bool
    purchases: tuple[Purchase, ...]
    fewest_bought: bool
    weakest_mah: float | None

    @property
    def to_buy(self) -> int:
        """Cells to buy in all."""
        return sum(purchase.cells for purchase in self.purchases)


def advise(table: CellTable, question: Question) -> Advice:
    """Say why the question has no answer and what would give it one.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    Parameters
    ----------
    table : CellTable
    question : Question

    Returns
    -------
    Advice

    Raises
    ------
    packs.errors.ImpossibleValue
        A code asked for that is not in the table.

    References
    ----------
    Derived here: the number of groups that fit (``fitting.room``), asked again for each limit alone and loosened.
    """
    mask, _ = filters.usable(table, _unforced(question))
    cells, here = _fullest(table, question)
    limits = Limits.of(question)
    fits = len(here.groups) >= question.series
    weakest = _weakest(table, question) if fits and question.required_mah is not None else None
    stocked = Stocked((), (), fewest=True)
    short = here.most < question.series
    if not fits:
        stocked = shopping(cells, limits, question.series, here)
    level = None if fits else _levelled(table, question, cells, limits)
    return Advice(
        usable=int(mask.sum()),
        needed=question.cells,
        groups=question.series,
        found=len(here.groups),
        most=here.most,
        binding=_binding(cells, limits, question.series) if short else (),
        relaxations=tuple(_relaxations(table, question, weakest, short=short)),
        levelling=() if level is None else _to_level(table, cells, limits, level),
        fewest_levelled=short and level is not None and (level.fewest or int(level.level.sum()) == 1),
        purchases=purchases(table, question, cells, limits, stocked),
        fewest_bought=short and stocked.fewest,
        weakest_mah=weakest,
    )


def _unforced(question: Question) -> Question:
    return replace(question, must_use=())


def _fullest(table: CellTable, question: Question, *, all_or_none: bool = False) -> tuple[Candidates, Room]:
    """The cells of the kind that gives the most groups, and those groups."""
    mask, _ = filters.usable(table, _unforced(question))
    best: tuple[Candidates, Room] | None = None
    for kind in filters.kinds(table, question, mask):
        cells = candidates(table, kind.rows, question)
        fits = room(cells, Limits.of(question), question.series, all_or_none=all_or_none)
        if best is None or (fits.most, len(fits.groups), len(cells.rows)) > (
            best[1].most,
            len(best[1].groups),
            len(best[0].rows),
        ):
            best = cells, fits
    if best is None:
        nothing = np.empty(0, dtype=np.int64)
        empty = Candidates(nothing, nothing, nothing, nothing, nothing, nothing.astype(np.bool_), 1)
        return empty, Room(0, np.empty((0, question.parallel), dtype=np.int64))
    return best


def _binding(cells: Candidates, limits: Limits, series: int) -> tuple[str, ...]:
    """The smallest set of limits that is proven to leave too few groups."""
    if len(cells.rows) < series * limits.parallel:
        return ()
    apart = limits.apart()
    for many in range(1, len(apart) + 1):
        for some in combinations(apart, many):
            joined = _joined(limits, [one for _, one in some])
            if not may_fit(cells, joined, series) or room(cells, joined, series, all_or_none=True).most < series:
                return tuple(name for name, _ in some)
    return ()


def _joined(limits: Limits, some: Sequence[Limits]) -> Limits:
    joined = limits.none()
    for one in some:
        joined = Limits(
            limits.parallel,
            one.ratio or joined.ratio,
            one.window or joined.window,
            joined.voltage if one.voltage is None else one.voltage,
            joined.origin if one.origin is None else one.origin,
        )
    return joined


def _relaxations(table: CellTable, question: Question, weakest: float | None, *, short: bool) -> list[Relaxation]:
    """For each thing asked the least step with which groups are found.

    Where groups are found already, only the capacity required of them is too much.
    """
    if weakest is not None:
        return [Relaxation("required_mah", question.required_mah, weakest, least=False)]
    return [_relaxation(table, question, lever, short=short) for lever in levers(table, question)]


def _relaxation(table: CellTable, question: Question, lever: Lever, *, short: bool) -> Relaxation:
    """Found by bisection: looser is never worse. First what is ruled out at once, then, from there on, what is not.

    ``short`` says whether what is asked is itself proven to give too few groups.
    """
    was, low, high = getattr(question, lever.asked), 0, lever.steps
    last = _fullest(table, _loosened(question, lever, high), all_or_none=True)[1]
    if len(last.groups) < question.series:
        return Relaxation(lever.asked, was, None, least=last.most < question.series)
    ruled_out = high
    while ruled_out - low > 1:
        middle = (low + ruled_out) // 2
        if _may_fit(table, _loosened(question, lever, middle)):
            ruled_out = middle
        else:
            low = middle
    ruled_out, ahead = low if low or short else -1, 1
    while high - low > 1:
        middle = min(low + ahead, (low + high) // 2)
        here = _fullest(table, _loosened(question, lever, middle), all_or_none=True)[1]
        if len(here.groups) >= question.series:
            high = middle
        else:
            low, ahead = middle, 2 * ahead
            ruled_out = middle if here.most < question.series else ruled_out
    not_enough = lever.at(ruled_out) if ruled_out >= 0 else None
    return Relaxation(lever.asked, was, lever.at(high), least=ruled_out == high - 1, not_enough=not_enough)


def _loosened(question: Question, lever: Lever, step: int) -> Question:
    changes: dict[str, object] = {lever.asked: lever.at(step)}
    return replace(question, **changes)  # type: ignore[arg-type]  # one field, of the type its lever gives


def _may_fit(table: CellTable, question: Question) -> bool:
    """Whether some kind of cells might give all groups; False is proven."""
    mask, _ = filters.usable(table, _unforced(question))
    return any(
        may_fit(candidates(table, kind.rows, question), Limits.of(question), question.series)
        for kind in filters.kinds(table, question, mask)
    )


def most(question: Question) -> Question:
    """The same question, asking for the most capacity instead of a required one [mAh].

    References
    ----------
    Derived here: what is required can be had if the most that can be had reaches it.
    """
    return replace(question, objective=Objective.MOST_CAPACITY, required_mah=None)


def _weakest(table: CellTable, question: Question) -> float | None:
    """Capacity [mAh] of the weakest group that a short search finds; None where it finds none."""
    try:
        return propose(table, most(question), iterations=_ITERATIONS).weakest_mah
    except Infeasible:
        return None


def _levelled(table: CellTable, question: Question, cells: Candidates, limits: Limits) -> Levelled | None:
    """Fewest cells to level, or those that stand apart in the best deal without the voltage window."""
    if limits.voltage is None:
        return None
    without = room(cells, replace(limits, voltage=None), question.series)
    if without.most < question.series:
        return None
    fewest = levelled(cells, limits, question.series)
    if fewest is not None and fewest.fewest:
        return fewest
    deals = [_dealt(table, question, cells), without.groups]
    found = [levelled_as_dealt(cells, limits, dealt) for dealt in deals if len(dealt) == question.series]
    return min([one for one in (fewest, *found) if one is not None], key=lambda one: int(one.level.sum()), default=None)


def _dealt(table: CellTable, question: Question, cells: Candidates) -> IntArray:
    """The first deal without the voltage window as places among these cells; none where others are dealt."""
    nothing = np.empty((0, question.parallel), dtype=np.int64)
    try:
        dealt = next(answers(table, replace(most(question), ocv_window_mv=None), iterations=_ITERATIONS))
    except Infeasible:
        return nothing
    place = {row: here for here, row in enumerate(cells.rows.tolist())}
    if not all(row in place for group in dealt.groups for row in group):
        return nothing
    return np.array([[place[row] for row in group] for group in dealt.groups])


def _to_level(table: CellTable, cells: Candidates, limits: Limits, level: Levelled) -> tuple[ToLevel, ...]:
    found: list[ToLevel] = []
    for group, moved in zip(level.groups, level.level, strict=True):
        stay = cells.voltage[group[~moved]]
        high, low = int(stay.min()) + (limits.voltage or 0), int(stay.max()) - (limits.voltage or 0)
        found += [
            ToLevel(table.codes[cells.rows[cell]], float(cells.voltage[cell]) / FINE_STEPS, *_both(low, high))
            for cell in group[moved].tolist()
        ]
    return tuple(sorted(found, key=lambda one: one.code))


def _both(low: int, high: int) -> tuple[float, float]:
    """The half of what is possible that lies in its middle, so that two levelled cells go together too."""
    middle, quarter = (low + high) / 2, (high - low) / 4
    return (middle - quarter) / FINE_STEPS, (middle + quarter) / FINE_STEPS
