"""A tester file comes in by the API: kept once, told in full, or refused with its code."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.models import Reading, TraceFile
from tests.api.conftest import ROOT, Caller
from tests.factories import CellFactory
from tests.operations import tester_files

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_apart(db: None, settings: LazySettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    tester_files.cell()


def post(caller: Caller, content: bytes, cell: str = "T1", **more: str) -> Any:
    file = SimpleUploadedFile("run 7.csv", content)
    return caller.client.post(f"{ROOT}cells/{cell}/tester-files/", {"file": file, **more}, format="multipart")


def test_the_same_file_twice_is_one_file_with_one_answer(caller: Caller) -> None:
    first, again = post(caller, tester_files.CONTENT), post(caller, tester_files.CONTENT)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    told = first.json()
    assert (told["rows"], told["steps"], told["name"]) == (1800, 5, "run 7.csv")
    (capacity,) = [each for each in told["offers"] if each["measure"] == "capacity_mah"]
    # 1 A from the first row to the last of 360 at 10 s: 3590 s are 997.2 mAh.
    assert float(capacity["value"]) == pytest.approx(997.2, abs=0.3)
    assert TraceFile.objects.count() == 1
    assert not Reading.objects.filter(trace__isnull=False).exists()


def test_a_stored_layout_is_named(caller: Caller) -> None:
    tester_files.layout()
    assert post(caller, tester_files.CONTENT, layout="Tester 4").json()["layout_name"] == "Tester 4"
    refused = post(caller, tester_files.CONTENT + b"\n", layout="none such")
    assert (refused.status_code, refused.json()["code"]) == (400, "invalid")


def test_what_cannot_be_trusted_is_refused_with_its_code(caller: Caller) -> None:
    answer = post(caller, b"\x89PNG\r\n" + bytes(64))
    assert (answer.status_code, answer.json()["code"]) == (409, "not_text")
    assert not TraceFile.objects.exists()


def test_a_file_of_another_cell_is_refused(caller: Caller) -> None:
    CellFactory(code="T2")
    post(caller, tester_files.CONTENT)
    answer = post(caller, tester_files.CONTENT, cell="T2")
    assert (answer.status_code, answer.json()["code"]) == (409, "known_already")
