"""How far the cells of a pack lie apart, from the sizes on their data sheet."""

from packs.conductors.plan import HOLDER_WALL
from packs.errors import MissingFact
from packs.layout import Geometry, Spacing, flat_spacing, geometry, holder_spacing
from packs.terms import CellFormat
from packs.units import Quantity, ureg
from shop.models import CellModel, Plan

from . import cells, layouts

FLAT_GAP = ureg.Quantity(1.0, "millimeter")
"""Insulation and room to swell between two flat cells; common practice, no source."""
TERMINALS_APART = 0.7
"""Of a flat cell, middle to middle, as a share of its width; common practice, no source: its data sheet goes first."""

_ROUND = "How far the cells lie apart is not known: the cell model has no diameter."
_FLAT = "How far the cells lie apart is not known: the cell model lacks its {}."


def measured(plan: Plan) -> Geometry:
    """Return the cells of a plan in their places, in millimetres.

    Raises
    ------
    MissingFact
        The cells' spacing is not known.
    """
    return geometry(layouts.of_plan(plan), spacing(plan.cell_model))


def spacing(row: CellModel) -> Spacing:
    """Return how far cells of a model lie apart: round ones in a holder, flat ones side by side along their width.

    Raises
    ------
    MissingFact
        A size is not on the data sheet.
    """
    if row.cell_format == CellFormat.ROUND:
        diameter = cells.model(row).diameter
        if diameter is None:
            raise MissingFact(_ROUND)
        return holder_spacing(diameter, HOLDER_WALL)
    missing = [word for word, size in (("width", row.width_um), ("thickness", row.diameter_um)) if not size]
    if missing or not row.width_um or not row.diameter_um:
        raise MissingFact(_FLAT.format(" and its ".join(missing)))
    width = _millimetres(row.width_um)
    return flat_spacing(width, _millimetres(row.diameter_um), TERMINALS_APART * width, FLAT_GAP)


def _millimetres(um: int) -> Quantity:
    length: Quantity = ureg.Quantity(um / 1000, "millimeter")
    return length
