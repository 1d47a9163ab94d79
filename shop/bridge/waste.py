"""What the rules on waste and carriage say of the shop's own cells, items and containers."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.core.exceptions import ObjectDoesNotExist
from django.utils import timezone

from packs import topology, waste
from packs.errors import MissingFact
from packs.terms import Chemistry, Condition, Contents, JobKind, Mode
from packs.waste import Jurisdiction, Margin, Row, Size, Sized, Topic, Weighed
from shop.models import Cell, Container, Item, ItemKind, Job, PackAsFound, WorkshopSettings

__all__ = ["Facts", "Jurisdiction", "Margin", "Row", "Size", "Thing", "Topic", "Weighed", "Where"]

Thing = Cell | Item
RECALLED = "\N{DAGGER}"
"""Behind a sentence that is only recalled; the end of the paper or list says what it means."""
MG_PER_KG = 1_000_000


@dataclass(frozen=True)
class Where:
    """The place whose rules count and the day there."""

    place: Jurisdiction
    on: date


def here(at: datetime) -> Where:
    """Return the place of the shop, and the day it is there at a moment."""
    row = WorkshopSettings.objects.last()
    place = Jurisdiction(row.jurisdiction) if row else Jurisdiction.OTHER
    return Where(place, timezone.localdate(at, _zone_of(row)))


def zone() -> tzinfo:
    """Return the time zone of the shop."""
    return _zone_of(WorkshopSettings.objects.last())


def _zone_of(row: WorkshopSettings | None) -> tzinfo:
    return ZoneInfo(row.time_zone) if row else timezone.get_current_timezone()


@dataclass(frozen=True)
class Facts:
    """What is known of a thing: cells [count], rated energy [mWh] and where that comes from, mass [mg]."""

    chemistry: Chemistry
    cells: int | None
    energy_mwh: Decimal | None
    energy_words: str
    mass_mg: Decimal | None
    in_equipment: bool = False

    def size(self, where: Where) -> Sized:
        """Return its size class."""
        energy = None if self.energy_mwh is None else self.energy_mwh / 1000
        return waste.size_of(energy, self.cells, where.place, where.on)


def facts(thing: Thing) -> Facts:
    """Return what is known of a cell or item; an item needs its job with device and pack as found."""
    return _of_cell(thing) if isinstance(thing, Cell) else _of_item(thing)


def _of_cell(cell: Cell) -> Facts:
    model = cell.lot.cell_model
    energy_wh = topology.rated_energy_wh(model.rated_capacity_mah, Decimal(model.nominal_voltage_mv), 1)
    mass = None if model.mass_mg is None else Decimal(model.mass_mg)
    return Facts(Chemistry(model.chemistry), 1, energy_wh * 1000, "data sheet", mass)


def _of_item(item: Item) -> Facts:
    mass = None if item.mass_mg is None else Decimal(item.mass_mg)
    if item.contents is not Contents.CELLS:
        return Facts(Chemistry.UNKNOWN, None, None, "", mass)
    found = _as_found(item.job)
    ratings = _ratings(item, found)
    counts = max(ratings, key=lambda source: ratings[source], default="not known")
    return Facts(
        chemistry=_chemistry(item.job, found),
        cells=item.cell_count,
        energy_mwh=waste.rated_wh(*ratings.values()),
        energy_words=counts,
        mass_mg=mass,
        in_equipment=item.kind == ItemKind.DEVICE,
    )


def _chemistry(job: Job, found: PackAsFound | None) -> Chemistry:
    """Return what the cells are: as found, as the nameplate says, or for a pack that was built here as planned."""
    told = [found.cell_model.chemistry] if found else []
    known = [Chemistry(one) for one in [*told, job.device.chemistry] if one != Chemistry.UNKNOWN]
    if known or job.kind != JobKind.FOR_STOCK:
        return known[0] if known else Chemistry.UNKNOWN
    plan = job.plans.filter(accepted_at__isnull=False).select_related("cell_model").last()
    return Chemistry(plan.cell_model.chemistry) if plan else Chemistry.UNKNOWN


def without_chemistry(things: Iterable[Thing]) -> list[Item]:
    """Return the packs and devices whose chemistry nobody wrote down: no UN number can be named for them."""
    packs = [thing for thing in things if isinstance(thing, Item) and thing.contents is Contents.CELLS]
    return [pack for pack in packs if facts(pack).chemistry is Chemistry.UNKNOWN]


def _ratings(item: Item, found: PackAsFound | None) -> dict[str, Decimal]:
    """Return every rating of an item [mWh] by where it stands; the largest counts, no lower value does."""
    rest = _rest_of_a_pack(item, found)
    known = "data sheet" if rest else "as entered"
    ratings = {} if item.rated_energy_mwh is None else {known: Decimal(item.rated_energy_mwh)}
    if rest:
        return ratings
    if (printed := nameplate_mwh(item.job)) is not None:
        ratings["nameplate"] = printed
    if found is not None:
        model, voltage = found.cell_model, Decimal(found.cell_model.nominal_voltage_mv)
        wh = topology.rated_energy_wh(model.rated_capacity_mah, voltage, found.cell_count)
        ratings["data sheet"] = wh * 1000
    return ratings


def _rest_of_a_pack(item: Item, found: PackAsFound | None) -> bool:
    """Whether an item is what stayed of an opened pack: the nameplate and the count when examined say more than it holds."""
    if found is None or item.cell_count is None or not item.job.part_stays:
        return False
    return item.kind == ItemKind.PACK and item.cell_count < found.cell_count


def nameplate_mwh(job: Job) -> Decimal | None:
    """Return the rated energy that the device's nameplate gives [mWh]."""
    device = job.device
    if device.rated_voltage_mv is None or device.rated_capacity_mah is None:
        return None
    return topology.rated_energy_wh(device.rated_capacity_mah, Decimal(device.rated_voltage_mv), 1) * 1000


def _as_found(job: Job) -> PackAsFound | None:
    try:
        return job.as_found
    except ObjectDoesNotExist:
        return None


def waste_code(chemistry: Chemistry, where: Where) -> tuple[str, str]:
    """Return the waste code and the words beside it; the code is empty where none is named."""
    try:
        row = waste.waste_code(where.place, where.on, chemistry)
    except MissingFact as error:
        said = str(error)
        return "", f"{said[:1].upper()}{said[1:]}. Ask the waste authority."
    return row.code, row.text


NO_BATTERY = "No battery: no UN number of one."
CHARACTERISE = {
    Contents.BOARDS: "Electrical scrap, or what the receiver says: ask the waste authority which code it accepts.",
    Contents.CONTAMINATED: "Characterised by itself, by the safety data sheet of what it took up: ask the waste authority.",
}


def carriage(known: Facts, condition: Condition, where: Where) -> waste.Carriage:
    """Return what carriage asks of a thing."""
    return waste.carriage(
        chemistry=known.chemistry,
        condition=condition,
        sized=known.size(where),
        place=where.place,
        on=where.on,
        in_equipment=known.in_equipment,
    )


def sentence(row: Row) -> str:
    """Return what a row on a package says, with its instruction, words or threshold; what is only recalled says so."""
    if row.topic is Topic.MARK and row.code:
        return told(row, f"{row.text.removesuffix('.')}: {row.code}.")
    if row.limit is not None:
        return told(row, _with_limit(row.text, f"{row.limit:f} {row.unit}"))
    return told(row, f"{row.code}: {row.text}" if row.code else row.text)


def _with_limit(text: str, limit: str) -> str:
    """Put a limit where its sentence points to it as this, this mass or this time; behind it where it does not."""
    pointed = re.sub(r"\bthis( mass| time)?\b", limit, text, count=1)
    return pointed if pointed != text else f"{text.removesuffix('.')}: {limit}."


def told(row: Row, said: str) -> str:
    """Return what is said of a row; what is only recalled carries a mark that the end of the paper or list explains."""
    return f"{said}\N{NO-BREAK SPACE}{RECALLED}" if row.confirm else said


def needs_approved_packaging(things: Iterable[Thing], condition: Condition, where: Where) -> bool:
    """Whether what is inside travels only in UN-approved packaging: damaged, or too large for the easier rules."""
    if condition is Condition.DAMAGED:
        return True
    if waste.row("packing.intact_large", where.place, where.on) is None:
        return False
    return any(facts(thing).size(where).size is not Size.SMALL for thing in things)


def most_items(container: Container, heaviest_mg: Decimal | None, where: Where) -> int | None:
    """Return how many things the container takes at most, by the mass of the heaviest; None where there is no such rule."""
    if not container.holds_cells:
        return None
    heaviest = None if heaviest_mg is None else heaviest_mg / MG_PER_KG
    return waste.items_to_a_package(Condition(container.condition), where.place, where.on, heaviest_kg=heaviest)


def package(container: Container, mass_mg: Decimal, where: Where) -> Weighed:
    """Hold the mass of a container against the limit of a package."""
    approved = container.approved_packaging or not container.holds_cells
    return waste.package(mass_mg / MG_PER_KG, where.place, where.on, approved=approved)


def site(mass_mg: Decimal, where: Where) -> Weighed:
    """Hold the universal waste of the whole site against its bound."""
    return waste.site(mass_mg / MG_PER_KG, where.place, where.on)


def load(containers: Iterable[Container], where: Where) -> Weighed:
    """Hold the intact cells and packs that one vehicle takes, gross, against the easier rules for collecting points."""
    rows = [row for row in containers if row.holds_cells and row.condition == Condition.INTACT]
    mass_mg = sum((Decimal(row.gross_mass_mg or 0) for row in rows), Decimal())
    return waste.transport_unit(mass_mg / MG_PER_KG, where.place, where.on)


def is_near(margin: Margin) -> bool:
    """Whether a limit is near or reached."""
    return margin in (Margin.NEAR, Margin.REACHED)


def large_handler_until(on: date) -> date:
    """Return how long a site that reached its bound counts as a large quantity handler."""
    return waste.large_handler_until(on)


def leave_by(began: Sequence[date], where: Where) -> tuple[date | None, Margin]:
    """Return the last day of a container that began on the earliest of these days, and how near it is."""
    last = waste.leave_by(began, where.place, where.on)
    return last, waste.time_left(last, where.on)


def keep_until(where: Where) -> date | None:
    """Return until when the papers of what leaves today are kept; None where national rules say it."""
    return waste.keep_until(where.on, where.place)


def keeping_words(where: Where) -> str:
    """Return what the place says about keeping papers."""
    row = waste.row("records.keep", where.place, where.on)
    if row is None:
        return ""
    return told(row, row.text if row.limit is None else f"For {row.limit:f} years. {row.text}")


def require_mode(mode: Mode) -> None:
    """Refuse a way that no waste battery takes."""
    waste.require_mode(mode)


def universal_waste_label(container: Container, closed: bool, where: Where) -> tuple[str, str]:
    """Return the words that the place asks for on a container of batteries, and a sentence on them."""
    row = waste.row("standing.label", where.place, where.on)
    if row is None or not container.holds_cells:
        return "", ""
    if not waste.universal_waste(closed):
        return "", "A casing is breached or not known to be closed: no universal waste. Have it determined."
    return row.code, row.text


def knows_universal_waste(where: Where) -> bool:
    """Whether the place has easier rules for batteries that are universal waste."""
    return waste.row("standing.label", where.place, where.on) is not None


def rows_of(where: Where, topic: Topic) -> tuple[Row, ...]:
    """Return what counts on a topic here and today."""
    return waste.rows(where.place, where.on, topic)


def left_open(where: Where) -> tuple[str, ...]:
    """Return what is left to local codes, in sentences."""
    return tuple(sentence(row) for row in waste.codes_left_open(where.place, where.on))


def every_row() -> tuple[Row, ...]:
    """Return every row there is, of every place and date."""
    return waste.ROWS
