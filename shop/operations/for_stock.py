"""Packs that the shop builds for its own stock: nothing comes in over the counter, nothing is handed over."""

from datetime import datetime

from packs.terms import DeviceClass, JobKind, Owner, Place, Stage
from shop.bridge import rules
from shop.bridge.documents.packs_of import rating
from shop.errors import Held
from shop.models import CountBasis, Customer, Device, Item, ItemKind, Job, Plan, PlanState, User, WorkshopSettings

from . import areas, book, log
from .base import BENCH, lock_job, moment, require_stage, save, standing_plan, verb
from .closeout import hold_points
from .opening import open_job


@verb(*BENCH)
def build_for_stock(
    *, model: str, device_class: DeviceClass, by: User, note: str = "", now: datetime | None = None
) -> Job:
    """The shop builds a pack for its own stock; what it is meant for decides which cells it may get."""
    at = moment(now)
    device = save(Device(customer=_shop_itself(at), model=model.strip(), device_class=device_class.value))
    job = Job(device=device, complaint=note, kind=JobKind.FOR_STOCK.value, removed_owner=Owner.SHOP.value)
    open_job(job, (), by=by, at=at)
    return job


@verb(*BENCH)
def into_stock(*, job: Job, by: User, version: int | None = None, now: datetime | None = None) -> Item:
    """A built pack goes into stock with its test report; its cells stay in it, each in its position."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.INTO_STOCK)
    if stops := rules.stopping(hold_points(job)):
        raise Held(stops)
    plan = standing_plan(job)
    plan.state = PlanState.BUILT.value
    save(plan)
    item = save(_pack(job, plan))
    book.bring_in(item, by=by, at=at, job=job, note="built here")
    areas.require_room_for(item)
    job.closed_at = at
    job.version += 1
    save(job)
    log.record("pack into stock", by=by, at=at, job=job, pack=str(item))
    return item


def _pack(job: Job, plan: Plan) -> Item:
    return Item(
        job=job,
        kind=ItemKind.PACK.value,
        description=f"{job.device}, {plan.series}s{plan.parallel}p",
        cell_count=plan.cell_count,
        count_basis=CountBasis.KNOWN.value,
        rated_energy_mwh=int(rating(plan).rated_energy_mwh),
        place=Place.STOCK.value,
    )


def _shop_itself(at: datetime) -> Customer:
    found = Customer.objects.filter(is_shop=True).first()
    settings = WorkshopSettings.objects.last()
    return found or save(Customer(name=settings.name if settings else "the shop itself", is_shop=True, created_at=at))
