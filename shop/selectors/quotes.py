"""Quotes of a job, and what is known already when one is made out."""

from decimal import Decimal
from typing import Any

from packs.errors import PacksError
from packs.terms import JointMethod, QuoteState, StripMaterial, Unpowered
from packs.units import amount
from shop.bridge import strips
from shop.models import Job, PackAsFound, Plan, Prices, Quote
from shop.models.quotes import WHAT_STAYS

from . import pack_notes, sheet
from .known_risks import known_risks, risks_in_words
from .reckoned import NOTHING_KNOWN, cell_cost, times

USUAL_WIDTH_UM, USUAL_THICKNESS_UM = 8_000, 150
"""Of strip on round cells, where nobody stated it yet; common practice, no source."""


CUT = ("strip_um", "wire_um")
"""What a cut list tells of a target."""


def standing(job: Job) -> Quote | None:
    """Return the quote that counts for a job."""
    rows = job.quotes.exclude(state=QuoteState.REPLACED.value)
    return rows.select_related("document__issued_by", "cell_model", "recorded_by").last()


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
    """Return what is known of the pack to be quoted: of the target, else as found, and what the notes say."""
    found = PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    row = sheet.standing_plan(job) or found
    notes = pack_notes.of_device(job.device)
    told: dict[str, Any] = {"risks": [risk.value for risk in known_risks(job, found, notes)]}
    told |= {name: one.value for name, one in times(notes).items()}
    if found:
        told["board_unknown"] = found.unpowered == Unpowered.UNKNOWN
    if row:
        parallel = row.fullest if isinstance(row, PackAsFound) else row.parallel
        told |= {"arrangement": f"{row.series}s{parallel}p", "cell_model": row.cell_model_id}
        if cost := cell_cost(job, row.cell_model):
            told["cell_cost"] = cost.value
    if isinstance(row, Plan):
        told |= _cut(row)
        if row.replaced:
            told["replaced"] = ", ".join(map(str, row.replaced))
    elif row and not job.part_stays and row.joint_method == JointMethod.SPOT_WELD:
        told |= _cut(_as_it_was(row))
    if job.part_stays:
        told["stays"] = f"the cells of all other groups, with their age; {WHAT_STAYS}"
    told |= _quoted_before(job, row, told["risks"])
    return {name: value for name, value in told.items() if value is not None}


def _quoted_before(job: Job, row: Plan | PackAsFound | None, known_here: list[str]) -> dict[str, Any]:
    """Return what the quote that counts says, so that a quote made out anew starts from it.

    Strip and wire of a target that was stated later come from its cut list.
    """
    quote = standing(job)
    if quote is None or quote.document is None:
        return {}
    names = ("expected_capacity_mah", "stays", "limits_of_use", "board_unknown", "removed")
    said: dict[str, Any] = {name: getattr(quote, name) for name in names}
    said["risks"] = list(dict.fromkeys([*quote.risks, *known_here]))
    later = isinstance(row, Plan) and row.stated_at > quote.document.issued_at
    reckoned = {name: Decimal(text) for name, text in (quote.offer or {}).items() if not (later and name in CUT)}
    return said | reckoned


def grounds(job: Job) -> dict[str, str]:
    """Return where minutes and the cost of a cell come from, by field; fields that nothing is known of say so."""
    row = sheet.standing_plan(job) or PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    cost = cell_cost(job, row.cell_model) if row else None
    notes = pack_notes.of_device(job.device)
    known = times(notes) | ({"cell_cost": cost} if cost else {})
    found = PackAsFound.objects.filter(job=job).first()
    said = NOTHING_KNOWN | {name: one.because for name, one in known.items()}
    quote = standing(job)
    before = dict.fromkeys((quote.offer or {}) if quote else (), f"as in quote {quote}")
    return said | before | {"risks": risks_in_words(job, found, notes)}


def _cut(plan: Plan) -> dict[str, int]:
    """Return how much strip and wire goes in: by the cut list, and for the two leads."""
    wire = {"wire_um": 2 * plan.lead_length_um} if plan.lead_length_um else {}
    try:
        strip = strips.cutting(plan).total_length
    except PacksError:
        return wire
    return {"strip_um": int(amount(strip, "um")), **wire}


def _as_it_was(found: PackAsFound) -> Plan:
    """Return a rebuild of a pack as it was found, as far as a cut list asks for it, before a target is stated."""
    return Plan(
        job=found.job,
        cell_model=found.cell_model,
        series=found.series,
        parallel=found.fullest,
        joint_method=found.joint_method,
        strip_material=StripMaterial.NICKEL_200.value,
        strip_width_um=USUAL_WIDTH_UM,
        strip_thickness_um=USUAL_THICKNESS_UM,
    )
