"""The job card: what the bench works by."""

from dataclasses import dataclass
from decimal import Decimal

from packs.documents.heading import Heading
from packs.documents.pack import CellToLevel, Group, Limit, Mixed, Outline, PackRating, WayStated, repaired
from packs.terms import DeviceClass, Face, JointMethod, Stage, StripMaterial


@dataclass(frozen=True)
class Target:
    """The pack to be built, and the currents and voltages it has to live with.

    ``cell_current_limit_ma`` and ``charge_current_limit_ma`` are what counts of the cell's data sheet: the first for one
    cell, the second for the whole pack; None where the sheet does not say. ``c_rate`` is in 1/h. ``charger_limit_mv`` is
    what counts of the pack's highest voltage; None on papers from before a shop could set it.
    """

    rating: PackRating
    joint_method: JointMethod
    strip_material: StripMaterial
    strip_width_um: int
    strip_thickness_um: int
    continuous_current_ma: Decimal
    cell_current_ma: Decimal
    cell_current_limit_ma: Decimal | None
    c_rate: Decimal
    charger_voltage_mv: Decimal
    charge_current_limit_ma: Decimal | None
    outlet_voltage_mv: Decimal | None
    dropout_mv: Decimal | None
    charger_limit_mv: Decimal | None = None
    strip_layers: int = 1
    way: WayStated | None = None


@dataclass(frozen=True)
class StripJoints:
    """One strip or bar, the face it lies on and how many joints it takes."""

    number: int
    face: Face
    joints: int


@dataclass(frozen=True)
class StripCut:
    """Pieces of strip of one length, so many of them longer by a solder tab."""

    length_um: int
    pieces: int
    with_tab: int


@dataclass(frozen=True)
class Blank:
    """A value to be written by hand, in its unit."""

    label: str
    unit: str


@dataclass(frozen=True)
class Slots:
    """Places for readings: every row takes the same blanks."""

    rows: tuple[str, ...]
    blanks: tuple[Blank, ...]


@dataclass(frozen=True)
class CardStep:
    """One step of the card: what must hold, what is ticked, what is written down, what to beware of."""

    number: int
    stage: Stage
    limits: tuple[Limit, ...]
    ticks: tuple[str, ...]
    slots: tuple[Slots, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class JobCard:
    """The job card. Nothing on it names the customer: the bench does not need to know.

    ``mixed`` is there where only groups are replaced.
    """

    heading: Heading
    device_class: DeviceClass
    complaint: str
    outline: Outline
    target: Target
    groups: tuple[Group, ...]
    strips: tuple[StripJoints, ...]
    warnings: tuple[str, ...]
    steps: tuple[CardStep, ...]
    cuts: tuple[StripCut, ...] = ()
    mixed: Mixed | None = None
    to_level: tuple[CellToLevel, ...] = ()

    @property
    def joint_count(self) -> int:
        """How many joints the pack takes."""
        return sum(strip.joints for strip in self.strips)

    @property
    def repairs(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What was repaired in the tester files behind the figures, with the cells it concerns."""
        return repaired(self.groups)

    @property
    def always(self) -> tuple[str, ...]:
        """The cautions that hold for every step."""
        common = self.steps[0].cautions if self.steps else ()
        return tuple(caution for caution in common if all(caution in step.cautions for step in self.steps))

    @property
    def cautioned(self) -> tuple[tuple[CardStep, tuple[str, ...], tuple[int, ...]], ...]:
        """Every step with the cautions that stand at it first, and the steps whose cautions hold for it again."""
        first: dict[str, int] = {}
        found = []
        for step in self.steps:
            own = [caution for caution in step.cautions if caution not in self.always]
            again = sorted({first[caution] for caution in own if caution in first})
            new = tuple(caution for caution in own if caution not in first)
            first |= dict.fromkeys(new, step.number)
            found.append((step, new, tuple(again)))
        return tuple(found)
