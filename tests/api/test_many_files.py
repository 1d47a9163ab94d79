"""Tester files sent together by the API: read by the worker, and told file by file. Made-up files."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile

from shop import models
from shop.management import worker
from tests.api.conftest import ROOT, Caller
from tests.operations import tester_files

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_apart(db: None, settings: LazySettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    tester_files.cell()


def post(caller: Caller, *files: tuple[str, bytes], key: str = "k1", **more: str) -> Any:
    sent = [SimpleUploadedFile(name, content) for name, content in files]
    headers = {"Idempotency-Key": key}
    return caller.client.post(f"{ROOT}bench/tester-files/", {"file": sent, **more}, format="multipart", headers=headers)


def test_each_file_says_what_became_of_it(caller: Caller) -> None:
    files = (("T1.csv", tester_files.CONTENT), ("T1__again.csv", tester_files.CONTENT), ("Z9.csv", b"a,b"))
    answer = post(caller, *files, accept="true")
    assert answer.status_code == 201
    task = answer.json()
    assert (task["state"], task["became"], task["left"]) == ("waiting", [], [name for name, _ in files])
    assert worker.run_next() is not None
    told = caller.get(f"bench/tester-files/{task['id']}/")
    assert (told["state"], told["share"], told["left"]) == ("done", 1.0, [])
    assert [one["way"] for one in told["became"]] == ["kept", "kept before", "refused"]
    assert told["became"][0]["cell"] == "T1"
    assert "Z9" in told["became"][2]["words"]
    assert models.Reading.objects.filter(trace=told["became"][0]["trace"]).exists()


def test_sent_again_under_its_key_it_is_read_once_and_other_bytes_are_another_request(caller: Caller) -> None:
    first, again = (post(caller, ("T1.csv", tester_files.CONTENT)) for _ in range(2))
    assert first.json() == again.json()
    other = post(caller, ("T1.csv", tester_files.CONTENT + b"\n"))
    assert (other.status_code, other.json()["code"]) == (409, "key_reused")
    assert models.Task.objects.count() == 1


@pytest.mark.parametrize("files", [(), (("T1.csv", b""),)])
def test_nothing_is_no_file(caller: Caller, files: Any) -> None:
    assert post(caller, *files).status_code == 400
    assert not models.Task.objects.exists()
