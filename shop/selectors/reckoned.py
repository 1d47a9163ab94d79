"""What a quote is reckoned with before anybody typed it, each with the ground it stands on."""

from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from packs.terms import Owner
from shop.models import Cell, CellModel, Job, Lot, PackTime, PlanPosition, Prices

from .pack_notes import Notes

FOUR_PLACES = Decimal("0.0001")
NOTHING_KNOWN = {
    "labour_minutes": "no time is known yet: neither noted on a job, nor stated with the prices",
    "test_minutes": "no time is stated with the prices",
    "cell_cost": "no lot with a known cost",
}
"""What stands beside a field that nothing could be put into."""


@dataclass(frozen=True)
class Minutes:
    """How long something takes, and how that is known."""

    value: int
    because: str


@dataclass(frozen=True)
class Cost:
    """What one cell costs, and how that is known."""

    value: Decimal
    because: str


def times(notes: Notes | None) -> dict[str, Minutes]:
    """Return minutes of work and of testing: as noted on such packs, else on other packs, else as stated with the prices.

    A time that a job noted runs from opening the case to the last test, so it holds the testing as well.
    """
    prices = Prices.objects.last()
    if labour := _noted(notes) or _noted_elsewhere():
        return {"labour_minutes": labour, "test_minutes": Minutes(0, "the time noted holds the testing as well")}
    stated = ("labour_minutes", "test_minutes")
    given = {name: getattr(prices, name) for name in stated} if prices else {}
    because = "of a usual pack, as stated with the prices"
    return {name: Minutes(value, because) for name, value in given.items() if value is not None}


def _noted(notes: Notes | None) -> Minutes | None:
    if notes is None or notes.minutes is None:
        return None
    count = len(notes.times)
    return Minutes(notes.minutes, f"mean of {_jobs(count)} on this pack model, from the pack notes")


def _noted_elsewhere() -> Minutes | None:
    """Return the middle of the labour times of other pack models; each job counts once, with its last time."""
    last = dict(PackTime.objects.order_by("pk").values_list("job_id", "minutes"))
    if not last:
        return None
    return Minutes(round(median(last.values())), f"{_middle(len(last))}: none of this one yet")


def _middle(count: int) -> str:
    return "of 1 job on another pack" if count == 1 else f"middle of {count} jobs on other packs"


def _jobs(count: int) -> str:
    return "1 job" if count == 1 else f"{count} jobs"


def cell_cost(job: Job, model: CellModel) -> Cost | None:
    """Return the mean cost of the cells that are reserved, else of those free for the job, else of the lot bought last."""
    reserved = PlanPosition.objects.filter(plan__job=job, open=True, cell__lot__cell_model=model)
    held = list(Cell.objects.filter(pk__in=reserved.values("cell")).select_related("lot"))
    if mean := _mean(held, "reserved"):
        return mean
    if mean := _mean(list(Cell.objects.free(job).filter(lot__cell_model=model).select_related("lot")), "free in stock"):
        return mean
    bought = Lot.objects.filter(cell_model=model, unit_cost__isnull=False).order_by("-received_on", "-pk").first()
    if bought is None or bought.unit_cost is None:
        return None
    return Cost(bought.unit_cost, f"lot {bought.code}, the last that came in; none of it is free now")


def _mean(cells: list[Cell], where: str) -> Cost | None:
    """Return the mean over cells whose cost is known; what a customer brought costs the workshop nothing."""
    paid = [Decimal(0) if cell.lot.owner == Owner.CUSTOMER else cell.lot.unit_cost for cell in cells]
    known = [cost for cost in paid if cost is not None]
    if not known:
        return None
    unknown = f"; {len(paid) - len(known)} more of unknown cost" if len(known) < len(paid) else ""
    words = f"mean of {len(known)} cell{'s' * (len(known) > 1)} {where}{unknown}"
    return Cost((sum(known, Decimal(0)) / len(known)).quantize(FOUR_PLACES), words)
