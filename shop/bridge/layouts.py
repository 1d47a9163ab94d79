"""Where cells, strips and joints of a plan lie, and their drawing."""

from collections.abc import Collection, Mapping

from django.utils.safestring import SafeString, mark_safe

from packs import drawing
from packs.layout import Layout, Strip, layout
from packs.terms import CellFormat, Face, Terminals
from shop.models import Plan

from .cells import arrangement

__all__ = ["Layout", "Strip", "of_plan", "picture", "working_order"]

LEAST_TEXT = 11.0
"""Pixels of a code on a screen at least, so that it is read at the length of an arm; common practice, no source."""

Places = Mapping[tuple[int, int], str]


def of_plan(plan: Plan) -> Layout:
    """Return the layout of a plan's pack."""
    return layout(arrangement(plan), CellFormat(plan.cell_model.cell_format), Terminals(plan.cell_model.terminals))


def working_order(plan: Plan) -> tuple[Strip, ...]:
    """Return the strips face by face, so that the pack is turned over once."""
    pack = of_plan(plan)
    return tuple(strip for face in Face for strip in pack.strips_on(face))


def picture(
    plan: Plan,
    codes: Places,
    readings: Places | None = None,
    *,
    links: Places | None = None,
    weakest: Collection[int] = (),
    waiting: tuple[int, int] | None = None,
) -> SafeString:
    """Return the drawing of every face: codes and readings where there are any, links to the cells on a screen.

    ``weakest`` marks groups, ``waiting`` the position whose cell comes next.
    """
    svg = drawing.faces_svg(
        of_plan(plan), codes, readings, links=links, weakest=weakest, waiting=waiting, least_text=LEAST_TEXT
    )
    return mark_safe(svg)  # noqa: S308 - the drawing escapes every word it is given
