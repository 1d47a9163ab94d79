"""Cell models and arrangements, as packs describes them."""

from decimal import Decimal

from packs import cells as cells_of
from packs import chemistry, topology
from packs.cells import CHARGE_TOLERANCE, REST_ABOVE_CHARGE_LIMIT, Cell, CellModelData, is_possible_at_rest
from packs.terms import NICKEL, CellFormat, Chemistry, Measure, Terminals
from packs.units import Quantity, of, ureg
from shop.models import CellModel, PackAsFound, Plan

Figures = dict[Measure, Decimal]


def _or_none(value: int | None, unit: str) -> Quantity | None:
    return None if value is None else ureg.Quantity(float(value), unit)


def model(row: CellModel) -> CellModelData:
    """Return a cell model with its data-sheet limits as quantities."""
    return CellModelData(
        name=row.name,
        chemistry=Chemistry(row.chemistry),
        format=CellFormat(row.cell_format),
        terminals=Terminals(row.terminals),
        rated_capacity=of(Measure.CAPACITY, row.rated_capacity_mah),
        nominal_voltage=of(Measure.VOLTAGE, row.nominal_voltage_mv),
        charge_limit=of(Measure.VOLTAGE, row.charge_limit_mv),
        end_of_discharge=of(Measure.VOLTAGE, row.end_of_discharge_mv),
        max_charge_current=_or_none(row.max_charge_current_ma, "mA"),
        max_discharge_current=_or_none(row.max_discharge_current_ma, "mA"),
        diameter=_or_none(row.diameter_um, "um"),
        height=_or_none(row.height_um, "um"),
        mass=_or_none(row.mass_mg, "mg"),
    )


def cell(code: str, figures: Figures) -> Cell:
    """Return a cell with what was measured of it; what was not is None."""

    def measured(measure: Measure) -> Quantity | None:
        return of(measure, figures[measure]) if measure in figures else None

    return Cell(
        code=code,
        capacity=measured(Measure.CAPACITY),
        rest_voltage=measured(Measure.REST_VOLTAGE),
        dc_resistance=measured(Measure.DC_RESISTANCE),
    )


def arrangement(row: Plan | PackAsFound) -> topology.Arrangement:
    """Return the arrangement of a plan or of a pack as found."""
    return topology.Arrangement(series=row.series, parallel=row.parallel)


def pack_figures(plan: Plan) -> topology.PackFigures:
    """Return voltage window, rated capacity and energy of the target pack."""
    return topology.pack_figures(arrangement(plan), model(plan.cell_model))


def limits(row: CellModel) -> chemistry.ChemistryLimits:
    """Return what is known of the chemistry of a cell model."""
    return chemistry.limits(Chemistry(row.chemistry))


def highest_at_rest(row: CellModel) -> Quantity:
    """Return the highest voltage that a reading of one resting cell of the model is believed at."""
    highest: Quantity = of(Measure.VOLTAGE, row.charge_limit_mv) + REST_ABOVE_CHARGE_LIMIT
    return highest


def highest_charged(row: CellModel) -> Quantity:
    """Return the highest rest voltage of a cell of the model that was not overcharged."""
    highest: Quantity = of(Measure.VOLTAGE, row.charge_limit_mv) + CHARGE_TOLERANCE
    return highest


def highest_ever(row: CellModel) -> tuple[Quantity | None, str]:
    """Return the most that one cell of the model may ever have, and where that is from."""
    if row.absolute_max_mv is not None:
        return of(Measure.VOLTAGE, row.absolute_max_mv), "absolute maximum of the data sheet"
    limit = of(Measure.VOLTAGE, row.charge_limit_mv)
    return cells_of.highest_ever(Chemistry(row.chemistry), limit), "charge limit of the data sheet and its tolerance"


def possible_at_rest(row: CellModel, voltage_mv: Decimal) -> bool:
    """Whether one cell of the model can rest at a voltage at all."""
    limit = of(Measure.VOLTAGE, row.charge_limit_mv)
    return is_possible_at_rest(of(Measure.VOLTAGE, voltage_mv), limit, nickel=row.chemistry in NICKEL)
