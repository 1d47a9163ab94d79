"""A cell that loses its charge at rest goes into no pack. The limit is the shop's own; readings are invented."""

import pytest

from packs.rules import RULES
from packs.terms import Measure, Stage
from shop import models
from shop.bridge import matching
from shop.operations import rebuild
from tests import line
from tests.factories import MORNING, CellFactory
from tests.refusal import held_by

pytestmark = pytest.mark.django_db

HELD = "charged 2 Nov, shelf 3, over 14 d"
AT_LIMIT, ABOVE, BELOW = 1600, 1601, 1599
"""µV/day beside a median of 100: grade 3 allows 1.5 mV/day more, by version 0 of the criteria."""


def falls(cell: models.Cell, uv_per_day: int, conditions: str = HELD) -> None:
    columns = {"measure": Measure.SELF_DISCHARGE.value, "measured_at": MORNING, "by": line.technician()}
    cell.readings.create(value=uv_per_day, conditions=conditions, **columns)


def held_alike(cell: models.Cell, uv_per_day: int) -> None:
    """Three others of its lot fall by 0.1 mV/day, charged on the same day and in the same place."""
    falls(cell, uv_per_day)
    for number in range(3):
        falls(CellFactory(code=f"H{number}", lot=cell.lot), 100)


@pytest.mark.parametrize(("fall", "goes"), [(BELOW, True), (AT_LIMIT, True), (ABOVE, False)])
def test_beyond_the_median_of_its_lot_it_is_not_placed(fall: int, goes: bool) -> None:
    job = line.job_at(Stage.PLACE)
    cell = job.plans.get().positions.get(group=1, place=1).cell
    held_alike(cell, fall)
    technician = line.technician()
    if goes:
        rebuild.place_cell(job=job, code=cell.code, by=technician)
    else:
        with held_by("cell.keeps_charge"):
            rebuild.place_cell(job=job, code=cell.code, by=technician)


def test_what_is_found_after_placing_stops_before_joining_and_names_the_cell() -> None:
    job = line.job_at(Stage.MEASURE)
    cell = job.plans.get().positions.get(group=2, place=1).cell
    held_alike(cell, ABOVE)
    rest = {position.name: 3620 for position in job.plans.get().positions.all()}
    step = rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, by=line.technician()).step
    (stop,) = [one for one in step.findings if one["rule_id"] == "cell.keeps_charge"]
    assert (step.done, stop["outcome"]) == (False, "fail")
    assert stop["where"].replace("\u202f", " ").startswith(f"cell {cell.code}, falls by 1.60")


def test_it_is_not_proposed_either() -> None:
    job = line.job_at(Stage.MATCH)
    cell = CellFactory(code="Z1")
    held_alike(cell, ABOVE)
    left = {one.code: one.reason for one in matching.left_out(job.plans.get(state="stated"))}
    assert set(left) == {"Z1"}
    assert left["Z1"].startswith("loses charge at rest: ")


def test_a_lead_cannot_accept_it_in_writing() -> None:
    assert RULES["cell.keeps_charge"].no_exception
