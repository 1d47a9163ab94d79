"""Photographs come in by the API: kept once, listed with their address, refused with a code."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile

from packs.terms import Stage
from shop import models
from tests import line
from tests.api.conftest import ROOT, Caller
from tests.pictures import photograph

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(settings: LazySettings, tmp_path: Path) -> models.Job:
    settings.DATA_DIR = tmp_path
    return line.job_at(Stage.EXAMINE)


def post(caller: Caller, job: models.Job, content: bytes, **more: str) -> Any:
    given = {"file": SimpleUploadedFile("IMG_4.heic", content), "shows": "the board", **more}
    return caller.client.post(f"{ROOT}jobs/{job.number}/photographs/", given, format="multipart")


def test_the_same_twice_is_one_with_one_answer(caller: Caller, job: models.Job) -> None:
    first, again = post(caller, job, photograph("HEIF")), post(caller, job, photograph("HEIF"))
    assert (first.status_code, again.status_code) == (201, 200)
    told = first.json()
    assert told == again.json()
    assert (told["stage"], told["shows"], told["width"], told["height"]) == ("examine", "the board", 160, 96)
    assert caller.get(f"jobs/{job.number}/photographs/")["results"] == [told]
    assert caller.client.get(told["address"]).content[:2] == b"\xff\xd8"


def test_what_cannot_be_kept_is_refused_with_its_code(caller: Caller, job: models.Job) -> None:
    answers = [
        post(caller, job, b"no picture"),
        post(caller, job, photograph()[:700]),
        post(caller, job, photograph(), stage="join"),
        post(caller, job, photograph(), shows=" "),
    ]
    assert [(one.status_code, one.json()["code"]) for one in answers] == [
        (409, "no_photograph"),
        (409, "no_photograph"),
        (409, "not_reached"),
        (400, "invalid"),
    ]
    assert not models.Photograph.objects.exists()


def test_one_is_withdrawn(caller: Caller, job: models.Job) -> None:
    pk = post(caller, job, photograph()).json()["id"]
    caller.post(f"jobs/{job.number}/withdraw-photograph/", {"photograph": pk, "reason": "another pack"})
    assert caller.get(f"jobs/{job.number}/photographs/")["results"] == []
