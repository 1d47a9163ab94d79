"""Packs whose groups differ in their number of cells."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from packs.errors import ImpossibleValue

if TYPE_CHECKING:
    from packs.topology import Arrangement

    AnyArrangement: TypeAlias = "Arrangement | UnequalGroups"


@dataclass(frozen=True)
class UnequalGroups:
    """Groups in series with a number of cells of their own each, from the negative end; written 3s(4,4,3)p.

    Attributes
    ----------
    sizes : tuple of int
        Cells in parallel in each group, shape (series,).

    Raises
    ------
    ImpossibleValue
        There is no group, or one without a cell.

    References
    ----------
    Arithmetic: a count.

    Examples
    --------
    >>> pack = UnequalGroups((4, 4, 3))
    >>> str(pack), pack.series, pack.cells
    ('3s(4,4,3)p', 3, 11)
    """

    sizes: tuple[int, ...]

    def __post_init__(self) -> None:
        if not self.sizes or min(self.sizes) < 1:
            raise ImpossibleValue("A pack has at least one group, and every group at least one cell.")

    def __str__(self) -> str:
        return f"{self.series}s({','.join(map(str, self.sizes))})p"

    @property
    def series(self) -> int:
        """Number of groups in series."""
        return len(self.sizes)

    @property
    def cells(self) -> int:
        """Number of cells in the pack."""
        return sum(self.sizes)


def group_sizes(arrangement: "AnyArrangement") -> tuple[int, ...]:
    """Return the number of cells of each group, from the negative end.

    Parameters
    ----------
    arrangement : Arrangement or UnequalGroups
        What the pack is built as.

    Returns
    -------
    tuple of int
        Shape (series,).

    Raises
    ------
    ImpossibleValue
        There is no group, or one without a cell.

    References
    ----------
    Arithmetic: a count.

    Examples
    --------
    >>> group_sizes(UnequalGroups((4, 3)))
    (4, 3)
    """
    if isinstance(arrangement, UnequalGroups):
        return arrangement.sizes
    if arrangement.series < 1 or arrangement.parallel < 1:
        raise ImpossibleValue("a pack has at least one group of at least one cell")
    return (arrangement.parallel,) * arrangement.series
