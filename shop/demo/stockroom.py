"""The demo shop's cells: two invented models, tested lots, one lot that was never tested."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from packs.terms import CellFormat, CellProtection, Chemistry, LotOrigin, Measure, Terminals
from shop.models import CellModel, User
from shop.operations import grading, stock, workshop


@dataclass(frozen=True)
class DemoLot:
    """A lot of tested cells and how they scatter."""

    code: str
    model: str
    cells: int
    supplier: str
    capacity_mah: float
    capacity_spread: float
    resistance_uohm: float
    rest_voltage_mv: float
    unit_cost: Decimal


LOTS = (
    DemoLot("B2611", "LH-18 2600", 72, "Brook Cell Trading", 2585, 0.008, 21_400, 3612, Decimal("3.10")),
    DemoLot("B2612", "LH-21 4800", 48, "Brook Cell Trading", 4790, 0.007, 15_200, 3605, Decimal("4.90")),
)

NEW_UOHM = {"LH-18 2600": 20_000, "LH-21 4800": 14_000}
"""What new cells of the two models read, invented."""


def fill(*, by: User, at: datetime) -> None:
    """Put meters, cell models and lots into the book."""
    workshop.add_instrument(name="Bench meter 1", error_ppm=500, error_uv=2000, calibrated_on=at.date(), by=by, now=at)
    workshop.add_instrument(name="Cell tester A", error_ppm=1000, error_uv=1000, calibrated_on=at.date(), by=by, now=at)
    models = {model.name: model for model in (_round_2600(by, at), _round_4800(by, at))}
    for name, new_uohm in NEW_UOHM.items():
        grading.state_new_cell(
            cell_model=models[name],
            dc_resistance_uohm=new_uohm,
            method="DC pulse 10 s",
            temperature_mdegc=23_000,
            protection=CellProtection.INTERRUPT,
            source=models[name].data_sheet,
            by=by,
            now=at,
        )
    for lot in LOTS:
        _bring_in(lot, models[lot.model], by, at)


def _round_2600(by: User, at: datetime) -> CellModel:
    return stock.add_cell_model(
        name="LH-18 2600",
        chemistry=Chemistry.NMC.value,
        cell_format=CellFormat.ROUND.value,
        terminals=Terminals.OPPOSITE_ENDS.value,
        rated_capacity_mah=Decimal(2600),
        nominal_voltage_mv=3600,
        charge_limit_mv=4200,
        end_of_discharge_mv=2750,
        max_charge_current_ma=2600,
        max_discharge_current_ma=7800,
        diameter_um=18_300,
        height_um=65_100,
        mass_mg=46_500,
        data_sheet="LH-18 data sheet, issue 3 (invented)",
        by=by,
        now=at,
    )


def _round_4800(by: User, at: datetime) -> CellModel:
    return stock.add_cell_model(
        name="LH-21 4800",
        chemistry=Chemistry.NMC.value,
        cell_format=CellFormat.ROUND.value,
        terminals=Terminals.OPPOSITE_ENDS.value,
        rated_capacity_mah=Decimal(4800),
        nominal_voltage_mv=3600,
        charge_limit_mv=4200,
        end_of_discharge_mv=2500,
        max_charge_current_ma=4800,
        max_discharge_current_ma=9600,
        diameter_um=21_200,
        height_um=70_300,
        mass_mg=69_000,
        data_sheet="LH-21 data sheet, issue 1 (invented)",
        by=by,
        now=at,
    )


def _bring_in(lot: DemoLot, model: CellModel, by: User, at: datetime) -> None:
    row = stock.add_lot(
        code=lot.code,
        cell_model=model,
        origin=LotOrigin.BOUGHT,
        supplier=lot.supplier,
        unit_cost=lot.unit_cost,
        received_on=(at - timedelta(days=1)).date(),
        by=by,
        now=at,
    )
    chance = Random(lot.code)  # noqa: S311 - the same demo at every reset, nothing secret
    stock.import_cells(
        lot=row,
        rows=[_tested(lot, number, chance) for number in range(1, lot.cells + 1)],
        methods={Measure.DC_RESISTANCE: "DC pulse 10 s"},
        conditions="at 50 % charge, 23 °C",
        conditions_of={Measure.CAPACITY: "0.2 C, 23 °C"},
        by=by,
        now=at,
    )


def _tested(lot: DemoLot, number: int, chance: Random) -> stock.CellRow:
    capacity = chance.gauss(lot.capacity_mah, lot.capacity_mah * lot.capacity_spread)
    resistance = chance.gauss(lot.resistance_uohm, lot.resistance_uohm * 0.02)
    voltage = chance.gauss(lot.rest_voltage_mv, 3)
    return stock.CellRow(
        line=number,
        code=f"{lot.code}-{number:03d}",
        readings={
            Measure.CAPACITY: Decimal(round(capacity)),
            Measure.DC_RESISTANCE: Decimal(round(resistance, -1)),
            Measure.REST_VOLTAGE: Decimal(round(voltage)),
        },
    )
