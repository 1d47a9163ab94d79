"""The page of photographs: what can be read is kept, what cannot is named, and nobody sees one who is not signed in."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs.terms import Role, Stage
from shop import models
from tests import line
from tests.pictures import photograph
from tests.web.desk import errors, said, send, sign_in, value, words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.EXAMINE)


@pytest.fixture
def bench(client: Client) -> Client:
    sign_in(client, Role.TECHNICIAN)
    return client


def file(name: str, content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type="image/jpeg")


def url(job: models.Job) -> str:
    return f"/jobs/{job.number}/photographs/"


def add(client: Client, job: models.Job, *files: SimpleUploadedFile, **typed: Any) -> Any:
    given = {"photographs": list(files), "shows": "cells from above", "stage": "examine"} | typed
    return send(client, url(job), **given)


def test_several_are_kept_at_once_and_shown_with_the_job(bench: Client, job: models.Job) -> None:
    answer = add(bench, job, file("a.jpg", photograph()), file("b.heic", photograph("HEIF", 90)))
    shown = bench.get(answer.url)
    assert said(shown) == ["2 photographs are kept."]
    assert value(shown, "shows") == ""
    for page in (url(job), f"/jobs/{job.number}/", f"/jobs/{job.number}/examine/"):
        told = bench.get(page).content.decode()
        for row in models.Photograph.objects.all():
            assert f'src="/jobs/{job.number}/photographs/{row.pk}.jpg" alt="cells from above"' in told, page


def test_one_that_cannot_be_read_takes_no_other_along(bench: Client, job: models.Job) -> None:
    cut = photograph()[:700]
    answer = add(bench, job, file("a.jpg", photograph()), file("b.jpg", cut), file("c.jpg", photograph()))
    shown = bench.get(answer.url)
    assert said(shown) == [
        "1 photograph is kept.",
        "b.jpg: This photograph is cut short or damaged. Send it again, or take it anew.",
        "c.jpg: this photograph is kept already.",
    ]
    assert value(shown, "shows") == "cells from above"


def test_with_none_that_can_be_read_the_words_stay(bench: Client, job: models.Job) -> None:
    answer = add(bench, job, file("a.jpg", b"no picture"))
    assert errors(answer) == {
        "photographs": ["a.jpg: This is no photograph that can be read: JPEG, PNG and HEIC come in here."]
    }
    assert value(answer, "shows") == "cells from above"
    assert errors(add(bench, job))["photographs"] == ["Choose a photograph."]
    assert errors(add(bench, job, file("a.jpg", b"")))["photographs"] == ["This file is empty."]
    assert not models.Photograph.objects.exists()


def test_only_who_works_here_gets_the_bytes(bench: Client, job: models.Job) -> None:
    add(bench, job, file("a.jpg", photograph()))
    address = f"{url(job)}{models.Photograph.objects.get().pk}.jpg"
    served = bench.get(address)
    assert (served["Content-Type"], served["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert "private" in served["Cache-Control"]
    assert served.content.startswith(b"\xff\xd8")
    nobody = Client().get(address)
    assert (nobody.status_code, nobody.url) == (302, f"/sign-in/?next={address}")
    client = Client()
    client.force_login(models.User.objects.create(username="no role"))
    assert client.get(address).status_code == 403
    other = line.take_in()
    assert bench.get(f"{url(other)}{models.Photograph.objects.get().pk}.jpg").status_code == 404


def test_a_withdrawn_one_has_no_address_any_more(bench: Client, job: models.Job) -> None:
    add(bench, job, file("a.jpg", photograph()))
    address = f"{url(job)}{models.Photograph.objects.get().pk}"
    assert "Withdraw" not in words(bench.get(url(job)))
    sign_in(bench, Role.LEAD)
    assert "Withdraw" in words(bench.get(url(job)))
    assert send(bench, f"{address}/withdraw/", reason="shows a person").status_code == 302
    assert bench.get(f"{address}.jpg").status_code == 404


def test_from_a_half_filled_examination_and_back_nothing_is_lost(bench: Client, job: models.Job) -> None:
    gone = send(bench, f"/jobs/{job.number}/examine/", arrangement="4s2p", note="one corner", add_photographs="1")
    assert gone.url == url(job)
    assert f'href="/jobs/{job.number}/examine/"' in bench.get(gone.url).content.decode()
    add(bench, job, file("a.jpg", photograph()))
    back = bench.get(f"/jobs/{job.number}/examine/")
    assert value(back, "arrangement") == "4s2p"
    assert "one corner" in back.content.decode()


def test_a_closed_job_shows_them_and_takes_none(bench: Client) -> None:
    job = line.handed_over()
    page = words(bench.get(url(job)))
    assert "the open case" in page
    assert "Add photographs" not in page
    assert "is closed" in words(add(bench, job, file("a.jpg", photograph(shade=200)), stage="hand_over"))
