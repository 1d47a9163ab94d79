"""Waste containers, consignments and the whole site, as pages tell them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max, Q

from packs.terms import DocumentKind, Place
from shop.bridge import containers as standing_of
from shop.bridge import waste
from shop.bridge.containers import Standing, Waiting
from shop.models import Consignment, Container, Item, Job, WorkshopSettings


@dataclass(frozen=True)
class Site:
    """All universal waste of the site [mg] and its bound; ``unweighed`` things have no mass in it."""

    mass_mg: Decimal
    other_mg: int
    unweighed: int
    held: waste.Weighed
    large_until: date

    @property
    def bounded(self) -> bool:
        """Whether the place has a bound at all."""
        return self.held.limit_kg is not None

    @property
    def near(self) -> bool:
        """Whether the bound is near or reached."""
        return waste.is_near(self.held.margin)


def without_chemistry(container: Container) -> list[Item]:
    """Return what in a container has no chemistry on record, so that no UN number can be named for it."""
    return waste.without_chemistry(container.items.select_related("job__device", "job__as_found__cell_model"))


def here() -> list[Container]:
    """Return the containers that are still in the shop."""
    return list(Container.objects.filter(consigned_at=None).order_by("code"))


def standing(container: Container, at: datetime) -> Standing:
    """Return how one container stands."""
    return standing_of.standing([container], at)[0]


def standings(containers: list[Container], at: datetime) -> list[Standing]:
    """Return how containers stand."""
    return standing_of.standing(containers, at)


def waiting(at: datetime) -> list[Waiting]:
    """Return what waits outside containers, job by job."""
    return standing_of.waiting(at)


def site(standings: list[Standing], waiting: list[Waiting], at: datetime) -> Site:
    """Return the universal waste of the site: in containers, outside them, and what the settings say there is beside it."""
    row, where = WorkshopSettings.objects.last(), waste.here(at)
    other = row.other_universal_waste_mg if row else 0
    mass = standing_of.site_mass(standings, waiting, other)
    unweighed = sum(each.unweighed for each in standings if not each.weighed) + sum(each.unweighed for each in waiting)
    return Site(mass, other, unweighed, waste.site(mass, where), waste.large_handler_until(where.on))


@dataclass(frozen=True)
class Pressing:
    """What is near a limit or at it: containers, jobs whose waste waits outside of any, and the whole site."""

    containers: list[Standing]
    waiting: list[Waiting]
    site: Site

    def __bool__(self) -> bool:
        return bool(self.containers or self.waiting or self.site.near)


def pressing(at: datetime) -> Pressing:
    """Return what is near a limit or at it; what is merely full presses nobody."""
    standing, outside = standings(here(), at), waiting(at)
    return Pressing(
        [each for each in standing if waste.is_near(each.time) or waste.is_near(each.package.margin)],
        [each for each in outside if waste.is_near(each.time)],
        site(standing, outside, at),
    )


def consignments() -> list[Consignment]:
    """Return every consignment, those that wait for their confirmation first."""
    rows = Consignment.objects.prefetch_related("containers")
    return sorted(rows, key=lambda row: (row.confirmed_on is not None, -row.number))


def load(containers: Iterable[Container], at: datetime) -> waste.Weighed:
    """Return what one vehicle takes of intact cells and packs, against the easier rules for collecting points."""
    return waste.load(containers, waste.here(at))


@dataclass(frozen=True)
class FromJob:
    """A job whose things a consignment took; ``behind`` where its own note does not tell yet who took them."""

    job: Job
    behind: bool


def jobs_of(consignment: Consignment) -> list[FromJob]:
    """Return the jobs whose things a consignment took."""
    into = {"movements__container__consignment": consignment, "movements__to_place": Place.CONTAINER.value}
    noted = Max("documents__issued_at", filter=Q(documents__kind=DocumentKind.DISPOSAL_NOTE.value))
    rows = Job.objects.filter(**into).annotate(noted=noted).order_by("number")
    last = dict(rows.values_list("pk", "noted"))
    return [FromJob(job, last[job.pk] is None or last[job.pk] < consignment.left_at) for job in rows]


@dataclass(frozen=True)
class Profile:
    """The rows of one topic, told apart by whether they count here and today."""

    topic: waste.Topic
    counting: list[waste.Row]
    others: list[waste.Row]


def profile(at: datetime) -> tuple[waste.Where, list[Profile]]:
    """Return every row there is, by topic, and the place and day for which they are told apart."""
    where = waste.here(at)
    topics = []
    for topic in waste.Topic:
        rows = [row for row in waste.every_row() if row.topic is topic]
        counting = [row for row in rows if row.holds(where.place, where.on)]
        topics.append(Profile(topic, counting, [row for row in rows if row not in counting]))
    return where, topics
