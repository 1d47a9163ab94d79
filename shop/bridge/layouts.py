"""Where cells, strips and joints of a plan lie, and their drawing."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from django.utils.safestring import SafeString, mark_safe

from packs import drawing
from packs.layout import Layout, Strip, layout
from packs.terms import CellFormat, Face, Packing, Terminals
from shop.models import Plan

from .cells import arrangement
from .standing import STAYS

__all__ = ["Layout", "Strip", "joints_to_make", "of_plan", "picture", "to_join", "working_order"]


LEAST_TEXT = 11.0
"""Pixels of a code on a screen at least, so that it is read at the length of an arm; common practice, no source."""

Places = Mapping[tuple[int, int], str]


def of_plan(plan: Plan) -> Layout:
    """Return the layout of a plan's pack."""
    form, terminals = CellFormat(plan.cell_model.cell_format), Terminals(plan.cell_model.terminals)
    return layout(arrangement(plan), form, terminals, packing=Packing(plan.packing))


def working_order(plan: Plan) -> tuple[Strip, ...]:
    """Return the strips that take joints face by face, so that the pack is turned over once."""
    strips = to_join(plan)
    return tuple(strip for face in Face for strip in strips if strip.face is face)


def to_join(plan: Plan) -> tuple[Strip, ...]:
    """Return the strips that take joints, each with those alone that are made: of the groups that are built anew.

    Group g lies between strips g and g + 1, so a repair touches both; joints of groups that stay are left as they are.
    """
    open_groups = set(plan.open_groups)
    made = [
        replace(strip, joints=tuple(joint for joint in strip.joints if joint.group in open_groups))
        for strip in of_plan(plan).strips
    ]
    return tuple(strip for strip in made if strip.joints)


def joints_to_make(plan: Plan) -> int:
    """Return how many joints are made: two to each cell that goes in."""
    return sum(len(strip.joints) for strip in to_join(plan))


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
    stay = {(group, place): STAYS for group in plan.standing_groups for place in range(1, plan.parallel + 1)}
    svg = drawing.faces_svg(
        of_plan(plan),
        codes,
        stay | dict(readings or {}),
        links=links,
        weakest=weakest,
        waiting=waiting,
        least_text=LEAST_TEXT,
        built=plan.replaced,
        conductor=plan.conductor,
    )
    return mark_safe(svg)  # noqa: S308 - the drawing escapes every word it is given
