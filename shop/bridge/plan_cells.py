"""The cells that a plan is reckoned with: the very ones after matching, before that cells by their data sheet."""

from dataclasses import dataclass
from statistics import fmean

from packs.cells import Cell as CellFigures
from packs.errors import MissingFact
from packs.terms import Measure
from packs.units import Quantity, of
from shop.models import Cell, Plan, Reading

from . import cells, figures, standing


@dataclass(frozen=True)
class PlanCells:
    """Cells group by group from the negative end.

    ``matched`` tells whether they are the very cells; else ``tested`` free cells of the model gave their mean DC
    resistance, and the capacity is the rated one. ``stay`` numbers groups of the old pack, of whose cells nothing is
    known: they have no cells here, and ``estimate`` is the DC resistance of measured cells of their model.
    """

    groups: tuple[tuple[CellFigures, ...], ...]
    matched: bool
    tested: int
    stay: tuple[int, ...] = ()
    estimate: Quantity | None = None

    @property
    def resistance(self) -> Quantity | None:
        """Mean DC resistance of one cell, of a repair the estimate; None where one of them was not measured.

        An old cell has more than one that was found good, so the short circuit that follows is rather too large.
        """
        if self.stay:
            return self.estimate
        every = [cell.dc_resistance for group in self.groups for cell in group]
        known = [float(one.to("ohm").magnitude) for one in every if one is not None]
        return of(Measure.DC_RESISTANCE, fmean(known) * 1e6) if known and len(known) == len(every) else None

    def require_resistance(self) -> None:
        """Refuse where no DC resistance stands behind the cells, or nothing behind those of groups that stay.

        Raises
        ------
        packs.errors.MissingFact
            Free cells of the model have no DC resistance, or only one at 1 kHz; or groups stay.
        """
        if self.stay:
            raise MissingFact(
                f"No forecast: {standing.named(self.stay)} of the old pack stay, and of their cells neither capacity nor "
                "DC resistance is known one by one."
            )
        if not self.matched and not self.tested:
            raise MissingFact(
                "DC resistance not measured: no free cell of this model has one. A 1 kHz resistance gives no forecast."
            )


def of_plan(plan: Plan) -> PlanCells:
    """Return the cells of a plan, saved or not."""
    if plan.standing_groups:
        mean, _ = _measured(plan)
        return PlanCells((), matched=False, tested=0, stay=plan.standing_groups, estimate=mean)
    positions = list(plan.positions.select_related("cell")) if plan.pk and plan.accepted_at else []
    if positions:
        known = figures.of_cells([position.cell for position in positions])
        placed = [(spot.group, cells.cell(spot.cell.code, known.get(spot.cell_id, {}))) for spot in positions]
        groups = [tuple(cell for at, cell in placed if at == group) for group in range(1, plan.series + 1)]
        return PlanCells(tuple(groups), matched=True, tested=0)
    return _by_data_sheet(plan)


def _by_data_sheet(plan: Plan) -> PlanCells:
    mean, tested = _measured(plan)
    alike = CellFigures(
        str(plan.cell_model), of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah), dc_resistance=mean
    )
    return PlanCells(((alike,) * plan.parallel,) * plan.series, matched=False, tested=tested)


def _measured(plan: Plan) -> tuple[Quantity | None, int]:
    """Return the mean DC resistance of the free cells of a plan's model, and of how many it is known."""
    rows = Reading.objects.still_telling().filter(
        measure=Measure.DC_RESISTANCE.value,
        cell__in=Cell.objects.free(plan.job).filter(lot__cell_model=plan.cell_model),
    )
    newest = dict(rows.values_list("cell_id", "value"))
    return of(Measure.DC_RESISTANCE, fmean(newest.values())) if newest else None, len(newest)
