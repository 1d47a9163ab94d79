"""A search that goes on beside the pages: asked for, told of, stopped, its best groups kept and shown."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import Measure, Stage, TaskState
from shop import models
from shop.management import worker
from shop.operations import planning, stock, tasks
from tests import line, rows
from tests.refusal import refused
from tests.web.desk import send
from tests.web.test_match import accept, groups, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(line.technician())
    return client


@pytest.fixture
def job() -> models.Job:
    job = line.job_at(Stage.MATCH)
    line.stock()
    return job


def address(job: models.Job, more: str = "") -> str:
    return f"/jobs/{job.number}/match/{more}"


def test_from_asking_to_reserving_what_was_found(bench: Client, job: models.Job) -> None:
    """2600 + 2530 = ... = 5130 mAh four times cannot be beaten: the search ends by itself."""
    assert send(bench, address(job, "search/"), seconds="30").status_code == 302
    assert "waits for its turn" in words(bench.get(address(job, "search/")))
    done = worker.run_next()
    assert done is not None
    assert (done.state, done.ended_at is not None) == (TaskState.DONE.value, True)
    told = words(bench.get(address(job, "search/now/")))
    assert "Best so far: a weakest group of 5130 mAh; no arrangement of these cells can beat it." in told
    page = bench.get(address(job), {"task": done.pk})
    assert "5130 mAh every group" in words(page)
    assert len(groups(page)) == 4
    assert accept(bench, job, page).status_code == 302
    assert models.PlanPosition.objects.filter(open=True).count() == 8


def endless(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that would go on for ever, one breath after the other."""

    def breaths(task: models.Task) -> Iterator[worker.Heard]:
        for number in range(100):
            if number == 3:
                tasks.stop(task=task, by=line.technician())
            yield worker.Heard(number / 100, {"number": number})

    monkeypatch.setattr(worker, "DOES", dict.fromkeys(worker.DOES, breaths))


def test_work_ends_when_it_is_stopped_and_keeps_its_best(job: models.Job, monkeypatch: pytest.MonkeyPatch) -> None:
    rows.search(job)
    endless(monkeypatch)
    task = worker.run_next()
    assert task is not None
    assert (task.state, task.answer, task.share) == (TaskState.STOPPED.value, {"number": 3}, 0.03)


def test_stopped_by_its_button(bench: Client, job: models.Job) -> None:
    task = rows.search(job)
    send(bench, address(job, "search/"))
    task.refresh_from_db()
    assert task.state == TaskState.STOPPED.value
    assert worker.run_next() is None, "what was stopped while it waited never begins"


def test_one_search_at_a_time(job: models.Job) -> None:
    tasks.search_longer(job=job, asked={"seconds": 30}, by=line.technician())
    with refused("search_runs"):
        tasks.search_longer(job=job, asked={"seconds": 30}, by=line.technician())


def test_a_search_whose_worker_is_gone_makes_room_for_another(job: models.Job) -> None:
    left = rows.search(job)
    models.Task.objects.filter(pk=left.pk).update(
        state=TaskState.RUNNING.value, heard_at=timezone.now() - timedelta(minutes=5)
    )
    tasks.search_longer(job=job, asked={"seconds": 30}, by=line.technician())
    left.refresh_from_db()
    assert left.state == TaskState.FAILED.value


def test_what_a_worker_before_left_is_told_of(bench: Client, job: models.Job) -> None:
    left = rows.search(job)
    models.Task.objects.filter(pk=left.pk).update(state=TaskState.RUNNING.value)
    worker.give_up_what_was_left()
    assert "the shop was stopped while it ran" in words(bench.get(address(job, "search/")))


def test_a_stock_without_groups_is_told_in_words(bench: Client, job: models.Job) -> None:
    task = rows.search(job)
    task.asked["min_capacity_mah"] = "9999"
    task.save()
    worker.run_next()
    assert "0 of 8 cells are usable" in words(bench.get(address(job, "search/")))


def test_an_error_of_the_program_is_told_and_the_next_one_still_has_its_turn(
    job: models.Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(task: models.Task) -> Iterator[worker.Heard]:
        raise ZeroDivisionError
        yield

    rows.search(job)
    monkeypatch.setattr(worker, "DOES", dict.fromkeys(worker.DOES, broken))
    with pytest.raises(ZeroDivisionError):
        worker.run_next()
    assert models.Task.objects.get().state == TaskState.FAILED.value


def test_groups_of_another_target_are_not_shown(bench: Client, job: models.Job) -> None:
    rows.search(job)
    done = worker.run_next()
    planning.state_target(job=job, target=line.target(), by=line.technician())
    assert done is not None
    assert "The target pack was changed since" in words(bench.get(address(job, "search/")))
    assert bench.get(address(job), {"task": done.pk}).context["proposal"].signed


def test_a_reading_taken_since_counts(bench: Client, job: models.Job) -> None:
    rows.search(job)
    done = worker.run_next()
    stock.record_reading(
        cell=models.Cell.objects.get(code="S008"), measure=Measure.CAPACITY, value=Decimal(2510), by=line.technician()
    )
    assert done is not None
    assert "5110 mAh weakest group" in words(bench.get(address(job), {"task": done.pk}))


@pytest.mark.parametrize("task", ["0", "999999", "x", "9" * 40])
def test_a_search_that_is_not_there_is_no_matter(bench: Client, job: models.Job, task: str) -> None:
    answer: Any = bench.get(address(job), {"task": task})
    assert "5130 mAh every group" in words(answer)
