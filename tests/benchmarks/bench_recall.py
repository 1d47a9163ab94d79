"""How long the list to recall by takes for 10,000 packs of one lot, welder and meter; run by hand.

``python -m pytest tests/benchmarks/bench_recall.py -s`` from the root of the repository. The figure to beat: 1 s.
"""

import sys
from time import perf_counter, process_time

import pytest
from django.test import Client

from packs.terms import Measure, Place, Role, Stage
from shop import models
from tests import rows
from tests.factories import MORNING, DeviceFactory, LotFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db

PACKS, CELLS = 10_000, 8
AT_ONCE = 1_000
"""Cells a pack: an invented shop in which one lot and one welder went into every pack."""


def test_a_list_of_ten_thousand_packs(client: Client) -> None:
    _shop()
    client.force_login(models.User.objects.get(username="owner"))
    meter = models.Instrument.objects.get()
    client.get("/recall/")
    for asked in ({"lot": "L1"}, {"welder": "Bench welder 1"}, {"meter": meter.pk}):
        for address in ("/recall/list.csv", "/recall/of/"):
            began, worked = perf_counter(), process_time()
            answer = client.get(address, asked)
            took, worked = perf_counter() - began, process_time() - worked
            assert answer.status_code == 200
            if address.endswith("csv"):
                assert answer.content.count(b"\n") == PACKS + 1
            sys.stdout.write(f"\n{took:6.2f} s, {worked:.2f} s of it reckoning: {address} {asked}")
    sys.stdout.write("\n")


def _shop() -> None:
    SettingsFactory()
    by = UserFactory(username="owner", roles=(Role.OWNER,))
    meter = models.Instrument.objects.create(name="bench meter 1")
    lot = LotFactory(code="L1")
    plan = rows.planned(1, 1, Stage.HAND_OVER)
    plan_columns = {f.attname: getattr(plan, f.attname) for f in models.Plan._meta.concrete_fields if f.name != "id"}
    device = DeviceFactory()
    job_columns = {"device": device, "kind": "rebuild", "stage": "hand_over", "danger_level": "none"}
    job_columns |= {"danger_level": plan.job.danger_level, "removed_owner": "shop", "opened_at": MORNING}
    for first in range(0, PACKS, AT_ONCE):
        numbers = range(1000 + first, 1000 + first + AT_ONCE)
        jobs = models.Job.objects.bulk_create(
            models.Job(number=number, opened_by=by, closed_at=MORNING, **job_columns) for number in numbers
        )
        plans = models.Plan.objects.bulk_create(
            models.Plan(**plan_columns | {"job_id": job.pk, "state": "built"}) for job in jobs
        )
        cells = models.Cell.objects.bulk_create(
            models.Cell(code=f"B{job.number}-{n}", lot=lot, place=Place.CUSTOMER.value)
            for job in jobs
            for n in range(CELLS)
        )
        places = [(plan, n + 1) for plan in plans for n in range(CELLS)]
        models.PlanPosition.objects.bulk_create(
            models.PlanPosition(plan=plan, group=n, place=1, cell=cell, open=False, placed_at=MORNING, placed_by=by)
            for (plan, n), cell in zip(places, cells, strict=True)
        )
        _moved(cells, [plan.job_id for plan, _ in places], by)
        models.Step.objects.bulk_create(
            models.Step(
                job=job, stage="join", outcome="done", started_at=MORNING, ended_at=MORNING, by=by,
                confirmed={"second_look": True, "welded with Bench welder 1, S 3, pulse 4.5": True},
            )
            for job in jobs
        )  # fmt: skip
        models.Reading.objects.bulk_create(
            models.Reading(job=job, stage="ladder", point="tap 1", measure=Measure.VOLTAGE.value, value=3620,
                           instrument=meter, measured_at=MORNING, by=by)
            for job in jobs
        )  # fmt: skip


def _moved(cells: list[models.Cell], jobs: list[int], by: models.User) -> None:
    way = ["stock", "pack", "customer"]
    for before, after in zip(["", *way], way, strict=False):
        models.Movement.objects.bulk_create(
            models.Movement(
                cell=cell, from_place=before, to_place=after, job_id=job if before else None, at=MORNING, by=by
            )
            for cell, job in zip(cells, jobs, strict=True)
        )
