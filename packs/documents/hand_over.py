"""The hand-over receipt: what the customer takes home, and how to treat it."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.documents.heading import Heading
from packs.documents.pack import Limit, Mixed, PackRating
from packs.terms import FeeState


@dataclass(frozen=True)
class Whereabouts:
    """How many removed cells are where."""

    count: int
    where: str


@dataclass(frozen=True)
class GoesBack:
    """Why a device goes back as it came, what was found in its pack, and the fee for its examination [currency] with tax.

    Each of ``faults`` explains the readings by itself, in words. ``fee_is`` says what became of the fee, where that is
    known when the paper is issued.
    """

    reason: str
    fee: Decimal | None = None
    currency: str = ""
    faults: tuple[str, ...] = ()
    fee_is: FeeState | None = None


@dataclass(frozen=True)
class HandOverReceipt:
    """The hand-over receipt.

    Of a device that ``goes_back`` without a rebuild nothing else is said than that: no pack left, none was tested.

    ``received_by`` is empty where it is written by hand. ``mixed`` is there where only groups were
    replaced. ``papers`` are the codes and kinds of what was issued before.
    ``charge_percent`` is the most charge that the pack can have by its final test [percent],
    None where that is not known.
    """

    heading: Heading
    customer: str
    complaint: str
    taken_in_at: datetime
    found: PackRating | None
    left: PackRating | None
    bought: int
    reclaimed: int
    measured_capacity_mah: Decimal | None
    removed_owner: str
    removed: tuple[Whereabouts, ...]
    papers: tuple[tuple[str, str], ...]
    received_by: str
    charger_voltage_mv: Decimal | None
    charge_temperature: Limit | None
    storage: Limit | None
    mixed: Mixed | None = None
    charge_percent: int | None = None
    goes_back: GoesBack | None = None
