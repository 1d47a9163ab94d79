"""Cells that were in a pack before are made ready before they are joined again. Invented; the rule is common practice."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs.terms import Condition, LotOrigin, OldTabs, Place, Role, Stage, Stubs, Wrap
from shop import models
from shop.bridge import pictures
from shop.operations import preparing, rebuild
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.pictures import scene, written
from tests.refusal import refused
from tests.web.desk import errors, send, sign_in

pytestmark = pytest.mark.django_db

DONE: dict[str, Any] = {
    "tabs": OldTabs.REMOVED,
    "stubs": Stubs.GROUND,
    "wrapper": Wrap.INTACT,
    "insulator": Wrap.INTACT,
}


def prepare(*cells: models.Cell, **more: Any) -> list[models.CellPreparation]:
    return preparing.prepare_cells(**{"cells": cells, **DONE, "by": line.technician(), **more})


def test_a_set_of_cells_is_written_down_cell_by_cell() -> None:
    cells = [CellFactory(code=f"P{number}") for number in range(3)]
    assert [row.cell for row in prepare(*cells)] == cells
    assert cells[2].preparations.get().stubs == Stubs.GROUND


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"photographed": True}, "printed"),
        ({"printed": " ", "photographed": True}, "printed"),
        ({"printed": "Round 2.6"}, "photographed"),
    ],
)
def test_a_new_wrap_carries_over_what_stood_on_the_old_one(more: dict[str, Any], field: str) -> None:
    cell = CellFactory(code="P1")
    line.technician()
    with refused("print_lost", field=field):
        prepare(cell, wrapper=Wrap.REPLACED, **more)
    assert prepare(cell, wrapper=Wrap.REPLACED, printed="Round 2.6", photographed=True)


@pytest.mark.parametrize(
    ("columns", "code"),
    [
        ({"condition": Condition.DAMAGED.value}, "not_intact"),
        ({"place": Place.CUSTOMER.value}, "not_here"),
        ({"place": Place.CONSIGNED.value}, "not_here"),
    ],
)
def test_what_is_not_ground(columns: dict[str, str], code: str) -> None:
    good, bad = CellFactory(code="P1"), CellFactory(code="P2", **columns)
    line.technician()
    with refused(code, field="cells"):
        prepare(good, bad)


def test_the_old_print_is_kept_as_a_picture_and_shown_with_the_cell(
    client: Client, settings: Any, tmp_path: Path
) -> None:
    settings.DATA_DIR = tmp_path
    cell = CellFactory(code="P1")
    (done,) = prepare(cell, wrapper=Wrap.REPLACED, printed="Round 2.6", picture=pictures.develop(written(scene())))
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    address = f"/stock/preparations/{done.pk}.jpg"
    assert address in client.get("/stock/cells/P1/").content.decode()
    answer = client.get(address)
    assert (answer["Content-Type"], answer.content[:2]) == ("image/jpeg", b"\xff\xd8")


def test_a_picture_that_cannot_be_read_is_said_beside_its_field(client: Client) -> None:
    CellFactory(code="P1")
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    typed = {name: term.value for name, term in DONE.items()} | {"codes": "P1"}
    answer = send(client, "/stock/prepare/", picture=SimpleUploadedFile("a.jpg", b"no picture"), **typed)
    assert set(errors(answer)) == {"picture"}
    assert send(client, "/stock/prepare/", **typed).status_code == 302


def test_no_cell_is_no_set() -> None:
    line.technician()
    with refused("no_cells"):
        prepare()


@pytest.fixture
def job() -> models.Job:
    """Eight cells of a signed donor lot are placed."""
    job = line.job_at(Stage.MEASURE)
    models.Lot.objects.update(origin=LotOrigin.DONOR.value)
    line.sign(models.Lot.objects.get(cells__positions__group=1, cells__positions__place=1))
    return job


def unready(job: models.Job) -> str:
    """Measure before joining, and return which cells are named as not prepared."""
    positions = job.plans.get().positions.all()
    rest = {position.name: 3620 for position in positions}
    findings = rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, by=line.technician()).step.findings
    return next(one["where"] for one in findings if one["rule_id"] == "cell.prepared")


def test_before_joining_the_cells_that_nobody_prepared_are_named(job: models.Job) -> None:
    cells = list(models.Cell.objects.filter(positions__plan__job=job).order_by("code"))
    models.CellPreparation.objects.bulk_create(
        models.CellPreparation(cell=cell, **DONE, at=job.opened_at, by=line.technician()) for cell in cells[2:]
    )
    assert unready(job) == f"{cells[0].code}, {cells[1].code}"


def test_stubs_that_were_left_are_not_ready(job: models.Job) -> None:
    cells = list(models.Cell.objects.filter(positions__plan__job=job).order_by("code"))
    stubs = [Stubs.LEFT, *[Stubs.GROUND] * 7]
    models.CellPreparation.objects.bulk_create(
        models.CellPreparation(cell=cell, **DONE | {"stubs": left}, at=job.opened_at, by=line.technician())
        for cell, left in zip(cells, stubs, strict=True)
    )
    assert unready(job) == cells[0].code


def test_what_was_done_before_a_cell_came_out_of_its_last_pack_does_not_count(job: models.Job) -> None:
    cells = list(models.Cell.objects.filter(positions__plan__job=job).order_by("code"))
    models.CellPreparation.objects.bulk_create(
        models.CellPreparation(cell=cell, **DONE, at="2026-11-24T08:00Z", by=line.technician()) for cell in cells
    )
    out = {"from_place": "pack", "to_place": "bench", "by": line.technician(), "job": job}
    cells[3].movements.create(at="2026-11-24T08:01Z", **out)
    assert unready(job) == cells[3].code


def test_new_cells_need_none() -> None:
    assert unready(line.job_at(Stage.MEASURE)) == ""
