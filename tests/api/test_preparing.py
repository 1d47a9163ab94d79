"""Preparations of cells by the API, with a photograph of the old print."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.models import CellPreparation
from shop.operations import preparing
from tests.api.conftest import ROOT, Caller
from tests.factories import CellFactory
from tests.pictures import photograph

pytestmark = pytest.mark.django_db

NEW_WRAP = {
    "tabs": "removed",
    "stubs": "ground",
    "wrapper": "replaced",
    "insulator": "intact",
    "printed": "NR-26, 2011",
}


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


def post(caller: Caller, **more: Any) -> Any:
    given = NEW_WRAP | {"cells": ["P1", "P2"]} | more
    headers = {"Idempotency-Key": "k1"}
    return caller.client.post(f"{ROOT}cells/prepare/", given, format="multipart", headers=headers)


def test_a_set_of_cells_comes_with_the_photograph_of_its_print(caller: Caller) -> None:
    for code in ("P1", "P2"):
        CellFactory(code=code)
    answer = post(caller, picture=SimpleUploadedFile("IMG_1.jpg", photograph()))
    assert (answer.status_code, answer.json()) == (201, {"prepared": ["P1", "P2"]})
    first, second = CellPreparation.objects.all()
    assert first.picture_sha256 == second.picture_sha256
    assert first.photographed
    assert preparing.content_of(first).startswith(b"\xff\xd8\xff")  # a JPEG begins so: ITU-T T.81, B.1.1.3


def test_what_is_no_photograph_is_refused_at_its_field(caller: Caller) -> None:
    CellFactory(code="P1")
    answer = post(caller, cells=["P1"], picture=SimpleUploadedFile("IMG_1.jpg", b"no picture"))
    assert answer.status_code == 400
    assert "picture" in answer.content.decode()
    assert not CellPreparation.objects.exists()
