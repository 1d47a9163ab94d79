"""The groups that stay in a pack, and what is answered where others are built anew beside them."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from packs.errors import ImpossibleValue
from packs.matching.answer import LevelTo, Proposal


@dataclass(frozen=True)
class StandingGroup:
    """A group that stays in its pack, measured as a whole: capacity [mAh], resistance [µΩ], rest voltage [mV].

    None stands for what is not known.

    Raises
    ------
    packs.errors.ImpossibleValue
        A capacity or resistance that is not above zero, a voltage below zero.
    """

    capacity_mah: float | None = None
    resistance_uohm: float | None = None
    rest_mv: float | None = None

    def __post_init__(self) -> None:
        for name, value, least in (
            ("capacity", self.capacity_mah, 0.05),
            ("resistance", self.resistance_uohm, 0.0005),
            ("rest voltage", self.rest_mv, 0.0),
        ):
            if value is not None and not (isfinite(value) and value >= least):
                raise ImpossibleValue(f"The {name} of a group that stays cannot be {value:g}.")


@dataclass(frozen=True)
class Repair:
    """New groups beside those that stay.

    Attributes
    ----------
    proposal : Proposal
        The new groups. Its levelling brings each new cell to the groups that stay where their voltages are known.
    asked_mah : float or None
        The least capacity known of a group that stays: what a new group holds so as not to limit the pack.
    pack_weakest_mah, pack_bound_mah : float
        The weakest group of all that are known, and what no choice of cells can lift it above.
    resistance_target_uohm : float or None
        The middle of the groups that stay; None where one is not known.
    resistance_off_uohm : tuple of float
        By how much each new group lies above (below: negative) the target; empty without one.
    level_to : LevelTo
    level_mv : float or None
        Rest voltage that the new cells are brought to, the middle of the groups that stay; None where one of them is
        not known.
    standing_to_level : tuple of int
        Which of the groups that stay, counted from 1 as given, lie too far from the middle themselves.
    unmeasured : tuple of str
        New cells whose rest voltage is not known.
    """

    proposal: Proposal
    asked_mah: float | None
    pack_weakest_mah: float
    pack_bound_mah: float
    resistance_target_uohm: float | None
    resistance_off_uohm: tuple[float, ...]
    level_to: LevelTo
    level_mv: float | None
    standing_to_level: tuple[int, ...]
    unmeasured: tuple[str, ...]

    @property
    def falls_short(self) -> bool:
        """Whether a new group limits the pack that those which stay would not."""
        return self.asked_mah is not None and self.proposal.weakest_mah < self.asked_mah
