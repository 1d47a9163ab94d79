"""A danger sign on a pack that is open or newly built: it is not taken apart, it goes outside as one whole item."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ObjectDoesNotExist

from packs.terms import Condition, DangerSign, Place, Stage
from shop.errors import ShopError
from shop.models import Cell, CountBasis, Item, ItemKind, Job, Plan, PlanPosition, PlanState, User

from . import book, conditions, steps
from .base import advance, save
from .opening import condition_of

SEEN = "danger sign seen"
PACK_LENGTH = 160


@dataclass(frozen=True)
class Whole:
    """What stays together: the new pack with the cells placed in it, or what is left of the old one."""

    name: str
    cells: int
    placed: list[Cell]


def whole(job: Job) -> Whole | None:
    """Return what of a job's pack is still one piece; None where only single cells are left, or it is outside."""
    if outside(job):
        return None
    placed = list(Cell.objects.filter(place=Place.PACK.value, job=job))
    if placed:
        return Whole(f"New pack of {job.device}", len(placed), placed)
    left = _left_in_the_old_pack(job)
    return Whole(f"What is left of the old pack of {job.device}", left, []) if left else None


def outside(job: Job) -> Item | None:
    """Return the item as which an open or new pack went outside when it showed a danger sign."""
    seen = job.items.filter(kind__in=[ItemKind.PACK.value, ItemKind.DEVICE.value], movements__note=SEEN)
    return seen.first() if job.given_up else None


def take_outside(
    job: Job, pack: Whole, signs: Iterable[DangerSign], *, in_device: bool, by: User, at: datetime
) -> None:
    """The pack leaves the work area in one piece with the cells in it; of the job only what was removed remains."""
    signs = list(signs)
    condition = condition_of(signs)
    said = f"{SEEN}: {', '.join(sign.label for sign in signs)}"
    device = job.items.to_give_back().first() if in_device else None
    if device is None:
        _set_apart(job, pack, condition, by, at)
    else:
        device.condition, device.cell_count, device.count_basis = condition.value, pack.cells, CountBasis.KNOWN.value
        book.move(device, Place.OUTSIDE, by=by, at=at, job=job, note=SEEN)
    for cell in pack.placed:
        conditions.lower_to(cell, condition, f"in the pack: {said}"[:300], by=by, at=at)
    PlanPosition.objects.filter(plan__job=job, placed_at__isnull=True).update(open=False)
    Plan.objects.filter(job=job).update(state=PlanState.ABANDONED.value)
    steps.give_up(job, by=by, at=at)
    job.given_up = job.given_up or said
    advance(job, Stage.REMOVED)


def leave_with(item: Item, note: str, *, by: User, at: datetime) -> None:
    """The cells of a new pack that went outside leave with it, and the book of each says how."""
    if outside(item.job) == item:
        for cell in Cell.objects.filter(place=Place.PACK.value, job=item.job):
            book.move(cell, Place.PACK, by=by, at=at, job=item.job, note=f"left with its pack, {note}"[:200])


def _set_apart(job: Job, pack: Whole, condition: Condition, by: User, at: datetime) -> None:
    item = Item(
        job=job,
        kind=ItemKind.PACK.value,
        description=pack.name[:PACK_LENGTH],
        cell_count=pack.cells,
        count_basis=CountBasis.KNOWN.value,
        condition=condition.value,
        place=Place.OUTSIDE.value,
    )
    book.bring_in(save(item), by=by, at=at, job=job, note=SEEN)


def _left_in_the_old_pack(job: Job) -> int:
    if Stage(job.stage) is not Stage.DISMANTLE:
        return 0
    try:
        counted: int = job.as_found.cell_count
    except ObjectDoesNotExist:
        return 0
    return counted - Cell.objects.removed_from_pack_of(job).count()


def require_whole(job: Job) -> Whole:
    """Return what of a job's pack is one piece, or say how a single cell that shows a sign is written down."""
    pack = whole(job)
    if pack is None:
        raise ShopError(
            "single_cells",
            "No pack of this job stands in the shop in one piece. On the page of a cell that shows a sign, say that "
            "it is worse: damaged, or liable to react.",
        )
    return pack
