"""Waste containers, consignments and the whole site, as pages tell them."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from shop.bridge import containers as standing_of
from shop.bridge import waste
from shop.bridge.containers import Standing
from shop.models import Consignment, Container, WorkshopSettings


@dataclass(frozen=True)
class Site:
    """All universal waste of the site [mg] and its bound."""

    mass_mg: Decimal
    other_mg: int
    held: waste.Weighed
    large_until: date

    @property
    def bounded(self) -> bool:
        """Whether the place has a bound at all."""
        return self.held.limit_kg is not None


def here() -> list[Container]:
    """Return the containers that are still in the shop."""
    return list(Container.objects.filter(consigned_at=None).order_by("code"))


def standing(container: Container, at: datetime) -> Standing:
    """Return how one container stands."""
    return standing_of.standing([container], at)[0]


def standings(containers: list[Container], at: datetime) -> list[Standing]:
    """Return how containers stand."""
    return standing_of.standing(containers, at)


def site(standings: list[Standing], at: datetime) -> Site:
    """Return the universal waste of the site: the containers here and what the settings say there is beside them."""
    row, where = WorkshopSettings.objects.last(), waste.here(at)
    other = row.other_universal_waste_mg if row else 0
    mass = standing_of.site_mass(standings, other)
    return Site(mass, other, waste.site(mass, where), waste.large_handler_until(where.on))


def consignments() -> list[Consignment]:
    """Return every consignment, those that wait for their confirmation first."""
    rows = Consignment.objects.prefetch_related("containers")
    return sorted(rows, key=lambda row: (row.confirmed_on is not None, -row.number))


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
