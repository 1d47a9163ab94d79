"""Several tester files in one upload: the worker reads them, each comes in whole or not at all. Made-up files."""

import os
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs.terms import Measure, Place, Role, TaskState
from shop import models
from shop.management import worker
from shop.operations import many_files, tasks
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.operations import tester_files
from tests.packs.traces.made import edited
from tests.refusal import refused
from tests.web.desk import errors, send, sign_in, words

pytestmark = pytest.mark.django_db

HERE = "/stock/bench/tester-files/"


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def bench(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def another(number: int) -> bytes:
    """A sound file with other bytes."""
    return edited("voltage", 0, 3.3 + number / 1000)


def cells(*codes: str) -> None:
    """More cells of the model that the made-up file was tested as."""
    lot = tester_files.cell().lot
    for code in codes:
        CellFactory(code=code, lot=lot, readings={})


def of(*files: tuple[str, bytes], accept: bool = True) -> models.Task:
    sent = [many_files.Sent(name, content) for name, content in files]
    return many_files.read_files(sent=sent, accept=accept, by=line.technician())


def run() -> models.Task:
    task = worker.run_next()
    assert task is not None
    return task


def test_each_file_of_an_upload_says_what_became_of_it(bench: Client) -> None:
    cells("T2")
    sent = [
        SimpleUploadedFile("T1.csv", tester_files.CONTENT),
        SimpleUploadedFile("T2__run 3.csv", another(1)),
        SimpleUploadedFile("T2.csv", tester_files.CONTENT),
        SimpleUploadedFile("X9.csv", another(2)),
        SimpleUploadedFile("T2.txt", b"no table at all"),
    ]
    answer = send(bench, HERE, sent=sent, accept="on")
    assert answer.status_code == 302
    assert "waits for its turn" in words(bench.get(answer.url))
    task = run()
    assert (task.state, [one["way"] for one in task.answer]) == (
        TaskState.DONE.value,
        [many_files.KEPT, many_files.KEPT, *[many_files.REFUSED] * 3],
    )
    told = words(bench.get(answer.url))
    assert "2 kept, 0 kept before, 3 refused" in told
    assert "No cell in the shop has the code X9." in told
    capacity = models.Reading.objects.get(cell__code="T2", measure=Measure.CAPACITY.value)
    assert capacity.trace is not None
    assert models.TraceFile.objects.count() == 2


def test_figures_stay_out_unless_they_are_asked_for() -> None:
    of(("T1.csv", tester_files.CONTENT), accept=False)
    tester_files.cell()
    before = models.Reading.objects.count()
    assert run().answer[0]["way"] == many_files.KEPT
    assert models.Reading.objects.count() == before


def test_a_file_whose_figures_are_refused_is_not_kept_either() -> None:
    """Nothing is measured of a cell that was thrown away: neither its file nor its readings come in."""
    cells("W1")
    models.Cell.objects.filter(code="W1").update(place=Place.CONSIGNED.value)
    of(("W1.csv", tester_files.CONTENT))
    (became,) = run().answer
    assert became["way"] == many_files.REFUSED
    assert "[" not in became["words"], "codes are not for people"
    assert not models.TraceFile.objects.exists()
    assert not models.Reading.objects.filter(cell__code="W1").exists()


def test_stopped_between_two_files_what_is_kept_is_whole(bench: Client) -> None:
    """The one file that was read has its file and its readings; the others have neither, and are named."""
    cells("T2", "T3")
    task = of(("T1.csv", tester_files.CONTENT), ("T2.csv", another(1)), ("T3.csv", another(2)))
    steps = many_files.work_off(task)
    next(steps)
    next(steps)
    tasks.stop(task=task, by=line.technician())
    steps.close()
    assert list(models.TraceFile.objects.values_list("cell__code", flat=True)) == ["T1"]
    assert set(models.Reading.objects.exclude(trace=None).values_list("cell__code", flat=True)) == {"T1"}
    told = words(bench.get(f"{HERE}{task.pk}/"))
    assert "Not read: T1.csv, T2.csv, T3.csv" in told
    again = of(("T1.csv", tester_files.CONTENT), ("T2.csv", another(1)))
    assert [one["way"] for one in run().answer] == [many_files.KNOWN, many_files.KEPT]
    assert again.pk != task.pk


def test_the_worker_hears_that_it_is_to_stop() -> None:
    task = of(("T1.csv", tester_files.CONTENT))
    tester_files.cell()
    models.Task.objects.filter(pk=task.pk).update(stop_asked=True)
    assert run().state == TaskState.STOPPED.value
    assert not models.TraceFile.objects.exists()


def test_a_file_that_changed_while_it_waited_is_refused(tmp_path: Path) -> None:
    of(("T1.csv", tester_files.CONTENT))
    tester_files.cell()
    (waiting,) = (tmp_path / "waiting").glob("*/*")
    waiting.write_bytes(b"something else")
    assert run().answer[0]["way"] == many_files.REFUSED


def test_what_waited_for_a_week_makes_room(tmp_path: Path) -> None:
    of(("T1.csv", tester_files.CONTENT))
    (old,) = (tmp_path / "waiting").glob("*/*")
    os.utime(old, (0, 0))
    of(("T2.csv", another(1)))
    assert not old.exists()


def test_no_file_is_no_upload(bench: Client) -> None:
    assert "sent" in errors(send(bench, HERE))
    technician = line.technician()
    with refused("no_files", field="files"):
        many_files.read_files(sent=[], by=technician)
    too_many = [many_files.Sent(f"T{number}.csv", b"x") for number in range(many_files.MOST_FILES + 1)]
    with refused("no_files", field="files"):
        many_files.read_files(sent=too_many, by=technician)
