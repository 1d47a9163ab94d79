"""What else an opened pack shows: stated, and told."""

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import Stage
from shop.bridge import cautions
from shop.models import Job, PackDetails
from shop.operations import details as operations
from shop.operations.base import BENCH
from shop.selectors import details as told
from shop.selectors import sheet
from shop.web.forms.base import QuantityField
from shop.web.forms.details import DetailsForm, Metal
from shop.web.http import locale, numbers, page, person, say, show, submit, version, warn
from shop.web.jobs import get_job
from shop.web.prefill import typed


@page(*BENCH)
def pack_details(request: HttpRequest, number: int) -> HttpResponse:
    """How the case was shut, insulation, cut-offs and contacts of the pack as found."""
    job = get_job(number)
    row = told.of_job(job)
    form = DetailsForm(request.POST or None, initial=_known(request, row), numbers=numbers(request))

    def do() -> str:
        kept = operations.describe(job=job, details=form.details(), by=person(request), version=version(request))
        say(request, "What the pack shows is in the book.")
        for finding in kept.findings:
            if finding["outcome"] != "pass":
                warn(request, finding["message"])
        return reverse("examine" if Stage(job.stage) is Stage.EXAMINE else "job", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(
        request,
        "details/page.html",
        job=job,
        form=form,
        row=row,
        lines=told.lines(row, locale=locale(request)) if row else [],
        open=_open(job),
        action=sheet.next_action(job),
        cautions=cautions.for_stage(Stage.EXAMINE, highest_mv=job.device.rated_voltage_mv or 0),
    )


def _open(job: Job) -> bool:
    return job.closed_at is None and not job.held and not job.parked and Stage(job.stage) in operations.WHILE_OLD


def _known(request: HttpRequest, row: PackDetails | None) -> dict[str, Any]:
    """Return what was stated last, as somebody would type it."""
    if row is None:
        return {}
    names = [name for name in DetailsForm.base_fields if name not in ("metal", "instrument")]
    known = {name: getattr(row, name) for name in names}
    known |= {"metal": {True: Metal.YES, False: Metal.NO, None: Metal.UNKNOWN}[row.metal].value}
    known |= {"instrument": row.instrument_id}
    for number, one in enumerate(row.contacts, start=1):
        known |= {f"contact_{number}_{name}": value for name, value in one.items()}
    fields = DetailsForm(initial=known, numbers=numbers(request)).fields
    quantities = {name: field for name, field in fields.items() if isinstance(field, QuantityField)}
    return known | {
        name: typed(field, _number(known.get(name)), locale=locale(request)) for name, field in quantities.items()
    }


def _number(value: Any) -> Decimal | int | None:
    return Decimal(value) if isinstance(value, str) and value else value


urlpatterns = [path("jobs/<int:number>/examine/details/", pack_details, name="pack_details")]
