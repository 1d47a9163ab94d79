"""What is answered where one cell of a plan is replaced."""

from __future__ import annotations

from dataclasses import dataclass

from packs.matching.answer import Levelling


@dataclass(frozen=True)
class PlaceChange:
    """One place of the plan that changes: its group, counted from 1, and the cells that leave and enter."""

    group: int
    out: str
    into: str


@dataclass(frozen=True)
class Replacement:
    """A plan with one cell taken out and as few places changed as can be.

    Attributes
    ----------
    changes : tuple of PlaceChange
    groups : tuple of tuple of str
        Cell codes, place by place as in the plan given.
    group_capacity_mah : tuple of float
    weakest_mah, weakest_before_mah, spread_mah : float
        Capacity of the weakest group, the same in the plan given (NaN where the cell taken out was not measured), and
        strongest minus weakest group.
    bound_mah : float
        No replacement with as few changes has a weakest group above this; no replacement at all where the search
        ended early.
    proven : bool
        Whether every replacement with fewer changes, and every one with as many, was tried.
    levelling : tuple of Levelling
        What is levelled before the changed groups are joined.
    """

    changes: tuple[PlaceChange, ...]
    groups: tuple[tuple[str, ...], ...]
    group_capacity_mah: tuple[float, ...]
    weakest_mah: float
    weakest_before_mah: float
    spread_mah: float
    bound_mah: float
    proven: bool
    levelling: tuple[Levelling, ...]

    @property
    def gap_mah(self) -> float:
        """Bound minus weakest group: 0 means that none with as few changes is better."""
        return round(self.bound_mah - self.weakest_mah, 1)
