"""The disposal note: the shop's own record of what left a job as waste. It never stands for the statutory one."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from packs.documents.heading import Heading
from packs.terms import Chemistry, Condition


@dataclass(frozen=True)
class DisposalUnit:
    """Things alike that went the same way.

    ``count`` is the number of cells, None where nobody knows; ``count_words`` say how well it is known.
    ``rated_energy_mwh`` is exact: rated capacity times nominal voltage of the data sheet or the nameplate, None where
    neither is known. ``mass_mg`` is None where the thing has yet to be weighed. ``un_number`` and ``waste_code`` are
    empty where none is named; the words beside them say what to ask. Boards and absorbent are no ``battery``.
    ``on`` is the day whose rules count for it: the one it left, until then the one of the note.
    """

    what: str
    chemistry: Chemistry
    route: str
    count: int | None
    count_words: str
    rated_energy_mwh: Decimal | None
    energy_words: str
    mass_mg: Decimal | None
    un_number: str
    un_name: str
    un_words: str
    waste_code: str
    waste_words: str
    codes: tuple[str, ...] = ()
    size_words: str = ""
    battery: bool = True
    on: date | None = None


@dataclass(frozen=True)
class DisposalSection:
    """What has one condition, and how that is packed."""

    condition: Condition
    condition_words: str
    units: tuple[DisposalUnit, ...]
    packing: tuple[str, ...]
    marks: tuple[str, ...] = ()
    forbidden: tuple[str, ...] = ()
    title: str = ""


@dataclass(frozen=True)
class Way:
    """One way out: a container with its start date, or the emergency route; carrier and receiver once they are known."""

    route: str
    started_on: date | None
    carrier: str
    receiver: str
    left_at: datetime | None
    consignment: str = ""
    mode: str = ""
    handed_over_by: str = ""
    taken_by: str = ""
    gross_mass_mg: Decimal | None = None


@dataclass(frozen=True)
class DisposalNote:
    """The disposal note of one job or one consignment.

    ``left_open`` is what local codes decide, ``keeping`` what the place says about keeping papers, ``keep_until`` the day
    that follows from it. ``gross_mass_mg`` [mg] is what the scale said of a whole consignment, ``vehicle_mass_mg`` of its
    intact cells and packs, against the ``vehicle_limit_kg`` [kg] of the easier rules for collecting points. ``rules_on`` is
    the day whose rules count.
    """

    heading: Heading
    place: str
    sections: tuple[DisposalSection, ...]
    ways: tuple[Way, ...]
    never_by_air: str
    defers: str
    statutory_number: str = ""
    gross_mass_mg: Decimal | None = None
    left_open: tuple[str, ...] = ()
    keeping: str = ""
    keep_until: date | None = None
    rules_on: date | None = None
    vehicle_mass_mg: Decimal | None = None
    vehicle_limit_kg: Decimal | None = None

    @property
    def units(self) -> tuple[DisposalUnit, ...]:
        """Everything on the note."""
        return tuple(unit for section in self.sections for unit in section.units)

    @property
    def texts(self) -> tuple[str, ...]:
        """What rules say on the note."""
        said = (text for part in self.sections for text in (*part.packing, *part.marks, *part.forbidden))
        return (*said, *self.left_open, self.keeping)

    @property
    def count(self) -> int | None:
        """How many cells, or None where that is not known of all."""
        counts = [unit.count for unit in self.units]
        return None if None in counts else sum(count for count in counts if count is not None)

    @property
    def rated_energy_mwh(self) -> Decimal | None:
        """Rated energy of everything [mWh], or None where it is not known of all."""
        return _sum([unit.rated_energy_mwh for unit in self.units])

    @property
    def mass_mg(self) -> Decimal | None:
        """Mass of everything [mg], or None where something has yet to be weighed."""
        return _sum([unit.mass_mg for unit in self.units])


def _sum(figures: list[Decimal | None]) -> Decimal | None:
    known = [figure for figure in figures if figure is not None]
    return sum(known, Decimal()) if len(known) == len(figures) else None
