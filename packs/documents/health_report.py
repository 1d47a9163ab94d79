"""The health report: what a pack gave that was tested and not rebuilt."""

from dataclasses import dataclass
from decimal import Decimal

from packs.documents.heading import Heading
from packs.documents.test_report import AsFound, Checked, CheckResult, StepDone

_GROUPS_MISSING = {True: "the groups at rest", False: "some of the groups at rest"}


@dataclass(frozen=True)
class PackTest:
    """What was measured of the closed pack; None where it was not.

    ``capacity_mah`` was delivered at ``current_ma`` down to ``end_mv``, at ``temperature_mdegc`` around the pack.
    ``resistance_uohm`` is that of the whole pack, taken by ``resistance_method``.
    """

    capacity_mah: Decimal | None
    current_ma: Decimal | None
    end_mv: Decimal | None
    temperature_mdegc: Decimal | None
    pack_rest_mv: Decimal | None
    groups_mv: tuple[Decimal | None, ...]
    resistance_uohm: Decimal | None
    resistance_method: str


@dataclass(frozen=True)
class HealthReport(Checked):
    """The health report. Rated values and measured ones stand apart."""

    heading: Heading
    customer: str
    complaint: str
    found: AsFound
    tested: PackTest
    instruments: tuple[str, ...]
    checks: tuple[CheckResult, ...]
    steps: tuple[StepDone, ...]

    @property
    def health(self) -> Decimal | None:
        """Measured capacity as a share of the rated capacity [dimensionless]; None where the capacity was not measured."""
        measured = self.tested.capacity_mah
        return None if measured is None else measured / self.found.rating.rated_capacity_mah

    @property
    def lowest_group(self) -> int | None:
        """Number of the group with the lowest rest voltage; None where all are equal or one was not measured."""
        known = [value for value in self.tested.groups_mv if value is not None]
        if not known or len(known) < len(self.tested.groups_mv) or min(known) == max(known):
            return None
        return 1 + known.index(min(known))

    @property
    def groups(self) -> tuple[tuple[Decimal | None, Decimal | None], ...]:
        """Rest voltages of each group [mV]: as found, and at the test."""
        return tuple(zip(self.found.groups_mv, self.tested.groups_mv, strict=True))

    @property
    def not_measured(self) -> tuple[str, ...]:
        """What the report cannot say, since nobody measured it."""
        tested = self.tested
        asked = (
            ("the capacity of the pack, and with it its health", tested.capacity_mah is None),
            ("the end voltage of the discharge", tested.capacity_mah is not None and tested.end_mv is None),
            ("the temperature around the pack", tested.capacity_mah is not None and tested.temperature_mdegc is None),
            ("the pack at rest", tested.pack_rest_mv is None),
            (_GROUPS_MISSING[all(value is None for value in tested.groups_mv)], None in tested.groups_mv),
            ("the resistance of the pack", tested.resistance_uohm is None),
        )
        return (
            *(words for words, missing in asked if missing),
            "single cells, which stayed in the pack",
            "self-discharge",
        )
