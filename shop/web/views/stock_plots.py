"""Pictures of the stock: how a lot scatters, and how one cell went over its tests."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path

from packs.terms import Measure
from packs.units import Kind, show, ureg
from shop import plots
from shop.bridge import lot_figures
from shop.models import Cell, Lot
from shop.web.http import locale, page

from .curves import inches_for, svg

WIDE = (9.0, 3.0)
LEAST_CELLS = 2
CAPACITY, RESISTANCE = "Capacity [mAh]", "DC resistance [mΩ]"
OVER_TESTS = {Measure.CAPACITY: "capacity, of rated", Measure.DC_RESISTANCE: "DC resistance, of a new cell's"}


@page()
def lot_capacity(request: HttpRequest, code: str) -> HttpResponse:
    """How many cells of a lot have which capacity."""
    known = [cell.capacity for cell in lot_figures.of_lot(_lot(code)) if cell.capacity is not None]
    if len(known) < LEAST_CELLS:
        raise Http404("not enough cells of the lot were measured")
    counted = lot_figures.bins(known)
    bars = [plots.Bar(_from(one.low, request), one.count) for one in counted]
    end = _from(2 * counted[-1].low - counted[-2].low, request)  # as wide as the one before
    inches = inches_for(request, WIDE)
    return svg(plots.bar_plot(bars, CAPACITY, "Cells", ends_at=end, locale=locale(request), inches=inches))


@page()
def lot_resistance(request: HttpRequest, code: str) -> HttpResponse:
    """Capacity and DC resistance of the cells of a lot, beside a new one."""
    lot = _lot(code)
    known = [(cell.capacity, cell.resistance) for cell in lot_figures.of_lot(lot)]
    whole = [(capacity, ohm) for capacity, ohm in known if capacity is not None and ohm is not None]
    if len(whole) < LEAST_CELLS:
        raise Http404("not enough cells of the lot were measured")
    clouds = [plots.Cloud(f"lot {lot.code}", [x for x, _ in whole], [y for _, y in whole])]
    if new := lot_figures.new_of(lot):
        clouds.append(plots.Cloud("new cell, rated", [new[0]], [new[1]]))
    return svg(
        plots.scatter_plot(clouds, CAPACITY, RESISTANCE, locale=locale(request), inches=inches_for(request, WIDE))
    )


@page()
def cell_drift(request: HttpRequest, code: str) -> HttpResponse:
    """How capacity and DC resistance of a cell went over its tests."""
    cell = get_object_or_404(Cell.objects.select_related("lot__cell_model"), code=code)
    lines = [plots.Line(OVER_TESTS[measure], one.days, one.percent) for measure, one in lot_figures.drift(cell).items()]
    if not lines:
        raise Http404("the cell was not tested twice")
    # a single line is named by its axis, several by the names above the plot
    what = f"{lines[0].label[0].upper()}{lines[0].label[1:]} [%]" if len(lines) == 1 else "[%]"
    image = plots.line_plot(
        lines, "Days since the first test", what, locale=locale(request), inches=inches_for(request, WIDE)
    )
    return svg(image)


def _lot(code: str) -> Lot:
    return get_object_or_404(Lot.objects.select_related("cell_model"), code=code)


def _from(low: float, request: HttpRequest) -> str:
    return show(ureg.Quantity(low, ""), Kind.COUNT, locale=locale(request), digits=0).value


urlpatterns = [
    path("stock/plots/capacity/<path:code>/", lot_capacity, name="lot_capacity"),
    path("stock/plots/resistance/<path:code>/", lot_resistance, name="lot_resistance"),
    path("stock/plots/drift/<path:code>/", cell_drift, name="cell_drift"),
]
