"""What happened in the demo shop, done through the same operations that the pages use."""

from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from packs.terms import JobKind
from shop.demo import channels, counter, people, stockroom
from shop.demo.bench import Bench
from shop.models import Job, User
from shop.operations import for_stock, quoting, workshop

PRICES = {
    "labour_rate": Decimal(68),
    "margin_percent": Decimal(18),
    "tax_percent": Decimal(20),
    "consumables": Decimal("2.40"),
    "strip_metre": Decimal("1.90"),
    "wire_metre": Decimal("2.60"),
    "waste_fee": Decimal(4),
    "examination_fee": Decimal(25),
}

DAYS = 20
"""How long before today the demo shop opened."""


@transaction.atomic
def build() -> None:
    """Open the demo shop and let its history happen, day by day up to yesterday."""
    opened_at = (timezone.now() - timedelta(days=DAYS)).replace(hour=8, minute=0, second=0, microsecond=0)
    _open(opened_at)
    technician, lead = people.named("technician"), people.named("lead")
    stockroom.fill(by=technician, at=opened_at + timedelta(days=1))
    bench = Bench(technician=technician, lead=lead)
    for visit in sorted((*counter.VISITS, *counter.STOCK_PACKS), key=lambda visit: visit.day):
        at = opened_at + timedelta(days=visit.day)
        bench.bring_to(_begin(visit, technician, at), visit, at)
    channels.furnish(by=technician, lead=lead, at=opened_at + timedelta(days=DAYS - 3))


def _begin(visit: counter.Visit, technician: User, at: datetime) -> Job:
    if visit.kind is JobKind.FOR_STOCK:
        return for_stock.build_for_stock(
            model=visit.device, device_class=visit.device_class, note=visit.complaint, by=technician, now=at
        )
    return counter.take_in(visit, by=people.named("counter"), at=at)


def _open(at: datetime) -> None:
    settings = workshop.open_shop(
        owner_username="owner",
        owner_password=people.new_password(),
        owner_name=people.PEOPLE["owner"][0],
        name="Lindenhof Cell Works",
        address="Mill Lane 4, Oberau",
        emergency_number="112",
        jurisdiction="eu",
        currency="EUR",
        time_zone="Europe/Vienna",
        now=at,
    )
    people.hire(settings.by)
    quoting.change_prices(by=settings.by, now=at, **PRICES)
