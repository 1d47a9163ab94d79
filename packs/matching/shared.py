"""What is answered about several packs out of one stock."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from packs.matching.answer import Proposal


class Shares(StrEnum):
    """Which pack comes first where several draw on one stock."""

    FAIR = "the weakest pack as good as can be"
    BY_PRIORITY = "one place after the other, packs of one place shared fairly"


@dataclass(frozen=True)
class SharedStock:
    """Packs out of one stock, each with its proposal.

    Packs whose groups have equally many cells compare by their weakest groups [mAh]: ``alone_mah`` is empty. Others
    compare by the share that their weakest group has of what it would have had out of the whole stock alone.

    Attributes
    ----------
    shares : Shares
    places : tuple of int
        Place of each pack; one for all where they are shared fairly.
    proposals : tuple of Proposal
        In the order of the questions. The bound of each is that of its pack alone with the whole stock.
    alone_mah : tuple of float
        Weakest group [mAh] of each pack as found when it had the whole stock to itself.
    levels, bounds : tuple of float
        Per pack its weakest group [mAh], or its share of ``alone_mah``, and what no arrangement can exceed in which
        the packs settled before it are as good as here. Packs that are asked alike are settled as one: their level
        and bound are those of the weaker.
    order : tuple of int
        Places of the packs in the order in which they were settled: fair, the weakest first.
    """

    shares: Shares
    places: tuple[int, ...]
    proposals: tuple[Proposal, ...]
    alone_mah: tuple[float, ...]
    levels: tuple[float, ...]
    bounds: tuple[float, ...]
    order: tuple[int, ...]

    @property
    def gap(self) -> float:
        """Bound minus level of the pack settled first [mAh, or share]: 0 means that it is proven best."""
        first = self.order[0]
        return max(round(self.bounds[first] - self.levels[first], 9), 0.0)
