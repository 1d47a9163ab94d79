"""Bring the group resistances together while every capacity stays between the weakest and the strongest group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packs.matching.deal import FREE, Deal, in_float
from packs.matching.improve import Search
from packs.matching.moves import choices
from packs.matching.table import BoolArray, FloatArray, IntArray

CLOSE_ENOUGH = 0.005
"""Group resistances this share apart are alike: meters tell them no better (common practice, no source)."""
# Chosen by trial on stored stocks; a deal is valid with any others.
_LEAST_PARALLEL = 3
_OPENED = 6
_KEPT, _JUDGED = 80, 40
_PATIENCE = 100
_MOVES = 4
_SIEMENS = 1e14


def align(search: Search) -> None:
    """Bring the group resistances together by changing cells between the two groups farthest apart.

    Capacities [steps of 0.1 mAh], resistances [nΩ].

    References
    ----------
    Derived here: exchange of cells.
    """
    if not _comparable(search.deal):
        return
    state = _State.of(search.deal)
    while search.spend():
        swap = _aligning_swap(state)
        if swap is None:
            break
        search.deal.swap(*swap)
    _keep(search)


def align_closer(search: Search) -> None:
    """Deal the worst group anew with free cells or with two others, until all are alike or nothing more is found.

    Capacities [steps of 0.1 mAh], resistances [nΩ]; groups of fewer than three cells have too few ways to be dealt. A
    move takes a third of a millisecond: there are four times as many of them as of others.

    References
    ----------
    Derived here: of three groups every first one is enumerated, and with the best of them every second and third.
    """
    deal = search.deal
    if deal.groups.shape[1] < _LEAST_PARALLEL or not _comparable(deal):
        return
    search.moves *= _MOVES
    state, fruitless = _State.of(deal), 0
    while fruitless < _PATIENCE and not state.alike() and search.spend():
        group = (
            int(np.abs(state.off()).argmax()) if fruitless < _PATIENCE // 2 else search.rnd.randrange(len(deal.sums))
        )
        if _from_free(state, group) or _among(state, search, group):
            fruitless = 0
        else:
            fruitless += 1
    _keep(search)


@dataclass(frozen=True)
class _State:
    """A deal, the conductance of its cells, and the capacities [steps] between which every group stays."""

    deal: Deal
    conductance: FloatArray
    low: int
    high: int

    @staticmethod
    def of(deal: Deal) -> _State:
        ohm = deal.cells.resistance
        # In whole numbers, whose sums are the same on every processor.
        conductance = np.rint(_SIEMENS / np.where(ohm > 0, ohm, 1))
        return _State(deal, conductance, deal.weakest, int(deal.sums.max()))

    def siemens(self) -> FloatArray:
        """Conductance of each group."""
        found: FloatArray = self.conductance[self.deal.groups].sum(1)
        return found

    def off(self) -> FloatArray:
        """How far each group is from their mean."""
        siemens = self.siemens()
        return siemens - siemens.mean()

    def alike(self) -> bool:
        """Whether no two groups differ by more than a meter tells."""
        siemens = self.siemens()
        return bool(siemens.max() <= siemens.min() * (1 + CLOSE_ENOUGH))

    def within(self, sums: FloatArray | IntArray) -> BoolArray:
        """Whether capacities [steps] stay between the weakest and the strongest group."""
        inside: BoolArray = (sums >= self.low) & (sums <= self.high)
        return inside


def _comparable(deal: Deal) -> bool:
    return len(deal.sums) > 1 and bool((deal.cells.resistance[deal.groups] > 0).all())


def _keep(search: Search) -> None:
    search.best, search.groups = search.deal.rank, search.deal.groups.copy()


def _aligning_swap(state: _State) -> tuple[int, int] | None:
    """The change between the groups of greatest and least resistance that brings these two closest together."""
    deal, siemens = state.deal, state.siemens()
    one, other = int(siemens.argmin()), int(siemens.argmax())
    places, others = deal.groups[one], deal.groups[other]
    gain = deal.cells.capacity[others][None, :] - deal.cells.capacity[places][:, None]
    kept = state.within(deal.sums[one] + gain) & state.within(deal.sums[other] - gain)
    kept &= deal.may_take(places, others) & deal.may_take(others, places).T
    apart = siemens[other] - siemens[one]
    after = np.abs(apart - 2 * (state.conductance[others][None, :] - state.conductance[places][:, None]))
    after[~kept] = np.inf
    place, into = divmod(int(after.argmin()), len(others))
    better = after[place, into] < apart * (1 - 1e-9)
    return (int(places[place]), int(others[into])) if better else None


def _from_free(state: _State, group: int) -> bool:
    """Change one cell of a group for the free one that brings it nearest to the mean; False where none does."""
    deal, off = state.deal, float(state.off()[group])
    places, free = deal.groups[group], np.flatnonzero((deal.home == FREE) & (deal.cells.resistance > 0))
    if not len(free):
        return False
    gain = deal.cells.capacity[free][None, :] - deal.cells.capacity[places][:, None]
    kept = state.within(deal.sums[group] + gain) & deal.may_take(places, free) & ~deal.cells.forced[places][:, None]
    after = np.abs(off + state.conductance[free][None, :] - state.conductance[places][:, None])
    after[~kept] = np.inf
    place, into = divmod(int(after.argmin()), len(free))
    if not after[place, into] < abs(off) * (1 - 1e-6):
        return False
    deal.swap(int(places[place]), int(free[into]))
    return True


def _among(state: _State, search: Search, group: int) -> bool:
    """Deal a group and two others anew; False where no other deal of them lies closer to the mean."""
    deal, rnd = state.deal, search.rnd
    others = [one for one in range(len(deal.sums)) if one != group]
    groups = np.array([group, *rnd.sample(others, min(2, len(others)))])
    count = deal.groups.shape[1]
    opened = min(count, _OPENED)
    places = np.array([sorted(rnd.sample(range(count), opened)) for _ in groups])
    stays = np.ones((len(groups), count), dtype=np.bool_)
    np.put_along_axis(stays, places, False, axis=1)
    current = deal.groups[groups]
    kept, pool = current[stays].reshape(len(groups), -1), current[~stays]
    mean = float(state.siemens().mean())
    now = float((state.off()[groups] ** 2).sum())
    cost, dealt = _deals(state, pool, kept, mean, opened)
    for best in np.argsort(cost, kind="stable")[:_JUDGED].tolist():
        if not cost[best] < now * (1 - 1e-6):
            return False
        members = np.concatenate([kept, dealt[best]], axis=1)
        if not deal.limits.any or deal.limits.keep(deal.cells, members).all():
            deal.replace(groups, members)
            return True
    return False


def _deals(state: _State, pool: IntArray, kept: IntArray, mean: float, opened: int) -> tuple[FloatArray, IntArray]:
    """All deals looked at: what each costs (n,), and the cells that each gives to the opened places (n, groups, opened)."""
    capacity, conductance = in_float(state.deal.cells.capacity), state.conductance
    whole, there = capacity[kept].sum(1), conductance[kept].sum(1) - mean
    first, left = np.empty((1, 0), dtype=np.int64), pool[None, :]
    cost = np.zeros(1)
    if len(kept) > 2:
        taken, rest, member = choices(len(pool), opened)
        inside = np.flatnonzero(state.within(whole[0] + capacity[pool] @ member))
        off = there[0] + (conductance[pool] @ member)[inside]
        best = np.argsort(np.abs(off), kind="stable")[:_KEPT]
        first, left, cost = pool[taken[inside[best]]], pool[rest[inside[best]]], off[best] ** 2
        whole, there = whole[1:], there[1:]
    taken, rest, member = choices(left.shape[1], opened)
    one, two = capacity[left] @ member, conductance[left] @ member
    fits = state.within(whole[0] + one) & state.within(whole[1] + capacity[left].sum(1)[:, None] - one)
    cost = cost[:, None] + (there[0] + two) ** 2 + (there[1] + conductance[left].sum(1)[:, None] - two) ** 2
    at, way = np.nonzero(fits)
    parts = [np.take_along_axis(left[at], chosen[way], axis=1) for chosen in (taken, rest)]
    if first.shape[1]:
        parts.insert(0, first[at])
    found: IntArray = np.stack(parts, axis=1) if len(at) else np.empty((0, len(kept), opened), dtype=np.int64)
    return cost[fits], found
