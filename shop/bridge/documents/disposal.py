"""The disposal note."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from packs import topology, waste
from packs.documents import DisposalNote, DisposalSection, DisposalUnit, Heading, Way
from packs.errors import MissingFact
from packs.terms import Chemistry, Condition
from shop.errors import ShopError
from shop.models import Cell, Container, CountBasis, Item, ItemKind, Job, Jurisdiction, PackAsFound

from .heading import local, settings

EMERGENCY = "emergency route"
ORDER = list(Condition)


@dataclass(frozen=True)
class _Gone:
    """One cell or item that went out, and the way it went."""

    thing: Cell | Item
    condition: Condition
    route: str


def disposal_note(job: Job, heading: Heading) -> DisposalNote:
    """Return the shop's record of what left a job as waste; there is none where nothing did."""
    gone = [*_cells(job), *_items(job)]
    if not gone:
        raise ShopError("nothing_gone", f"Nothing of job {job.code} has gone into a container or out of the shop yet.")
    place = Jurisdiction(settings().jurisdiction)
    by_condition = sorted(gone, key=lambda each: ORDER.index(each.condition))
    writer = _Writer(job, heading, place)
    return DisposalNote(
        heading=heading,
        place=place.label,
        sections=tuple(writer.section(key, list(run)) for key, run in groupby(by_condition, lambda e: e.condition)),
        ways=tuple(_ways(gone, heading.workshop.time_zone)),
        never_by_air=_told(waste.FORBIDDEN_BY_AIR.text),
        defers=waste.DEFERS.text,
    )


def _cells(job: Job) -> list[_Gone]:
    rows = Cell.objects.disposed_of_by(job).select_related("lot__cell_model", "container")
    return [_Gone(row, Condition(row.condition), _route(row)) for row in rows.order_by("code")]


def _items(job: Job) -> list[_Gone]:
    rows = job.items.gone().select_related("container")
    return [_Gone(row, Condition(row.condition), _route(row)) for row in rows]


def _route(thing: Cell | Item) -> str:
    return f"container {thing.container.code}" if thing.container else EMERGENCY


@dataclass(frozen=True)
class _Writer:
    """Writes the units of one note: its job, its head, the place whose rules count."""

    job: Job
    heading: Heading
    place: Jurisdiction

    def section(self, condition: Condition, gone: list[_Gone]) -> DisposalSection:
        """Write what has one condition."""
        by_way = sorted(gone, key=lambda each: (isinstance(each.thing, Item), each.route))
        units: list[DisposalUnit] = []
        for _, run in groupby(by_way, key=lambda each: (isinstance(each.thing, Item), each.route)):
            units += self._units(list(run))
        chemistries = dict.fromkeys(unit.chemistry for unit in units)
        packing = dict.fromkeys(text for chemistry in chemistries for text in _packing(condition, chemistry))
        return DisposalSection(condition, _told(waste.condition_words(condition).text), tuple(units), tuple(packing))

    def _units(self, gone: list[_Gone]) -> list[DisposalUnit]:
        cells = [each.thing for each in gone if isinstance(each.thing, Cell)]
        if cells:
            return [self._loose_cells(cells, gone[0].route)]
        return [self._item(each.thing, each.route) for each in gone if isinstance(each.thing, Item)]

    def _loose_cells(self, cells: list[Cell], route: str) -> DisposalUnit:
        model = cells[0].lot.cell_model
        energy_wh = topology.rated_energy_wh(model.rated_capacity_mah, Decimal(model.nominal_voltage_mv), len(cells))
        mass = None if model.mass_mg is None else Decimal(model.mass_mg * len(cells))
        return self._unit(
            what=f"{model.name} cells",
            chemistry=Chemistry(model.chemistry),
            in_equipment=False,
            route=route,
            count=len(cells),
            count_words=CountBasis.KNOWN.label,
            energy=(energy_wh * 1000, "data sheet"),
            mass_mg=mass,
            codes=tuple(cell.code for cell in cells),
        )

    def _item(self, item: Item, route: str) -> DisposalUnit:
        found = PackAsFound.objects.filter(job=self.job).select_related("cell_model").first()
        return self._unit(
            what=item.description,
            chemistry=Chemistry(found.cell_model.chemistry if found else self.job.device.chemistry),
            in_equipment=item.kind == ItemKind.DEVICE,
            route=route,
            count=item.cell_count,
            count_words=CountBasis(item.count_basis).label,
            energy=self._energy(item, found),
            mass_mg=None if item.mass_mg is None else Decimal(item.mass_mg),
        )

    def _energy(self, item: Item, found: PackAsFound | None) -> tuple[Decimal | None, str]:
        """Return the rated energy of an item [mWh] and where it comes from."""
        device, model = self.job.device, found.cell_model if found else None
        if item.rated_energy_mwh is not None:
            return Decimal(item.rated_energy_mwh), "as entered"
        if model is not None and found is not None:
            nominal, count = Decimal(model.nominal_voltage_mv), found.cell_count
            return topology.rated_energy_wh(model.rated_capacity_mah, nominal, count) * 1000, "data sheet"
        if device.rated_voltage_mv is not None and device.rated_capacity_mah is not None:
            voltage = Decimal(device.rated_voltage_mv)
            return topology.rated_energy_wh(device.rated_capacity_mah, voltage, 1) * 1000, "nameplate"
        return None, "not known"

    def _unit(
        self,
        *,
        what: str,
        chemistry: Chemistry,
        in_equipment: bool,
        route: str,
        count: int | None,
        count_words: str,
        energy: tuple[Decimal | None, str],
        mass_mg: Decimal | None,
        codes: tuple[str, ...] = (),
    ) -> DisposalUnit:
        entry = waste.un_number(chemistry, in_equipment)
        code, code_words = self._waste_code(chemistry)
        return DisposalUnit(
            what=what,
            chemistry=chemistry,
            route=route,
            count=count,
            count_words=count_words,
            rated_energy_mwh=energy[0],
            energy_words=energy[1],
            mass_mg=mass_mg,
            un_number=entry.number or "",
            un_name=entry.name,
            un_words=entry.words,
            waste_code=code,
            waste_words=code_words,
            codes=codes,
        )

    def _waste_code(self, chemistry: Chemistry) -> tuple[str, str]:
        place, on = waste.Jurisdiction(self.place.value), self.heading.issued_at.date()
        try:
            code = waste.waste_code_text(place, on, chemistry)
        except MissingFact as error:
            return "", f"{_told(str(error))}. Ask the waste authority."
        return code.code or "", code.words


def _told(statement: str) -> str:
    """Return what a statement says under its own heading: the words behind its first colon."""
    said = statement.partition(": ")[2] or statement
    return f"{said[:1].upper()}{said[1:]}"


def _packing(condition: Condition, chemistry: Chemistry) -> list[str]:
    """Return the packing cautions; the two that hold for every note stand at its end, once."""
    general = (waste.FORBIDDEN_BY_AIR, waste.DEFERS)
    return [each.text for each in waste.packing_cautions(condition, chemistry) if each not in general]


def _ways(gone: Iterable[_Gone], time_zone: str) -> Iterable[Way]:
    seen: set[str] = set()
    for each in gone:
        way = _way(each.thing, time_zone)
        name = f"{way.route} {way.receiver}"
        if name not in seen:
            seen.add(name)
            yield way


def _way(thing: Cell | Item, time_zone: str) -> Way:
    container: Container | None = thing.container
    if container is not None:
        left_at = local(container.consigned_at, time_zone) if container.consigned_at else None
        return Way(f"container {container.code}", container.started_on, container.carrier, container.receiver, left_at)
    last = thing.movements.order_by("-pk").first()
    receiver = last.note.removeprefix(f"{EMERGENCY}: ") if last else ""
    return Way(EMERGENCY, None, "", receiver, local(last.at, time_zone) if last else None)
