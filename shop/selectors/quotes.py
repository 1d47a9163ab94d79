"""Quotes of a job, and what is known already when one is made out."""

from decimal import Decimal
from typing import Any

from packs.terms import Opening, QuoteState, Risk
from shop.models import CellModel, Job, Lot, PackAsFound, Prices, Quote

from . import pack_notes, sheet


def standing(job: Job) -> Quote | None:
    """Return the quote that counts for a job."""
    rows = job.quotes.exclude(state=QuoteState.REPLACED.value)
    return rows.select_related("document", "cell_model", "recorded_by").last()


def earlier(job: Job) -> list[Quote]:
    """Return the quotes that a newer one replaced."""
    return list(job.quotes.filter(state=QuoteState.REPLACED.value).select_related("document"))


def prices() -> Prices | None:
    """Return what the workshop reckons with now."""
    return Prices.objects.last()


def history(most: int = 20) -> list[Prices]:
    """Return what it reckoned with, the newest first."""
    return list(Prices.objects.select_related("by").order_by("-pk")[:most])


def known(job: Job) -> dict[str, Any]:
    """Return what is known of the pack to be quoted: that of the target, else the one that was found."""
    notes = pack_notes.of_device(job.device)
    told: dict[str, Any] = {"labour_minutes": notes.minutes} if notes and notes.minutes is not None else {}
    if notes and notes.row.opens == Opening.POTTED:
        told["risks"] = [Risk.POTTED.value]
    row = sheet.standing_plan(job) or PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    if row is None:
        return told
    cost = cell_cost(row.cell_model)
    given: dict[str, Any] = told | {"arrangement": f"{row.series}s{row.parallel}p", "cell_model": row.cell_model_id}
    return given | ({} if cost is None else {"cell_cost": cost})


def cell_cost(model: CellModel) -> Decimal | None:
    """Return what a cell of the model cost in the lot that came in last."""
    lots = Lot.objects.filter(cell_model=model, unit_cost__isnull=False)
    return lots.order_by("-received_on", "-pk").values_list("unit_cost", flat=True).first()
