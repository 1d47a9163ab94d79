"""Photographs of a job: kept once, at a stage the job has come to, withdrawn for a reason. Common practice, no source."""

from pathlib import Path

import pytest
from django.conf import LazySettings

from packs.terms import DangerSign, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import files, photographs
from tests import line
from tests.operations.calls import picture
from tests.pictures import photograph
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def job() -> models.Job:
    line.lead()
    return line.job_at(Stage.EXAMINE)


def keep(job: models.Job, shade: int = 1, shows: str = "cells from above", **given: object) -> models.Photograph:
    given = {"by": line.technician()} | given
    return photographs.keep_photograph(job=job, picture=picture(shade), shows=shows, **given)  # type: ignore[arg-type]


def withdraw(job: models.Job, row: models.Photograph, reason: str = "another pack") -> None:
    photographs.withdraw_photograph(job=job, photograph=row, reason=reason, by=line.lead())


def test_it_says_what_it_shows_at_which_stage_and_lies_under_its_hash(job: models.Job, kept_apart: Path) -> None:
    row = keep(job, shows="  cells from above ")
    assert (row.stage, row.shows, row.width, row.height) == ("examine", "cells from above", 160, 96)
    path = kept_apart / "photographs" / row.sha256[:2] / f"{row.sha256}.jpg"
    assert path.stat().st_size == row.size
    assert photographs.content_of(row) == picture(1).content
    assert job.log.filter(verb="photograph kept", facts__sha256=row.sha256).exists()


def test_the_same_picture_counts_once_a_job(job: models.Job) -> None:
    keep(job)
    with refused("known_already", field="photographs"):
        keep(job, shows="again")
    assert keep(line.take_in()).job_id != job.pk


def test_it_belongs_to_a_stage_that_was_reached(job: models.Job) -> None:
    assert keep(job, stage=Stage.TAKE_IN).stage == "take_in"
    for ahead in (Stage.TARGET, Stage.TEST_PACK):
        with refused("not_reached", field="stage"):
            keep(job, shade=4, stage=ahead)


@pytest.mark.parametrize("sign", [DangerSign.SWELLING, DangerSign.DROPPED])
def test_a_pack_with_a_danger_sign_is_photographed_as_well(sign: DangerSign) -> None:
    assert keep(line.take_in(signs=[sign])).pk


def test_without_words_nothing_is_kept(job: models.Job) -> None:
    with refused("shows_missing", field="shows"):
        keep(job, shows="  ")
    assert not models.Photograph.objects.exists()


def test_a_job_does_not_fill_the_disk(job: models.Job, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photographs, "MOST_OF_A_JOB", 2)
    for shade in (1, 2):
        keep(job, shade)
    with refused("too_many"):
        keep(job, 3)


def test_a_withdrawn_one_is_gone_and_the_book_says_why(
    job: models.Job, django_capture_on_commit_callbacks: object
) -> None:
    row = keep(job)
    with refused("reason_missing", field="reason"):
        withdraw(job, row, " ")
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        withdraw(job, row)
    assert not job.photographs.standing().exists()
    assert job.photographs.get().withdrawal.reason == "another pack"
    with pytest.raises(ShopError) as gone:
        photographs.content_of(row)
    assert gone.value.code == "bytes_missing"
    with refused("withdrawn_already"):
        withdraw(job, row)
    assert keep(job).pk != row.pk


def test_the_bytes_stay_while_another_job_shows_them(
    job: models.Job, django_capture_on_commit_callbacks: object
) -> None:
    other = keep(line.take_in())
    row = keep(job)
    with refused("withdrawn_already"):
        withdraw(job, other)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        withdraw(job, row)
    assert photographs.content_of(other) == picture(1).content


def test_bytes_that_changed_are_not_shown(job: models.Job) -> None:
    row = keep(job)
    files.path_of(files.Folder.PHOTOGRAPHS, row.sha256, "jpg").write_bytes(b"another")
    with pytest.raises(ShopError) as changed:
        photographs.content_of(row)
    assert changed.value.code == "bytes_changed"


def test_what_is_too_large_or_none_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with refused("no_photograph", field="photographs"):
        photographs.look_at(b"no picture")
    monkeypatch.setattr(photographs, "LARGEST", len(photograph()) - 1)
    with refused("too_large", field="photographs"):
        photographs.look_at(photograph())
