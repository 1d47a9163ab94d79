"""Pages on which cell models, lots and meters are looked at whole and put right."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.models import CellModel, Instrument, Lot
from shop.operations import amending
from shop.operations.base import LEADS
from shop.selectors import amended, sheet
from shop.web.forms import money
from shop.web.forms.amending import BarForm, InstrumentCorrectionForm, LotCorrectionForm, as_typed
from shop.web.forms.stock import CellModelForm
from shop.web.http import attempt, locale, numbers, page, person, say, show, submit

BENCH = sheet.BENCH
DATA_SHEET = {
    "Capacity and voltages": ("rated_capacity_mah", "nominal_voltage_mv", "charge_limit_mv", "end_of_discharge_mv"),
    "Currents": ("max_charge_current_ma", "max_discharge_current_ma"),
    "Size and mass": ("diameter_um", "width_um", "height_um", "mass_mg"),
    "Holding and bolting": ("compression", "compression_note", "terminal_torque_mnm"),
}
"""What a data sheet says of a cell, in the order in which it is asked."""


@page(posts=LEADS)
def cell_model(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything that is known of a cell model, with its units; a lead bars one that is wrong."""
    row = get_object_or_404(CellModel, pk=pk)
    form = BarForm(request.POST or None)
    here = reverse("cell_model", args=[pk])
    if request.method == "POST" and "allow" in request.POST:
        return attempt(request, lambda: _allowed(request, row), back=here)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            amending.bar_cell_model(cell_model=row, by=person(request), **form.values())
            say(request, f"{row} takes no new lots and no new packs.")
            return here

        if answer := submit(request, form, do):
            return answer
    use = amending.use_of(row)
    return show(
        request,
        "stock/model.html",
        model=row,
        parts=[(part, [_line(request, row, name) for name in names]) for part, names in DATA_SHEET.items()],
        lots=Lot.objects.filter(cell_model=row, donor_job=None).count(),
        use=use,
        new_cell=row.new_cells.select_related("by").order_by("pk").last(),
        may_state=person(request).holds(*BENCH),
        may_correct=person(request).holds(*BENCH) and not use,
        may_bar=person(request).holds(*LEADS),
        form=form,
        changes=amended.corrections("cell model", row, locale=locale(request)),
    )


def _line(request: HttpRequest, row: CellModel, name: str) -> tuple[str, str]:
    label = CellModelForm.base_fields[name].label or name
    return str(label), amended.shown(row, name, getattr(row, name), locale=locale(request))


def _allowed(request: HttpRequest, row: CellModel) -> str:
    amending.allow_cell_model(cell_model=row, by=person(request))
    say(request, f"{row} is in use again.")
    return reverse("cell_model", args=[row.pk])


@page(*BENCH)
def cell_model_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a cell model right while nothing stands on it."""
    row = get_object_or_404(CellModel, pk=pk)
    initial = as_typed(CellModelForm, row, locale(request))
    form = CellModelForm(request.POST or None, initial=initial, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            named = amending.correct_cell_model(cell_model=row, by=person(request), **form.values())
            say(request, f"{named} is put right; what stood there before is kept below.")
            return reverse("cell_model", args=[pk])

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/model_correct.html", form=form, model=row, use=amending.use_of(row))


@page(*BENCH)
def lot_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Put right what of a lot is not history."""
    row = get_object_or_404(Lot.objects.select_related("cell_model"), pk=pk)
    initial: dict[str, Any] = money.as_typed(as_typed(LotCorrectionForm, row, locale(request)), numbers(request))
    form = LotCorrectionForm(request.POST or None, initial=initial, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            amending.correct_lot(lot=row, by=person(request), **form.values())
            say(request, f"Lot {row.code} is put right.")
            return reverse("lot", args=[row.code])

        if answer := submit(request, form, do):
            return answer
    changes = amended.corrections("lot", row, locale=locale(request))
    return show(request, "stock/lot_correct.html", form=form, lot=row, changes=changes)


@page(*BENCH)
def instrument(request: HttpRequest, pk: int) -> HttpResponse:
    """A meter: when it was calibrated, how far it may be off, and what was written down before."""
    row = get_object_or_404(Instrument, pk=pk)
    initial = as_typed(InstrumentCorrectionForm, row, locale(request))
    form = InstrumentCorrectionForm(request.POST or None, initial=initial, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            amending.correct_instrument(instrument=row, by=person(request), **form.values())
            say(request, f"{row} is put right; checks made before stay as they are.")
            return reverse("settings")

        if answer := submit(request, form, do):
            return answer
    changes = amended.corrections("meter", row, locale=locale(request))
    return show(request, "workshop/instrument.html", form=form, instrument=row, changes=changes)


urlpatterns = [
    path("stock/models/<int:pk>/", cell_model, name="cell_model"),
    path("stock/models/<int:pk>/correct/", cell_model_correct, name="cell_model_correct"),
    path("stock/correct-lot/<int:pk>/", lot_correct, name="lot_correct"),
    path("settings/meters/<int:pk>/", instrument, name="instrument"),
]
