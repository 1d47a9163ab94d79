"""Labels for cells, on sheets or on a roll."""

from django.http import HttpRequest, HttpResponse
from django.urls import path

from shop import labels
from shop.errors import ShopError
from shop.models import Cell
from shop.selectors import sheet as sheets
from shop.web.forms.labels import LabelsForm
from shop.web.http import numbers, page, show

LAST = "labels_on"
"""What the labels were printed on last, kept with who is signed in here."""


@page(*sheets.BENCH)
def cell_labels(request: HttpRequest) -> HttpResponse:
    """Choose cells and a sheet; what comes back is a PDF. Nothing in the book changes by it."""
    last = request.session.get(LAST, {})
    asked = {name: request.GET.get(name, "") for name in ("lot", "codes")}
    form = LabelsForm(request.POST or None, initial={"first": 1, **last, **asked}, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():
        try:
            made = _made(form)
        except ShopError as error:
            form.refuse(error)
        else:
            request.session[LAST] = {name: form.data.get(name, "") for name in ("sheet", "width_um", "height_um")}
            answer = HttpResponse(made, content_type="application/pdf")
            answer["Content-Disposition"] = 'inline; filename="labels.pdf"'
            return answer
    return show(request, "stock/labels.html", form=form)


def _made(form: LabelsForm) -> bytes:
    values = form.cleaned_data
    return labels.pdf([_label(cell) for cell in values["cells"]], values["sheet"], first=values["first"])


def _label(cell: Cell) -> labels.Label:
    return labels.Label(cell.code, (cell.lot.cell_model.name, f"lot {cell.lot.code}"))


urlpatterns = [path("stock/labels/", cell_labels, name="labels")]
