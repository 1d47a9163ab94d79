"""The disposal note, of a job or of a consignment."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from decimal import Decimal
from itertools import groupby

from django.db.models import QuerySet

from packs import waste as rules
from packs.documents import DisposalNote, DisposalSection, DisposalUnit, Heading, Way
from packs.terms import Condition, Contents, Measure, Mode
from shop.bridge import figures, waste
from shop.bridge.waste import Thing, Where
from shop.errors import ShopError
from shop.models import Cell, Consignment, Container, Item, Job

from .disposal_units import units
from .heading import local

EMERGENCY = "emergency route"
NOT_MEASURED = "not measured, handled as damaged until measured"
"""What cells are that are whole to look at: nobody can say of them that their voltage is in order."""


@dataclass(frozen=True)
class _Gone:
    """One cell or item that went out, the way it went, and the place and day whose rules count: the day it left."""

    thing: Thing
    route: str
    where: Where
    measured: bool = True

    @property
    def condition(self) -> Condition:
        """How it is packed and carried: a cell that nobody measured was not diagnosed before carriage (ADR, SP 376)."""
        return Condition(self.thing.condition) if self.measured else Condition.DAMAGED

    @property
    def contents(self) -> Contents:
        """Whether it is a battery."""
        return self.thing.contents if isinstance(self.thing, Item) else Contents.CELLS

    @property
    def order(self) -> tuple[int, int, bool]:
        """Batteries come first, by condition; those that nobody measured stand for themselves."""
        return list(Contents).index(self.contents), list(Condition).index(self.condition), not self.measured


def disposal_note(job: Job, heading: Heading) -> DisposalNote:
    """Return the shop's record of what left a job as waste; there is none where nothing did."""
    cells, items = Cell.objects.disposed_of_by(job), job.items.gone()
    where = waste.here(heading.issued_at)
    gone = _gone(cells, items, where)
    if not gone:
        raise ShopError("nothing_gone", f"Nothing of job {job.code} has gone into a container or out of the shop yet.")
    return _note(gone, heading, where)


def consignment_note(consignment: Consignment, heading: Heading) -> DisposalNote:
    """Return the shop's record of what one consignment took."""
    inside, where = {"container__consignment": consignment}, waste.here(consignment.left_at)
    return _note(
        _gone(Cell.objects.filter(**inside), Item.objects.filter(**inside), where), heading, where, consignment
    )


def _gone(cells: "QuerySet[Cell]", items: "QuerySet[Item]", where: Where) -> list[_Gone]:
    away, zone = "container__consignment", waste.zone()
    known = items.select_related(away, "job__device", "job__as_found__cell_model").order_by("pk")
    things: list[Thing] = [*cells.select_related(away, "lot__cell_model").order_by("code"), *known]
    read = figures.of_cells(thing for thing in things if isinstance(thing, Cell))
    return [
        _Gone(thing, _route(thing), _on_leaving(thing, where, zone), measured=_measured(thing, read))
        for thing in things
    ]


def _measured(thing: Thing, read: dict[int, figures.Figures]) -> bool:
    """Whether a cell that is whole to look at has a rest voltage; of what is damaged or closed nothing is asked."""
    whole = isinstance(thing, Cell) and thing.condition == Condition.INTACT
    return not whole or Measure.REST_VOLTAGE in read.get(thing.pk, {})


def _on_leaving(thing: Thing, where: Where, zone: tzinfo) -> Where:
    left_at = thing.container.consigned_at if thing.container else None
    return where if left_at is None else replace(where, on=left_at.astimezone(zone).date())


def _route(thing: Thing) -> str:
    return f"container {thing.container.code}" if thing.container else EMERGENCY


def _note(gone: list[_Gone], heading: Heading, where: Where, consignment: Consignment | None = None) -> DisposalNote:
    ways = tuple(_ways(gone, heading.workshop.time_zone))
    in_order = sorted(gone, key=lambda each: each.order)
    load = waste.load(consignment.containers.all(), where) if consignment else None
    return DisposalNote(
        heading=heading,
        place=where.place.label,
        sections=tuple(_section(list(run)) for _, run in groupby(in_order, key=lambda each: each.order)),
        ways=ways,
        never_by_air=_told(rules.never_by_air(where.place, where.on).text),
        defers=rules.DEFERS.text,
        statutory_number=consignment.statutory_number if consignment else "",
        gross_mass_mg=_gross(consignment),
        left_open=waste.left_open(where),
        keeping=waste.keeping_words(where),
        keep_until=consignment.keep_until if consignment else None,
        rules_on=where.on,
        vehicle_mass_mg=load.mass_kg * waste.MG_PER_KG if load else None,
        vehicle_limit_kg=load.limit_kg if load else None,
    )


def _gross(consignment: Consignment | None) -> Decimal | None:
    masses = [row.gross_mass_mg for row in consignment.containers.all()] if consignment else [None]
    return None if None in masses else Decimal(sum(mass for mass in masses if mass is not None))


def _section(gone: list[_Gone]) -> DisposalSection:
    """Write what has one condition, or is no battery."""
    contents, condition = gone[0].contents, gone[0].condition
    by_way = sorted(gone, key=lambda each: each.route)
    told = [unit for _, run in groupby(by_way, lambda each: each.route) for unit in _units(list(run))]
    if contents is not Contents.CELLS:
        return DisposalSection(condition, "", tuple(told), (), title=contents.label)
    asked = [waste.carriage(waste.facts(each.thing), condition, each.where) for each in gone]
    return DisposalSection(
        condition=condition,
        condition_words=rules.condition_words(condition).text,
        units=tuple(told),
        packing=_once(waste.sentence(row) for each in asked for row in each.packing),
        marks=_once(waste.sentence(row) for each in asked for row in each.marks),
        forbidden=_once(row.text for each in asked for row in each.forbidden if row.rule != "forbidden.air"),
        title="" if gone[0].measured else NOT_MEASURED,
    )


def _units(run: list[_Gone]) -> list[DisposalUnit]:
    """Write what went one way, and so left on one day."""
    return units([each.thing for each in run], run[0].route, run[0].where)


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def _told(statement: str) -> str:
    """Return what a statement says under its own heading: the words behind its first colon."""
    said = statement.partition(": ")[2] or statement
    return f"{said[:1].upper()}{said[1:]}"


def _ways(gone: Iterable[_Gone], time_zone: str) -> Iterable[Way]:
    seen: set[str] = set()
    for each in gone:
        way = _way(each.thing, time_zone)
        name = f"{way.route} {way.receiver}"
        if name not in seen:
            seen.add(name)
            yield way


def _way(thing: Thing, time_zone: str) -> Way:
    if thing.container is not None:
        return _by_container(thing.container, time_zone)
    last = thing.movements.order_by("-pk").first()
    receiver = last.note.removeprefix(f"{EMERGENCY}: ") if last else ""
    return Way(EMERGENCY, None, "", receiver, local(last.at, time_zone) if last else None)


def _by_container(container: Container, time_zone: str) -> Way:
    sent = container.consignment
    left_at: datetime | None = local(container.consigned_at, time_zone) if container.consigned_at else None
    return Way(
        route=f"container {container.code}",
        started_on=container.started_on,
        carrier=container.carrier,
        receiver=container.receiver,
        left_at=left_at,
        consignment=sent.code if sent else "",
        mode=Mode(sent.mode).label if sent else "",
        handed_over_by=sent.handed_over_by if sent else "",
        taken_by=sent.taken_by if sent else "",
        gross_mass_mg=None if container.gross_mass_mg is None else Decimal(container.gross_mass_mg),
    )
