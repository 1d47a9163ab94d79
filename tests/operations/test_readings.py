"""Readings that no single cell can have are refused as a whole, each named; nothing is half-saved."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from packs.terms import Condition, JointMethod, Measure, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import examination, proving, rebuild, stock
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory

pytestmark = pytest.mark.django_db

SIXTEEN_VOLTS = Decimal(16000)


def measure(job: models.Job) -> object:
    rest = dict.fromkeys(line.names(), Decimal(3620)) | {"2.1": SIXTEEN_VOLTS, "3.2": Decimal(-5)}
    return rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, by=line.technician())


def remove(job: models.Job) -> object:
    return rebuild.record_removed(
        job=job, condition=Condition.INTACT, rest_voltage_mv=SIXTEEN_VOLTS, by=line.technician()
    )


def final_test(job: models.Job) -> object:
    groups = [Decimal(4140), SIXTEEN_VOLTS, Decimal(4140), Decimal(4140)]
    return proving.final_test(
        job=job, capacity_mah=Decimal(5080), pack_rest_mv=SIXTEEN_VOLTS, groups_mv=groups, by=line.technician()
    )


def examine(job: models.Job) -> object:
    return examination.examine(
        job=job,
        cell_model=CellModelFactory(),
        series=4,
        parallel=2,
        joint_method=JointMethod.SPOT_WELD,
        group_voltages_mv=[SIXTEEN_VOLTS, *[Decimal(3300)] * 3],
        by=line.technician(),
    )


@pytest.mark.parametrize(
    ("stage", "attempt", "fields"),
    [
        (Stage.MEASURE, measure, {"2.1", "3.2"}),
        (Stage.DISMANTLE, remove, {"rest_voltage"}),
        (Stage.FINAL_TEST, final_test, {"group 2"}),
        (Stage.EXAMINE, examine, {"group 1"}),
    ],
)
def test_an_impossible_rest_voltage_is_refused_by_name(
    stage: Stage, attempt: Callable[[models.Job], object], fields: set[str]
) -> None:
    job = line.job_at(stage)
    before = models.Reading.objects.count()
    with pytest.raises(ShopError) as refused:
        attempt(job)
    assert refused.value.code == "impossible_value"
    assert set(refused.value.facts["fields"]) == fields
    assert models.Reading.objects.count() == before
    assert not models.PackAsFound.objects.filter(job=job).exists() or stage is not Stage.EXAMINE


def test_a_pack_may_rest_higher_than_a_cell() -> None:
    """Four groups in series read 13.2 V: the check is for single cells and groups only."""
    assert models.Reading.objects.filter(job=line.job_at(Stage.TARGET), point="pack", value=13200).exists()


def test_stock_believes_no_impossible_voltage_either() -> None:
    cell = CellFactory()
    reading = cell.readings.get(measure=Measure.REST_VOLTAGE.value)
    by = line.technician()
    with pytest.raises(ShopError, match="cannot be the rest voltage"):
        stock.record_reading(cell=cell, measure=Measure.REST_VOLTAGE, value=SIXTEEN_VOLTS, by=by)
    with pytest.raises(ShopError, match="cannot be the rest voltage"):
        stock.correct_reading(reading=reading, value=SIXTEEN_VOLTS, reason="misread", by=by)
    stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=SIXTEEN_VOLTS, sure=True, by=by)


def test_a_table_with_an_impossible_voltage_stays_out_as_a_whole() -> None:
    rows = [
        stock.CellRow(line=2, code="X1", readings={Measure.REST_VOLTAGE: Decimal(3620)}),
        stock.CellRow(line=3, code="X2", readings={Measure.REST_VOLTAGE: SIXTEEN_VOLTS}),
    ]
    with pytest.raises(ShopError, match="line 3"):
        stock.import_cells(lot=LotFactory(), rows=rows, by=line.technician())
    assert not models.Cell.objects.filter(code__in=["X1", "X2"]).exists()


def methods(job: models.Job, stage: Stage) -> set[tuple[str, str]]:
    rows = job.readings.filter(stage=stage.value).values_list("point", "measure", "method")
    return {
        (point.partition(" ")[0] if stage is not Stage.MEASURE else measure, method) for point, measure, method in rows
    }


def test_a_reading_says_how_its_step_asked_for_it() -> None:
    """The pages ask for rest voltages with nothing connected; common practice, no source."""
    job = line.job_at(Stage.REMOVED)
    at_rest = "open circuit, at rest"
    assert methods(job, Stage.EXAMINE) == {("pack", at_rest), ("group", at_rest)}
    assert methods(job, Stage.MEASURE) == {(Measure.REST_VOLTAGE.value, at_rest)}
    on_ladder = {(trip, "of the board, on a bench ladder") for trip in ("overcharge", "undervoltage")}
    assert methods(job, Stage.LADDER) == {("tap", "against the negative end, nothing connected"), *on_ladder}
    assert methods(job, Stage.FINAL_TEST) == {
        ("after", at_rest),
        ("pack", "discharge of the whole pack"),
        ("pack", at_rest),
        ("group", at_rest),
        ("load", ""),
        ("loaded", "10 s after the load was put on"),
        ("worst", "between cell and strip, under load"),
        ("hottest", "under load"),
    }
    charged = methods(job, Stage.FIRST_CHARGE)
    assert {("charger", "no load"), ("group", "at the end of the charge")} <= charged


def test_one_voltage_typed_for_several_cells_is_not_told_as_read_of_each() -> None:
    job = line.job_at(Stage.DISMANTLE)
    given = {"job": job, "condition": Condition.INTACT, "rest_voltage_mv": Decimal(3300), "by": line.technician()}
    rebuild.record_removed(**given, count=7)
    rebuild.record_removed(**given)
    told = list(job.readings.filter(stage=Stage.DISMANTLE.value).values_list("conditions", flat=True))
    assert told == ["one reading for 7 cells alike"] * 7 + [""]


def test_the_pack_as_found_names_its_meter_and_is_held_against_its_error() -> None:
    """A meter of 1 % reads 13.20 V and 13.20 V of groups to within 0.264 V by its data sheet; 0.2 V apart agrees."""
    job = line.job_at(Stage.EXAMINE)
    meter = models.Instrument.objects.create(name="bench meter 3", error_ppm=10_000, error_uv=0)
    examination.examine(
        job=job,
        cell_model=CellModelFactory(),
        series=4,
        parallel=2,
        joint_method=JointMethod.SPOT_WELD,
        pack_voltage_mv=Decimal(13400),
        group_voltages_mv=[Decimal(3300)] * 4,
        instrument=meter,
        by=line.technician(),
    )
    assert set(job.readings.values_list("instrument__name", flat=True)) == {"bench meter 3"}
    findings = job.steps.get(stage=Stage.EXAMINE.value).findings
    assert [one["outcome"] for one in findings if one["rule_id"] == "examine.rest_agreement"] == ["pass"]
