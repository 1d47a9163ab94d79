"""Cells that were used before: their history, a lead's signature, and the order for a medical device."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import DeviceClass
from shop.models import Lot
from shop.operations import histories as operations
from shop.operations.base import BENCH, LEADS
from shop.web.forms.histories import HistoryForm, OrderForm, SignForm
from shop.web.http import numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job


def _lot(code: str) -> Lot:
    return get_object_or_404(Lot.objects.select_related("cell_model", "donor_job"), code=code)


@page(*BENCH)
def lot_history(request: HttpRequest, code: str) -> HttpResponse:
    """What is known of the history of a lot."""
    lot = _lot(code)
    known = lot.histories.last()
    initial = {name: getattr(known, name) for name in HistoryForm.base_fields} if known else {"donor_pack": _donor(lot)}
    form = HistoryForm(request.POST or None, initial=initial, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.state_history(lot=lot, **form.values(), by=person(request))
            say(request, "It is in the book. A lead signs what the cells may serve.")
            return f"{reverse('lot', args=[lot.code])}#history"

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/lot_history.html", form=form, lot=lot, known=known)


def _donor(lot: Lot) -> str:
    return f"{lot.donor_job.device}, {lot.donor_job.code}" if lot.donor_job else ""


@page(*LEADS)
def sign_lot(request: HttpRequest, code: str) -> HttpResponse:
    """A lead signs which device classes the used cells of a lot may serve."""
    lot = _lot(code)
    known, signed = lot.histories.last(), lot.signatures.last()
    form = SignForm(request.POST or None, initial={"device_classes": signed.device_classes} if signed else None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.sign_lot(lot=lot, **form.values(), by=person(request))
            say(request, f"Lot {lot} is signed.")
            return f"{reverse('lot', args=[lot.code])}#history"

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/lot_sign.html", form=form, lot=lot, known=known, signed=signed)


@page()
def facility_order(request: HttpRequest, number: int) -> HttpResponse:
    """What the facility that uses a medical device ordered in writing."""
    job = get_job(number)
    form = OrderForm(request.POST or None)
    medical = job.device.device_class == DeviceClass.MEDICAL
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.state_order(job=job, **form.values(), by=person(request), version=version(request))
            say(request, "The order stands with the job.")
            return reverse("job", args=[number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "jobs/facility_order.html",
        job=job,
        form=form,
        medical=medical,
        orders=job.facility_orders.select_related("by").order_by("-pk"),
    )


urlpatterns = [
    path("stock/histories/<path:code>/sign/", sign_lot, name="sign_lot"),
    path("stock/histories/<path:code>/", lot_history, name="lot_history"),
    path("jobs/<int:number>/facility-order/", facility_order, name="facility_order"),
]
