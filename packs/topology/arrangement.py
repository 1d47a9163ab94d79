"""The arrangement of a pack, groups in series of cells in parallel."""

import re
from dataclasses import dataclass

from packs.errors import ImpossibleValue, ParseError

_ARRANGEMENT = re.compile(r"([0-9]{1,3})\s*s(?:\s*([0-9]{1,3})\s*p)?", re.IGNORECASE)


@dataclass(frozen=True)
class Arrangement:
    """Groups in series, cells in parallel within each group; written 4s2p."""

    series: int
    parallel: int

    def __post_init__(self) -> None:
        if self.series < 1 or self.parallel < 1:
            raise ImpossibleValue(f"A pack has at least one group and one cell in it, not {self}.")

    def __str__(self) -> str:
        return f"{self.series}s{self.parallel}p"

    @property
    def cells(self) -> int:
        """Number of cells in the pack."""
        return self.series * self.parallel


def parse_arrangement(text: str) -> Arrangement:
    """Read an arrangement as the trade writes it; "4s" alone means one cell in each group.

    Raises
    ------
    ParseError
        The text is not an arrangement such as 4s2p, or a number in it is zero.

    References
    ----------
    Common practice, no source: the notation of the trade.

    Examples
    --------
    >>> str(parse_arrangement("10S 3P"))
    '10s3p'
    """
    match = _ARRANGEMENT.fullmatch(text.strip())
    series, parallel = (int(match[1]), int(match[2] or 1)) if match else (0, 0)
    if not series or not parallel:
        raise ParseError(f"“{text.strip()}” is not an arrangement; expected one such as 4s2p.")
    return Arrangement(series, parallel)
