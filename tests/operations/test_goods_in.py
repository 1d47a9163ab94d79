"""Bought lots are checked as they come in; what cannot be holds all of a lot until a lead says otherwise. Invented."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs.terms import LotOrigin, Role, Stage
from shop import models
from shop.operations import goods_in, planning, rebuild
from tests import line
from tests.factories import CellFactory, LotFactory, SettingsFactory
from tests.operations import calls
from tests.pictures import photograph
from tests.refusal import refused
from tests.web.desk import errors, send, sign_in

pytestmark = pytest.mark.django_db


def check(lot: models.Lot, **more: Any) -> models.LotCheck:
    return goods_in.check_lot(lot=lot, by=line.technician(), **more)


def test_a_light_cell_of_too_much_capacity_holds_its_lot_and_says_why() -> None:
    """40 of 46 g are 87.0 %, 3200 of 2600 mAh are 123.1 %."""
    cell = CellFactory(code="B1")
    found = check(
        cell.lot, invoice="4711", date_code="2611", sample="3 of 200", mass_mg=40_000, capacity_mah=Decimal(3200)
    )
    assert [doubt.split(":")[1].split(",")[0].strip() for doubt in found.doubts] == ["87.0\u202f%", "123.1\u202f%"]
    cell.lot.refresh_from_db()
    assert "mass" in cell.lot.held_why
    assert not models.Cell.objects.free().filter(pk=cell.pk).exists()


def test_a_sample_that_fits_its_sheet_holds_nothing() -> None:
    cell = CellFactory(code="B1")
    assert (
        check(cell.lot, mass_mg=46_000, capacity_mah=Decimal(2590), diameter_um=18_300, height_um=65_200).doubts == []
    )
    assert models.Cell.objects.free().filter(pk=cell.pk).exists()


def test_a_good_sample_later_releases_nothing_but_a_lead_does() -> None:
    cell = CellFactory(code="B1")
    check(cell.lot, mass_mg=40_000)
    check(cell.lot, mass_mg=46_000)
    assert not models.Cell.objects.free().exists()
    lead = line.lead()
    with refused("reason_missing", field="reason"):
        goods_in.release_lot(lot=cell.lot, reason=" ", by=lead)
    goods_in.release_lot(lot=cell.lot, reason="the scale was off, see its calibration", by=lead)
    assert models.Cell.objects.free().filter(pk=cell.pk).exists()
    with refused("not_held"):
        goods_in.release_lot(lot=cell.lot, reason="once more", by=lead)


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [
        ({}, "nothing_stated", None),
        ({"invoice": " "}, "nothing_stated", None),
        ({"mass_mg": 0}, "impossible_value", "mass_mg"),
        ({"capacity_mah": Decimal(2_000_000)}, "impossible_value", "capacity_mah"),
    ],
)
def test_what_is_refused(more: dict[str, Any], code: str, field: str | None) -> None:
    lot = LotFactory()
    line.technician()
    with refused(code, **({"field": field} if field else {})):
        check(lot, **more)


def test_a_donor_lot_has_no_invoice() -> None:
    lot = LotFactory(code="L5", origin=LotOrigin.DONOR.value)
    line.technician()
    with refused("not_bought"):
        check(lot, invoice="4711")


def test_cells_of_a_lot_that_is_held_after_they_were_chosen_are_not_placed() -> None:
    job = line.job_at(Stage.PLACE)
    cell = models.Cell.objects.filter(positions__plan__job=job).order_by("code")[0]
    check(cell.lot, mass_mg=30_000)
    technician = line.technician()
    with refused("lot_held", field="code"):
        rebuild.place_cell(job=job, code=cell.code, by=technician)


def test_cells_of_a_lot_that_is_held_after_they_were_placed_are_not_measured_or_joined() -> None:
    job = line.job_at(Stage.MEASURE)
    lot = models.Cell.objects.filter(positions__plan__job=job).order_by("code")[0].lot
    lead, given = line.lead(), calls.arguments("rebuild.measure_before_joining", job)
    check(lot, mass_mg=30_000)
    with refused("lot_held"):
        rebuild.measure_before_joining(**given | {"by": lead})
    goods_in.release_lot(lot=lot, reason="the scale was wrong", by=lead)
    line.measure(job)
    check(lot, mass_mg=30_000)
    with refused("lot_held"):
        line.join(job)


def test_cells_of_a_held_lot_are_not_chosen() -> None:
    job = line.job_at(Stage.MATCH)
    for number in range(1, 9):
        CellFactory(code=f"S{number}")
    check(models.Lot.objects.get(code="L1"), mass_mg=30_000)
    technician = line.technician()
    with refused("cells_gone"):
        planning.accept(job=job, groups=[[f"S{n}", f"S{n + 4}"] for n in range(1, 5)], by=technician)


def test_the_print_is_kept_as_a_picture_and_shown_with_the_lot(client: Client, settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    SettingsFactory()
    lot = CellFactory(code="B1").lot
    sign_in(client, Role.TECHNICIAN)
    here = f"/stock/goods-in/{lot.code}/"
    refused_at = errors(send(client, here, picture=SimpleUploadedFile("a.jpg", b"no picture")))
    assert set(refused_at) == {"picture"}
    sent = send(client, here, date_code="2611", picture=SimpleUploadedFile("a.jpg", photograph()))
    assert sent.status_code == 302
    address = f"/stock/goods-in-prints/{models.LotCheck.objects.get().pk}.jpg"
    assert address in client.get(f"/stock/lots/{lot.code}/").content.decode()
    answer = client.get(address)
    assert (answer["Content-Type"], answer.content[:2]) == ("image/jpeg", b"\xff\xd8")
