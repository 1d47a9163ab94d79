"""Where cells, strips and joints of a plan lie, and their drawing."""

from collections.abc import Mapping

from packs import drawing
from packs.layout import Layout, layout
from packs.terms import CellFormat, Terminals
from shop.models import Plan

from .cells import arrangement


def of_plan(plan: Plan) -> Layout:
    """Return the layout of a plan's pack."""
    return layout(arrangement(plan), CellFormat(plan.cell_model.cell_format), Terminals(plan.cell_model.terminals))


def picture(plan: Plan, codes: Mapping[tuple[int, int], str]) -> str:
    """Return the drawing of both faces, with cell codes where cells have been chosen."""
    return drawing.faces_svg(of_plan(plan), codes)
