"""What is answered: groups, their figures, how far from the best they can be, and what to do before joining."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum

_TENTHS = 10


class Filter(StrEnum):
    """Why a cell could not take part."""

    REFUSED = "asked not to be used"
    QUARANTINED = "in quarantine"
    RESERVED = "reserved"
    NOT_KNOWN = "value not known"
    CAPACITY = "capacity"
    HEALTH = "health"
    SELF_DISCHARGE = "self-discharge"
    HISTORY = "history"
    DRIFT = "drifted from lot-mates"
    KIND = "does not go with the cells chosen"


@dataclass(frozen=True)
class Exclusion:
    """A cell that was left out before any matching, and why."""

    code: str
    reason: str
    filter: Filter


class LevelTo(StrEnum):
    """How cells are brought together before they are joined."""

    VOLTAGE = "to a voltage"
    CHARGE = "to equal charge"


@dataclass(frozen=True)
class Levelling:
    """A cell to level before its group is joined, or (code ``""``) a whole group before the series joints.

    `group` counts from 1. `target_mv` is the rest voltage to reach; None where the cells are to be brought to equal
    charge, because their rest voltage says too little about it.
    """

    group: int
    code: str
    rest_mv: float
    to: LevelTo
    target_mv: float | None


@dataclass(frozen=True)
class CurrentShare:
    """Share of its group's current that the cell carries which is loaded most, beside an even share."""

    code: str
    share: float
    even_share: float


@dataclass(frozen=True)
class Proposal:
    """Groups dealt, their figures, and how far from the best possible the weakest group can be at most.

    Attributes
    ----------
    groups : tuple of tuple of int
        Row numbers of the cell table, one tuple per group in series.
    group_capacity_mah, group_resistance_uohm : tuple of float
        Per group; the resistance [µΩ] is that of the cells in parallel, NaN where one is not known.
    weakest_mah, spread_mah : float
        Capacity of the weakest group; strongest minus weakest group.
    resistance_spread_uohm : float
        Largest minus smallest group resistance.
    bound_mah : float
        No arrangement of the usable cells under the limits has a weakest group above this.
    used_mah, least_used_mah : float
        Capacity of all cells used, and what no arrangement that reaches the required capacity can stay below.
    pack_capacity_p5_mah : float
        The pack's capacity, that of its weakest group, is below this in one case of twenty, by the repeatability of
        the tests alone.
    weakest_repeats_mah : float
        Standard deviation of the weakest group's capacity, the errors of its cells' tests added in squares: so far it
        repeats. Of equally weak groups that of the first.
    pack_capacity_p5_bound_mah : float
        No arrangement of the usable cells under the limits has that above this.
    worst_share : CurrentShare or None
        None where a resistance is not known.
    levelling : tuple of Levelling
    limiting : tuple of str
        What kept the weakest group from being stronger, the strictest first.
    excluded : tuple of Exclusion
        Every cell that could not take part, with its reason.
    """

    groups: tuple[tuple[int, ...], ...]
    group_capacity_mah: tuple[float, ...]
    group_resistance_uohm: tuple[float, ...]
    weakest_mah: float
    spread_mah: float
    resistance_spread_uohm: float
    bound_mah: float
    used_mah: float
    least_used_mah: float
    pack_capacity_p5_mah: float
    weakest_repeats_mah: float
    pack_capacity_p5_bound_mah: float
    worst_share: CurrentShare | None
    levelling: tuple[Levelling, ...]
    limiting: tuple[str, ...]
    excluded: tuple[Exclusion, ...]

    @property
    def pack_capacity_mah(self) -> float:
        """Capacity of the pack as predicted; by definition that of its weakest group, which ends the discharge of all."""
        return self.weakest_mah

    @property
    def gap_mah(self) -> float:
        """Bound minus weakest group: 0 means that the weakest group is proven best."""
        return (round(self.bound_mah * _TENTHS) - round(self.weakest_mah * _TENTHS)) / _TENTHS

    @property
    def p5_gap_mah(self) -> float:
        """By how much the capacity that is sure in nineteen cases of twenty could be higher at most [mAh]."""
        return max(self.pack_capacity_p5_bound_mah - self.pack_capacity_p5_mah, 0.0)

    @property
    def finer_than_tests(self) -> bool:
        """Whether the gap is smaller than what the tests can tell apart: how far the weakest group repeats."""
        return 0 < self.gap_mah < self.weakest_repeats_mah

    @property
    def gap_percent(self) -> float:
        """The gap as a share of the bound [%]."""
        return 100.0 * self.gap_mah / self.bound_mah

    @property
    def excluded_by(self) -> dict[str, int]:
        """How many cells each filter left out."""
        return dict(Counter(exclusion.filter.value for exclusion in self.excluded))
