"""Pictures of a matching: where the chosen cells lie in the stock, what each group holds, what the ratio costs."""

from collections.abc import Mapping
from decimal import Decimal

import numpy as np
from django.forms import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path

from packs.errors import PacksError
from shop import plots
from shop.bridge import matching, unmatched
from shop.models import Plan
from shop.operations.base import BENCH
from shop.selectors import sheet
from shop.web.forms.match import DEFAULTS, MatchForm, read_signed
from shop.web.http import locale, numbers, page
from shop.web.jobs import get_job

from .curves import inches_for, svg

WIDE = (9.0, 3.6)
FREE_SHOWN = 2000
"""Free cells drawn at most, evenly out of all of them; more would only blacken the picture."""
PRICE_SECONDS = 2.0
CAPACITY, RESISTANCE = "Capacity [mAh]", "Resistance [mΩ]"


@page(*BENCH)
def match_stock(request: HttpRequest, number: int) -> HttpResponse:
    """Cells of the model in stock by capacity and resistance, those chosen with the number of their group."""
    plan, groups, _ = _shown(request, number)
    table = matching.stock_for(plan).table
    x, y = table.capacity_mah, table.dcir_uohm / 1000
    home = {code: group for group, codes in groups.items() for code in codes}
    shapes = len(plots.MARKS) - 1
    shape_of = {group: place % shapes for place, group in enumerate(groups)}
    known = np.isfinite(x) & np.isfinite(y)
    free = np.flatnonzero(known & np.array([code not in home for code in table.codes]))
    free = free[:: max(1, -(-len(free) // FREE_SHOWN))]
    clouds = [plots.Cloud("in stock", x[free].tolist(), y[free].tolist())]
    chosen = [row for row in np.flatnonzero(known).tolist() if table.codes[row] in home]
    for shape in range(min(shapes, len(groups))):
        rows = [row for row in chosen if shape_of[home[table.codes[row]]] == shape]
        label = ", ".join(str(group) for group in groups if shape_of[group] == shape)
        clouds.append(
            plots.Cloud(
                f"group {label}",
                x[rows].tolist(),
                y[rows].tolist(),
                [str(home[table.codes[row]]) for row in rows],
            )
        )
    return svg(
        plots.scatter_plot(clouds, CAPACITY, RESISTANCE, locale=locale(request), inches=inches_for(request, WIDE))
    )


@page(*BENCH)
def match_groups(request: HttpRequest, number: int) -> HttpResponse:
    """What each group holds, the weakest marked, with what no arrangement can beat as a line."""
    plan, groups, bound = _shown(request, number)
    try:
        pack, _ = matching.by_hand(plan, list(groups.values()), matching.NO_LIMITS, bound)
    except PacksError as error:
        raise Http404(str(error)) from error
    even = not pack.spread.magnitude
    bars = [
        plots.Bar(str(group.number), float(group.capacity.m_as("mAh")), marked=group.weakest and not even)
        for group in pack.groups
    ]
    limit = plots.Mark("the most any weakest group can hold", float(bound))
    image = plots.bar_plot(
        bars, "Group", CAPACITY, levels=[limit], locale=locale(request), inches=inches_for(request, WIDE)
    )
    return svg(image)


@page(*BENCH)
def match_price(request: HttpRequest, number: int) -> HttpResponse:
    """The weakest group against the largest resistance ratio, all other limits as asked."""
    plan = _plan(number)
    form = MatchForm(request.GET if "health" in request.GET else DEFAULTS, job=plan.job, numbers=numbers(request))
    if not form.is_valid():
        raise Http404("a limit cannot be read")
    try:
        ratios, weakest = unmatched.price_of_ratio(plan, form.limits(plan), PRICE_SECONDS)
    except PacksError as error:
        raise Http404(str(error)) from error
    line = plots.Line("weakest group", ratios, weakest)
    return svg(
        plots.line_plot(
            [line],
            "Largest resistance ratio",
            "Weakest group [mAh]",
            locale=locale(request),
            inches=inches_for(request, WIDE),
        )
    )


def _plan(number: int) -> Plan:
    if (plan := sheet.standing_plan(get_job(number))) is None:
        raise Http404("no target pack is stated")
    return plan


def _shown(request: HttpRequest, number: int) -> tuple[Plan, Mapping[int, list[str]], Decimal]:
    """Return the plan and the groups as they were shown, by their number, with what no arrangement can beat."""
    plan = _plan(number)
    try:
        shown = read_signed(request.GET.get("groups", ""))
    except ValidationError as error:
        raise Http404("these are not groups that were shown") from error
    if shown["plan"] != [plan.pk, plan.version]:
        raise Http404("the target pack was changed")
    return plan, dict(zip(plan.open_groups, shown["groups"], strict=True)), Decimal(shown["bound"])


urlpatterns = [
    path("jobs/<int:number>/match/stock.svg", match_stock, name="match_stock"),
    path("jobs/<int:number>/match/groups.svg", match_groups, name="match_groups"),
    path("jobs/<int:number>/match/price.svg", match_price, name="match_price"),
]
