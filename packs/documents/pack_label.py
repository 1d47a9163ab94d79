"""The label of a pack that was built here, and what goes with it: what to cover, whether it is a new type, how it travels."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.documents.change import RatingChange
from packs.documents.heading import Heading
from packs.documents.market import OnTheMarket
from packs.documents.pack import Limit, Mixed, PackRating
from packs.terms import LITHIUM_ION, NICKEL, Chemistry

BIN_WHERE_NOT_KNOWN_UM = Decimal(15_000)
"""Side of the printed bin where the pack's own size does not follow from the cells [µm]; the shop's own choice."""


@dataclass(frozen=True)
class PackLabel:
    """The label of a pack. Energy and capacity are what its cells are rated at, never what was measured.

    ``found`` and ``change`` are None where no old pack came in; ``mixed`` is there where only groups were replaced.
    ``charge_current_limit_ma`` is None where the cells' data sheet does not say. ``built_on`` is the day the pack was proved.
    """

    heading: Heading
    pack: PackRating
    built_on: date
    charger_voltage_mv: Decimal
    charge_current_limit_ma: Decimal | None
    continuous_current_ma: Decimal
    charge_temperature: Limit | None
    market: OnTheMarket
    found: PackRating | None = None
    change: RatingChange | None = None
    mixed: Mixed | None = None

    @property
    def family(self) -> str:
        """The family of the chemistry in words, empty where its own name says it."""
        if self.pack.chemistry in LITHIUM_ION:
            return "Lithium-ion"
        if self.pack.chemistry == Chemistry.NICD:
            return "Nickel-cadmium"
        return "Nickel-metal hydride" if self.pack.chemistry in NICKEL else ""

    @property
    def lithium(self) -> bool:
        """Whether carriage treats it as a lithium-ion battery."""
        return self.pack.chemistry in LITHIUM_ION

    @property
    def bin_um(self) -> Decimal | None:
        """The side of the crossed-out bin as it is printed [µm]; None where none stands on the pack."""
        if not self.market.bin_asked or self.market.bin_on_packaging:
            return None
        return self.market.bin_side_um or BIN_WHERE_NOT_KNOWN_UM
