"""A pack that was rebuilt here comes back."""

from collections.abc import Iterable
from datetime import datetime

from packs.terms import DangerSign, JobKind, Owner, Place
from shop.errors import ShopError
from shop.models import Cell, CountBasis, Job, PlanState, User

from .base import EVERYONE, moment, verb
from .opening import CellCount, PackSize, bring_in_device, open_job


@verb(*EVERYONE)
def take_in_return(
    *,
    returned: Job,
    signs: Iterable[DangerSign],
    removed_owner: Owner,
    by: User,
    complaint: str = "",
    size: PackSize | None = None,
    now: datetime | None = None,
) -> Job:
    """A pack that was rebuilt here and comes back is a job of its own, linked to the first; danger signs come first."""
    at = moment(now)
    returned = Job.objects.select_for_update().get(pk=returned.pk)
    _require_returnable(returned)
    job = Job(
        device=returned.device,
        complaint=complaint,
        kind=JobKind.WARRANTY.value,
        returns=returned,
        removed_owner=removed_owner.value,
    )
    open_job(job, signs, by=by, at=at)
    cells = returned.plans.get(state=PlanState.BUILT.value).cell_count
    bring_in_device(job, CellCount(cells=cells, basis=CountBasis.KNOWN), by=by, at=at, size=size)
    return job


def returnable(job: Job) -> bool:
    """Whether the pack of a job can come back."""
    try:
        _require_returnable(job)
    except ShopError:
        return False
    return True


def _require_returnable(job: Job) -> None:
    """Refuse a job that is open, that handed no rebuilt pack over, or whose pack is back already."""
    if job.closed_at is None:
        raise ShopError("not_closed", f"Job {job.code} is still open.", job=job.code)
    if not Cell.objects.still_in_pack_of(job).exists():
        raise ShopError("nothing_rebuilt", f"No pack rebuilt on job {job.code} is with its owner.", job=job.code)
    if job.returned_as.exclude(items__place=Place.CUSTOMER.value).exists():
        raise ShopError("returned_already", f"The pack of job {job.code} is back in the shop already.", job=job.code)
