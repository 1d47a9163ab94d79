"""Many want the same cells at the same moment: each cell goes to one of them, and nobody sees an error but that refusal."""

import random
import threading
import time
from collections import Counter
from typing import Any

import pytest
from django.db import connection

from packs.terms import Measure, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import planning, stock
from shop.selectors import audit
from tests import line, rows
from tests.factories import CellFactory, LotFactory, SettingsFactory
from tests.operations.test_at_once import at_once

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("committed_db")]


HELD = 0.01
"""Seconds for which somebody keeps cells."""


@pytest.mark.parametrize(
    ("workers", "cells", "reservations"),
    [(4, 12, 40), pytest.param(16, 200, 10_000, marks=pytest.mark.long)],
)
def test_no_cell_is_promised_twice(workers: int, cells: int, reservations: int) -> None:
    pool = [cell.code for cell in rows.cells(cells, LotFactory(code="L1"))]
    jobs = [line.job_at(Stage.MATCH) for _ in range(workers)]
    told: Counter[str] = Counter()
    by = line.technician()

    def work(number: int) -> None:
        chance, job = random.Random(number), jobs[number]
        for _ in range(reservations // workers):
            wanted = chance.sample(pool, 8)
            try:
                planning.accept(job=job, groups=[wanted[n : n + 2] for n in range(0, 8, 2)], by=by)
            except ShopError as refusal:
                told[refusal.code] += 1
                continue
            told["reserved"] += 1
            time.sleep(HELD)  # others try meanwhile
            planning.release(job=job, reason="another pack first", by=by)
            line.state_target(job)

    assert at_once(*[lambda number=number: work(number) for number in range(workers)]) == [None] * workers
    assert set(told) == {"reserved", "cells_gone"}
    assert sum(told.values()) == reservations // workers * workers
    assert models.LogEntry.objects.filter(verb="cells accepted").count() == told["reserved"]
    assert models.PlanPosition.objects.filter(open=True).count() == 0
    assert models.Cell.objects.filter(code__in=pool, place="stock").count() == cells
    assert list(audit.differences()) == []


@pytest.mark.parametrize(("writers", "seconds"), [(6, 2), pytest.param(20, 60, marks=pytest.mark.long)])
def test_many_write_and_nobody_sees_an_error(writers: int, seconds: int) -> None:
    SettingsFactory()
    cells = [CellFactory(code=f"R{number}", readings={}) for number in range(writers)]
    written: Counter[int] = Counter()
    by, ends = line.technician(), threading.Event()

    def write(number: int) -> Any:
        try:
            while not ends.is_set():
                stock.record_reading(cell=cells[number], measure=Measure.CAPACITY, value=2500, by=by)
                line.take_in(customer_name=f"Bench {number}")
                written[number] += 1
        finally:
            connection.close()
        return "no error"

    timer = threading.Timer(seconds, ends.set)
    timer.start()
    began = time.monotonic()
    assert at_once(*[lambda number=number: write(number) for number in range(writers)]) == ["no error"] * writers
    assert time.monotonic() - began >= seconds
    assert len(written) == writers, "somebody never got a turn"
    assert models.Job.objects.count() == models.Reading.objects.count() == sum(written.values())
    assert list(audit.differences()) == []
