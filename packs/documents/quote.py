"""The quote: what is offered, what it rests on, and what is not promised."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.documents.heading import Heading
from packs.documents.pack import PackRating
from packs.terms import RemovedWay, Verdict


@dataclass(frozen=True)
class QuoteLine:
    """One line of the price, before tax."""

    label: str
    detail: str
    price: Decimal


@dataclass(frozen=True)
class Quote:
    """The quote. ``tax_share`` is a share [dimensionless]; amounts are in ``currency``, exact as printed.

    ``expected_capacity_mah`` is None where it is not foretold; ``board_unknown`` says that nobody knows what the board
    does while it has no supply. ``replaced`` numbers the groups of a repair; none where all are built anew.
    ``ip_code`` is what the case is marked with, and keeps no longer once it was opened.
    """

    heading: Heading
    customer: str
    complaint: str
    offered: PackRating
    expected_capacity_mah: Decimal | None
    stays: str
    limits_of_use: str
    board_unknown: bool
    removed: RemovedWay
    verdict: Verdict
    reasons: tuple[str, ...]
    currency: str
    lines: tuple[QuoteLine, ...]
    net: Decimal
    tax_share: Decimal
    tax: Decimal
    total: Decimal
    examination_fee: Decimal
    valid_until: date
    replaces: str = ""
    replaced: tuple[int, ...] = ()
    ip_code: str = ""

    @property
    def tax_percent(self) -> Decimal:
        """The rate of the tax in percent, exact as it was stated [dimensionless]."""
        return self.tax_share * 100
