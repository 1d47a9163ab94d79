"""The test report: what was measured, before and after."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.documents.change import RatingChange
from packs.documents.heading import Heading
from packs.documents.market import OnTheMarket
from packs.documents.pack import Group, Limit, Mixed, Outline, PackRating, repaired
from packs.terms import LITHIUM_ION, JointMethod, LotOrigin, Outcome, Severity, Stage, StripMaterial


@dataclass(frozen=True)
class AsFound:
    """The pack as it came in."""

    rating: PackRating
    joint_method: JointMethod | None
    housing: str
    board: str
    note: str
    pack_mv: Decimal | None
    groups_mv: tuple[Decimal | None, ...]


@dataclass(frozen=True)
class ChargeLook:
    """One look at the pack during its first charge."""

    point: str
    voltage_mv: Decimal | None
    current_ma: Decimal | None
    temperature_mdegc: Decimal | None


@dataclass(frozen=True)
class CurvePoint:
    """One point of a discharge, forecast or measured: charge taken [mAh] and voltage of the pack [mV]."""

    taken_mah: Decimal
    pack_mv: Decimal


@dataclass(frozen=True)
class Proof:
    """What the finished pack gave. ``least_capacity_mah`` is what the final test asked for.

    ``outlet`` is the window that the outlet had to keep, None where the device has none. ``supervised_by`` is who stayed
    beside the pack at its first charge, empty where the job does not say. ``forecast_only``: no capacity was measured.
    ``forecast_low_mah`` is what the pack falls short of in one case of twenty, by a repeatability of ``test_share`` of the
    capacity tests. ``curve`` is the forecast discharge at ``curve_ma``; ``loaded_mv`` was read under ``loaded_ma``.
    ``measured_curve`` is the discharge that was measured, where its points are kept.
    ``charge_percent`` is the most charge that the pack can have by its final test [percent],
    None where that is not known.
    """

    conditions: str
    forecast_mah: Decimal | None
    least_capacity_mah: Decimal | None
    capacity_mah: Decimal | None
    pack_rest_mv: Decimal | None
    outlet_mv: Decimal | None
    outlet: Limit | None
    charger_mv: Decimal | None
    looks: tuple[ChargeLook, ...]
    instruments: tuple[str, ...]
    supervised_by: str = ""
    forecast_only: bool = False
    forecast_low_mah: Decimal | None = None
    test_share: Decimal | None = None
    curve: tuple[CurvePoint, ...] = ()
    curve_ma: Decimal | None = None
    loaded_ma: Decimal | None = None
    loaded_mv: Decimal | None = None
    charge_percent: int | None = None
    measured_curve: tuple[CurvePoint, ...] = ()


@dataclass(frozen=True)
class CheckResult:
    """What one rule found at a stage. Where it held at several places it is one result with their number."""

    stage: Stage
    what: str
    outcome: Outcome
    severity: Severity
    places: int
    limit: str
    message: str


class Checked:
    """A report on what was checked."""

    checks: tuple[CheckResult, ...]

    @property
    def held(self) -> tuple[CheckResult, ...]:
        """The checks that held."""
        return tuple(check for check in self.checks if check.outcome is Outcome.PASS)

    @property
    def told(self) -> tuple[CheckResult, ...]:
        """The checks that did not hold, or of which nobody knows."""
        return tuple(check for check in self.checks if check.outcome is not Outcome.PASS)


@dataclass(frozen=True)
class StepDone:
    """Who finished a step, and when; ``said`` is who and what was named in it, such as who looked a second time."""

    stage: Stage
    by: str
    at: datetime
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class FromPaper:
    """Readings of a step that stood on paper first: when they were taken, when they were entered, and by whom."""

    stage: Stage
    count: int
    measured_at: datetime
    entered_at: datetime
    by: str


@dataclass(frozen=True)
class StoppedTry:
    """A try of a step that was stopped before another one did it: who was at it, until when, and what stopped it."""

    stage: Stage
    number: int
    by: str
    at: datetime
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class TestReport(Checked):
    """The test report. Rated values and measured ones stand apart.

    ``found`` and ``change`` are None where no old pack came in: the shop built this one for its stock.
    ``mixed`` is there where only groups were replaced.
    """

    heading: Heading
    customer: str
    found: AsFound | None
    left: PackRating
    change: RatingChange | None
    joint_method: JointMethod
    strip_material: StripMaterial
    outline: Outline
    groups: tuple[Group, ...]
    proof: Proof
    checks: tuple[CheckResult, ...]
    steps: tuple[StepDone, ...]
    charger_voltage_mv: Decimal
    charge_temperature: Limit | None
    storage: Limit | None
    stopped: tuple[StoppedTry, ...] = ()
    from_paper: tuple[FromPaper, ...] = ()
    market: OnTheMarket | None = None
    mixed: Mixed | None = None

    @property
    def done_again(self) -> tuple[tuple[Stage, int], ...]:
        """Steps of which tries were stopped, and how many."""
        return tuple(Counter(one.stage for one in self.stopped).items())

    @property
    def repairs(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What was repaired in the tester files behind the figures, with the cells it concerns."""
        return repaired(self.groups)

    @property
    def lithium(self) -> bool:
        """Whether carriage treats the pack as a lithium-ion battery."""
        return self.left.chemistry in LITHIUM_ION

    @property
    def bought(self) -> int:
        """How many cells were bought."""
        return sum(cell.origin is LotOrigin.BOUGHT for group in self.groups for cell in group.cells)

    @property
    def reclaimed(self) -> int:
        """How many cells were in a pack before."""
        return self.placed - self.bought

    @property
    def placed(self) -> int:
        """How many cells went in."""
        return sum(len(group.cells) for group in self.groups)
