"""The hand-over receipt."""

from collections import Counter
from decimal import Decimal

from packs.documents import GoesBack, HandOverReceipt, Heading, Whereabouts
from packs.terms import DocumentKind, FeeState, LotOrigin, Measure, Owner, Place, Stage
from shop.bridge import fees, figures, rules
from shop.errors import ShopError
from shop.models import Cell, Job, PackAsFound

from .heading import local
from .packs_of import charge_temperature, groups, mixed, plan_of, rating, storage
from .test_report import require_tested

WHERE: dict[Place, str] = {
    Place.BENCH: "on the workshop's bench",
    Place.STOCK: "back in the workshop's stock, to be tested before any use",
    Place.QUARANTINE: "in the workshop's quarantine",
    Place.PACK: "in another pack",
    Place.CUSTOMER: "handed back to their owner, ends insulated",
}


def hand_over_receipt(job: Job, heading: Heading) -> HandOverReceipt:
    """Return what the customer takes home; the name of who takes the device is written by hand."""
    if job.goes_back_from:
        return _goes_back(job, heading)
    require_tested(job)
    if Stage.EXAMINE not in job.route:
        raise ShopError("nobody_receives", f"Job {job.code} builds for stock; nobody is handed its pack.")
    plan = plan_of(job)
    origins = Counter(cell.origin for group in groups(plan) for cell in group.cells)
    return HandOverReceipt(
        heading=heading,
        customer=job.device.customer.name,
        complaint=job.complaint,
        taken_in_at=local(job.opened_at, heading.workshop.time_zone),
        found=rating(job.as_found),
        left=rating(plan),
        bought=origins[LotOrigin.BOUGHT],
        reclaimed=origins[LotOrigin.DONOR],
        measured_capacity_mah=figures.of_points(job, Stage.FINAL_TEST, Measure.CAPACITY).get("pack"),
        removed_owner=Owner(job.removed_owner).label,
        removed=_whereabouts(job),
        papers=_papers(job),
        received_by="",
        charger_voltage_mv=Decimal(plan.charger_voltage_mv),
        charge_temperature=charge_temperature(plan),
        storage=storage(plan),
        mixed=mixed(plan),
        charge_percent=rules.charge_told(plan),
    )


def _goes_back(job: Job, heading: Heading) -> HandOverReceipt:
    """Return what goes with a device that was not rebuilt: nothing came out of it, and nothing went in."""
    fee = fees.of_examination(job)
    found = PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    said = job.log.filter(verb="goes back without a rebuild").last()
    return HandOverReceipt(
        heading=heading,
        customer=job.device.customer.name,
        complaint=job.complaint,
        taken_in_at=local(job.opened_at, heading.workshop.time_zone),
        found=rating(found) if found else None,
        left=None,
        bought=0,
        reclaimed=0,
        measured_capacity_mah=None,
        removed_owner="",
        removed=(),
        papers=_papers(job),
        received_by="",
        charger_voltage_mv=None,
        charge_temperature=None,
        storage=None,
        goes_back=GoesBack(
            reason=str(said.facts["reason"]) if said else "",
            fee=fee.amount if fee else None,
            currency=fee.currency if fee else "",
            faults=tuple(said.facts.get("found", ())) if said else (),
            fee_is=_fee_is(job) if fee else None,
        ),
    )


def _fee_is(job: Job) -> FeeState | None:
    """Return what became of the fee, as it was written down with the hand-over; None where nobody said yet."""
    said = job.log.filter(verb="handed over").last()
    return FeeState(said.facts["fee_is"]) if said and said.facts.get("fee_is") else None


def _whereabouts(job: Job) -> tuple[Whereabouts, ...]:
    cells = Cell.objects.taken_off_by(job).select_related("container").order_by("pk")
    counted = Counter(_where(cell) for cell in cells)
    return tuple(Whereabouts(count, where) for where, count in counted.items())


def _where(cell: Cell) -> str:
    if cell.place == Place.CONSIGNED:
        return f"gone with container {cell.container}" if cell.container else "taken by the emergency route"
    if cell.container is not None:
        return f"in waste container {cell.container}"
    return WHERE.get(Place(cell.place), Place(cell.place).label)


def _papers(job: Job) -> tuple[tuple[str, str], ...]:
    others = job.documents.counting().exclude(kind=DocumentKind.HAND_OVER.value)
    issued = others.order_by("pk").defer("pdf", "content")
    return tuple((document.code, document.get_kind_display()) for document in issued)
