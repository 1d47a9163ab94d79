"""Two benches at the same moment: each cell goes to one of them, each job gets a number of its own."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Thread
from time import sleep
from typing import Any

import pytest
from django.db import connection

from packs.terms import Stage
from shop import models
from shop.errors import ShopError
from shop.operations import planning, rebuild
from shop.selectors import audit
from shop.sqlite3 import base as turns
from tests import line
from tests.factories import SettingsFactory

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("committed_db")]

GROUPS = [["S001", "S008"], ["S002", "S007"], ["S003", "S006"], ["S004", "S005"]]


def at_once(*benches: Callable[[], Any]) -> list[Any]:
    """Do things at the same moment, each on a connection of its own; a refusal stands for itself by its code."""
    together = Barrier(len(benches))

    def run(do: Callable[[], Any]) -> Any:
        together.wait()
        try:
            return do()
        except ShopError as refusal:
            return refusal.code
        finally:
            connection.close()

    with ThreadPoolExecutor(len(benches)) as threads:
        return list(threads.map(run, benches))


def test_cells_wanted_by_two_jobs_go_to_one() -> None:
    first = line.job_at(Stage.MATCH)
    second = line.job_at(Stage.MATCH)
    line.stock()
    by = line.technician()
    answers = at_once(
        lambda: planning.accept(job=first, groups=GROUPS, by=by).job_id,
        lambda: planning.accept(job=second, groups=GROUPS, by=by).job_id,
    )
    assert sorted(answers, key=str)[1] == "cells_gone"
    assert models.PlanPosition.objects.filter(open=True).count() == 8
    assert list(audit.differences()) == []


def test_one_cell_is_placed_once() -> None:
    job = line.job_at(Stage.PLACE)
    by = line.technician()
    answers = at_once(*[lambda: rebuild.place_cell(job=job, code="S001", by=by).name] * 4)
    assert sorted(answers) == ["1.1", "placed_already", "placed_already", "placed_already"]
    assert models.Movement.objects.filter(cell__code="S001", to_place="pack").count() == 1


def test_jobs_taken_in_together_have_numbers_of_their_own() -> None:
    SettingsFactory()
    line.technician()
    numbers = at_once(*[lambda: line.take_in().number] * 6)
    assert sorted(numbers) == [1, 2, 3, 4, 5, 6]


def test_who_asked_first_begins_first() -> None:
    """Nobody waits past those who came later, however many there are."""
    began: list[int] = []

    def wait_for_a_turn(number: int) -> None:
        with turns.turn():
            began.append(number)

    threads = [Thread(target=wait_for_a_turn, args=[number]) for number in range(20)]
    with turns.turn():
        for number, thread in enumerate(threads):
            thread.start()
            while turns.waiting() < number + 2:
                sleep(0.001)
    for thread in threads:
        thread.join()
    assert began == list(range(20))
