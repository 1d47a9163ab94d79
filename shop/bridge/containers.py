"""How a container stands: since when, how heavy, by when it has to leave."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from decimal import Decimal

from django.db.models import Max

from packs.terms import Contents, Place
from shop.models import Cell, Container, Item, Job, Movement
from shop.models.stock import GONE

from . import waste
from .waste import Margin, Weighed, Where


@dataclass(frozen=True)
class Standing:
    """A container as it stands: things in it, their mass as far as known, its days, and how near its limits are.

    ``mass_mg`` is the gross mass once it was weighed, before that the sum of what is known of its contents [mg].
    ``to_determine`` says that it is no universal waste where there is such: how long it may stand has to be determined.
    """

    container: Container
    things: int
    mass_mg: Decimal
    unweighed: int
    began: date
    leave_by: date | None
    time: Margin
    package: Weighed
    casings_closed: bool
    full: bool
    to_determine: bool = False

    @property
    def weighed(self) -> bool:
        """Whether the mass is what the scale said."""
        return self.container.gross_mass_mg is not None

    @property
    def warned(self) -> bool:
        """Whether a limit is near or reached."""
        return self.full or self.to_determine or waste.is_near(self.time) or waste.is_near(self.package.margin)


@dataclass(frozen=True)
class Waiting:
    """What of a job waits outside containers: things, their mass as far as known [mg], and since when.

    Whole cells on the bench count until somebody says where they go.
    """

    job: Job
    things: int
    mass_mg: Decimal
    unweighed: int
    began: date
    leave_by: date | None
    time: Margin


@dataclass
class _Inside:
    things: int = 0
    mass_mg: Decimal = Decimal()
    unweighed: int = 0
    heaviest_mg: Decimal | None = None
    days: list[date] = field(default_factory=list)

    def add(self, mass_mg: int | None) -> None:
        self.things += 1
        self.unweighed += mass_mg is None
        if mass_mg is not None:
            self.mass_mg += mass_mg
            self.heaviest_mg = max(Decimal(mass_mg), self.heaviest_mg or Decimal())


def standing(containers: Sequence[Container], at: datetime) -> list[Standing]:
    """Return how containers stand, in a number of queries that does not grow with them."""
    where, inside = waste.here(at), _inside(containers, waste.zone())
    breached = set(
        Container.objects.filter(inner_packagings__casing_closed=False, pk__in=inside).values_list("pk", flat=True)
    )
    return [_standing(row, inside[row.pk], where, row.pk not in breached) for row in containers]


def mass_of(container: Container) -> Decimal:
    """Return what is known of the mass of the contents [mg]."""
    return _inside([container], waste.zone())[container.pk].mass_mg


def site_mass(standings: Iterable[Standing], waiting: Iterable[Waiting], other_mg: int) -> Decimal:
    """Return the universal waste of the site [mg]: in containers, outside them, and what else the settings say there is."""
    inside = sum((each.mass_mg for each in standings if each.container.holds_cells), Decimal(other_mg))
    return inside + sum((each.mass_mg for each in waiting), Decimal())


def waiting(at: datetime) -> list[Waiting]:
    """Return what waits outside containers, job by job, in a number of queries that does not grow with it."""
    where, zone, found = waste.here(at), waste.zone(), dict[int, _Inside]()
    jobs: dict[int, Job] = {}
    cells = Cell.objects.filter(place=Place.BENCH.value).select_related("job__device", "lot__cell_model")
    items = [row for row in Item.objects.waiting().select_related("job__device") if row.contents is Contents.CELLS]
    for thing in [*cells, *items]:
        if thing.job is not None:
            jobs[thing.job.pk] = thing.job
            found.setdefault(thing.job.pk, _Inside()).add(_mass_of(thing))
    for job, at_last in _came(cells, items):
        found[job].days.append(at_last.astimezone(zone).date())
    return [_waiting(jobs[pk], found[pk], where) for pk in sorted(found)]


def _mass_of(thing: Cell | Item) -> int | None:
    return thing.mass_mg if isinstance(thing, Item) else thing.lot.cell_model.mass_mg


def _came(cells: Iterable[Cell], items: Iterable[Item]) -> Iterable[tuple[int, datetime]]:
    """Yield the job of each thing with the moment it came to where it waits."""
    for kind, things in (("cell", list(cells)), ("item", list(items))):
        jobs = {thing.pk: thing.job_id for thing in things}
        rows = Movement.objects.filter(**{f"{kind}__in": list(jobs)}).order_by().values_list(f"{kind}_id")
        for pk, last in rows.annotate(last=Max("at")):
            job = jobs[pk]
            if job is not None:
                yield job, last


def _waiting(job: Job, inside: _Inside, where: Where) -> Waiting:
    began = min(inside.days, default=job.opened_at.date())
    last, near = waste.leave_by([began], where)
    return Waiting(job, inside.things, inside.mass_mg, inside.unweighed, began, last, near)


def _standing(row: Container, inside: _Inside, where: Where, closed: bool) -> Standing:
    mass = inside.mass_mg if row.gross_mass_mg is None else Decimal(row.gross_mass_mg)
    began = min([row.started_on, *inside.days])
    most = waste.most_items(row, inside.heaviest_mg, where)
    open_question = not closed and waste.knows_universal_waste(where)
    timed = row.holds_cells and not open_question
    last, near = waste.leave_by([began], where) if timed else (None, Margin.NONE)
    return Standing(
        container=row,
        things=inside.things,
        mass_mg=mass,
        unweighed=inside.unweighed,
        began=began,
        leave_by=last,
        time=near,
        package=waste.package(row, mass, where),
        casings_closed=closed,
        full=most is not None and inside.things >= most,
        to_determine=open_question,
    )


def _inside(containers: Sequence[Container], zone: tzinfo) -> dict[int, _Inside]:
    found = {row.pk: _Inside() for row in containers}
    for container, mass in Cell.objects.filter(container__in=found).values_list(
        "container_id", "lot__cell_model__mass_mg"
    ):
        found[container].add(mass)
    for container, mass in Item.objects.filter(container__in=found).values_list("container_id", "mass_mg"):
        found[container].add(mass)
    for container, at in _waited_since(found):
        found[container].days.append(at.astimezone(zone).date())
    return found


def _waited_since(containers: Iterable[int]) -> Iterable[tuple[int, datetime]]:
    """Yield when each thing came to where it waited for its container."""
    for kind in ("cell", "item"):
        waited = Movement.objects.filter(**{f"{kind}__container__in": list(containers)}).exclude(to_place__in=GONE)
        rows = waited.order_by().values_list(f"{kind}_id", f"{kind}__container_id").annotate(last=Max("at"))
        for _, container, last in rows:
            yield container, last
