"""A nickel pack on its way: six cells in series, 7.2 V, 3 Ah, all invented."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from packs.terms import Chemistry, Condition, JointMethod, Measure, Stage
from shop import models
from shop.bridge.rules import HOUSING_RULES, RestHold, UnderLoad
from shop.operations import examination, planning, proving, rebuild
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory, SettingsFactory
from tests.operations.stopped import joined

SIX = 6
NAMES = [f"{group}.1" for group in range(1, SIX + 1)]


def model() -> models.CellModel:
    return CellModelFactory(
        name="Sub-C 3.0", chemistry=Chemistry.NIMH.value, rated_capacity_mah=Decimal(3000), nominal_voltage_mv=1200,
        charge_limit_mv=1600, end_of_discharge_mv=1000, max_charge_current_ma=3000, max_discharge_current_ma=30_000,
        diameter_um=22_500, height_um=43_000,
    )  # fmt: skip


def at(stage: Stage) -> models.Job:
    SettingsFactory()
    return on(line.take_in(), stage)


def on(job: models.Job, stage: Stage) -> models.Job:
    """Walk a job on to a stage."""
    way: dict[Stage, Callable[[models.Job], Any]] = {
        Stage.EXAMINE: lambda job: examination.examine(
            job=job,
            cell_model=model(),
            series=SIX,
            parallel=1,
            joint_method=JointMethod.SPOT_WELD,
            by=line.technician(),
        ),
        Stage.TARGET: lambda job: planning.state_target(
            job=job,
            target=line.target(cell_model=model(), series=SIX, parallel=1, charger_voltage_mv=14_000),
            by=line.technician(),
        ),
        Stage.MATCH: lambda job: planning.accept(
            job=job, groups=[[cell.code] for cell in stock()], by=line.technician()
        ),
        Stage.DISMANTLE: take_apart,
        Stage.MEASURE: lambda job: measure(job, dict.fromkeys(NAMES, 1290)),
        Stage.JOIN: lambda job: joined(job, range(1, SIX + 2)),
        Stage.LADDER: tap,
        Stage.HOUSING: lambda job: close(job, {"housing.thermal_cutoff": True}),
        Stage.FIRST_CHARGE: form,
        Stage.FINAL_TEST: lambda job: proving.final_test(
            job=job,
            capacity_mah=Decimal(2950),
            conditions="0.2 C down to 6 V at 22 °C",
            pack_rest_mv=Decimal(8100),
            groups_mv=[Decimal(1350)] * SIX,
            hold=RestHold(hours=Decimal(24), groups_mv=[Decimal(1345)] * SIX),
            load=UnderLoad(
                current_ma=Decimal(3000), pack_mv=Decimal(7950), joint_mv=Decimal("0.5"), hottest_mdegc=Decimal(29_000)
            ),
            by=line.technician(),
        ),
    }
    job.refresh_from_db()
    while job.stage != stage:
        way.get(Stage(job.stage), line.WAY[Stage(job.stage)])(job)
        job.refresh_from_db()
    return job


def stock() -> list[models.Cell]:
    lot = LotFactory(code="N1", cell_model=model())
    readings = {Measure.CAPACITY: 3000, Measure.DC_RESISTANCE: 6000, Measure.REST_VOLTAGE: 1290}
    return [CellFactory(code=f"N{n:03d}", lot=lot, readings=readings) for n in range(1, SIX + 1)]


def take_apart(job: models.Job) -> None:
    rebuild.record_removed(
        job=job, condition=Condition.DAMAGED, rest_voltage_mv=Decimal(400), count=SIX, by=line.technician()
    )
    rebuild.finish_dismantling(job=job, by=line.technician())


def measure(job: models.Job, rest: dict[str, Any]) -> Any:
    line.peel(job)
    voltages = {name: Decimal(str(mv)) for name, mv in rest.items()}
    return rebuild.measure_before_joining(job=job, rest_voltages_mv=voltages, by=line.technician())


def tap(job: models.Job) -> None:
    rebuild.check_taps(job=job, taps_mv=[Decimal(1290 * n) for n in range(1, SIX + 1)], by=line.technician())
    line.photograph_the_open_case(job)


def close(job: models.Job, more: dict[str, bool]) -> Any:
    confirmed = dict.fromkeys(HOUSING_RULES, True) | more
    return proving.close_housing(job=job, confirmed=confirmed, by=line.technician())


def looks_at(*minutes: int, current_ma: Any = 300) -> list[proving.ChargeLine]:
    return line.looks_at(*minutes, pack_voltage_mv=8700, current_ma=current_ma, hottest_mdegc=26_000)


def form(job: models.Job, **changed: Any) -> Any:
    looks = looks_at(0, 240, 480, 720, 840)
    standard = {
        "supervised_by": "Nell",
        "charger_voltage_mv": Decimal(14_000),
        "lines": looks,
        "groups_mv": [Decimal(1450)] * SIX,
        "ends_itself": True,
        "by": line.technician(),
    }
    return proving.first_charge(job=job, **standard | changed)
