"""The quote."""

from decimal import Decimal

from packs.documents import Heading, Quote, QuoteLine
from packs.terms import RemovedWay, Verdict
from packs.units import rounded
from shop import models
from shop.errors import ShopError

from .packs_of import rating


def quote(job: models.Job, heading: Heading) -> Quote:
    """Return what was offered last and has no paper yet; a quote is made out on its own page, with its price."""
    row = job.quotes.filter(document__isnull=True).select_related("cell_model").last()
    if row is None:
        raise ShopError("no_quote", "A quote is made out on its own page, with parts, work and price.")
    seen = models.PackDetails.objects.filter(job=job).last()
    before = job.quotes.filter(document__isnull=False).select_related("document").last()
    return Quote(
        heading=heading,
        customer=job.device.customer.name,
        complaint=job.complaint,
        offered=rating(row),
        expected_capacity_mah=row.expected_capacity_mah,
        stays=row.stays,
        limits_of_use=row.limits_of_use,
        board_unknown=row.board_unknown,
        removed=RemovedWay(row.removed),
        verdict=Verdict(row.verdict),
        reasons=tuple(row.reasons),
        currency=row.currency,
        lines=tuple(QuoteLine(line["label"], line["detail"], Decimal(line["price"])) for line in row.lines),
        net=rounded(row.total - row.tax, row.currency),
        tax_share=row.tax_percent / 100,
        tax=rounded(row.tax, row.currency),
        total=rounded(row.total, row.currency),
        examination_fee=rounded(row.examination_fee, row.currency),
        valid_until=row.valid_until,
        replaces=before.code if before else "",
        replaced=tuple(row.replaced),
        ip_code=seen.ip_code if seen else "",
    )
