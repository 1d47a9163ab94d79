"""A shop whose steps were one row each: its job log still tells the tries apart."""

import re
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.test_setup import ROOT, clean

BEFORE = """
import django
django.setup()
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
one_by_one = MigrationExecutor(connection)
one_by_one.loader.replace_migrations = False
one_by_one.loader.build_graph()
one_by_one.migrate([("shop", "0006_way_of_the_current")])
"""
"""Makes the tables as they were before each try had its own row, by the migrations a shop of that time has had."""


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("grown")
    python(folder, "-c", BEFORE)
    return folder


def python(data: Path, *command: str) -> None:
    here = clean(data, {}) | {"DJANGO_SETTINGS_MODULE": "shop.settings"}
    subprocess.run([sys.executable, *command], cwd=ROOT, env=here, check=True, timeout=300)


def opened(data: Path) -> "closing[sqlite3.Connection]":
    return closing(sqlite3.connect(data / "own.sqlite3", isolation_level=None))


def put(book: sqlite3.Connection, table: str, **values: Any) -> None:
    """Write a row past everything but the table's own constraints; what is not given is as empty as it may be."""
    columns = book.execute(f"PRAGMA table_info({table})").fetchall()
    empty = {"integer": 0, "bigint": 0, "bool": 0, "datetime": "2026-01-05 08:00:00", "text": "", "decimal": 0}
    for _, name, kind, required, _, key in columns:
        if required and not key and name not in values:
            values[name] = next((blank for word, blank in empty.items() if kind.startswith(word)), "")
    names, marks = ", ".join(values), ", ".join("?" * len(values))
    book.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", list(values.values()))


def minute(number: int) -> str:
    return f"2026-01-05 09:{number:02d}:00"


@pytest.fixture(scope="module")
def grown(data: Path) -> Iterator[sqlite3.Connection]:
    """One job: taken apart, a cell placed, measured twice, and waiting to be joined; one step was never begun."""
    with opened(data) as book:
        put(book, "shop_user", id=1, username="nell")
        put(book, "shop_customer", id=1, name="Ida Moor")
        put(book, "shop_device", id=1, customer_id=1, model="pump", device_class="tool", chemistry="nmc")
        job = {"stage": "join", "kind": "rebuild", "danger_level": "clear", "removed_owner": "shop"}
        put(book, "shop_job", id=1, number=1, device_id=1, opened_by_id=1, danger_signs="[]", version=1, **job)
        done = {"dismantle": minute(2), "place": minute(4), "measure": minute(8), "join": None}
        for at, (stage, ended) in enumerate(done.items(), start=1):
            by = 1 if ended else None
            put(
                book,
                "shop_step",
                id=at,
                job_id=1,
                stage=stage,
                done_at=ended,
                done_by_id=by,
                findings=f'[{{"message": "{stage}"}}]',
                confirmed="{}",
            )
        log = [
            (1, "cells removed", "{}"),
            (2, "step done", '{"step": "dismantle", "stops": []}'),
            (3, "cell placed", "{}"),
            (4, "step done", '{"step": "place", "stops": []}'),
            (6, "step stopped", '{"step": "measure", "stops": ["measure.joining_current"]}'),
            (8, "step done", '{"step": "measure", "stops": []}'),
        ]
        for at, verb, facts in log:
            put(book, "shop_logentry", job_id=1, by_id=1, at=minute(at), verb=verb, facts=facts)
        for number, (stage, at) in enumerate((("dismantle", 1), ("measure", 6), ("measure", 8), ("examine", 0)), 1):
            read = {"measure": "rest_voltage_mv", "value": "3600", "measured_at": minute(at), "point": f"at {at}"}
            put(book, "shop_reading", id=number, job_id=1, by_id=1, stage=stage, **read)
    python(data, "manage.py", "migrate", "-v0")
    with opened(data) as book:
        yield book


@pytest.mark.slow
def test_the_tries_of_a_shop_that_has_worked_for_a_while(grown: sqlite3.Connection) -> None:
    tries = grown.execute("SELECT stage, number, outcome, started_at, ended_at FROM shop_step ORDER BY id").fetchall()
    assert tries == [
        ("dismantle", 1, "done", minute(1), minute(2)),
        ("place", 1, "done", minute(3), minute(4)),
        ("measure", 1, "stopped", minute(6), minute(6)),
        ("measure", 2, "done", minute(8), minute(8)),
    ]
    read = "SELECT point, stage, number FROM shop_reading LEFT JOIN shop_step ON step_id = shop_step.id ORDER BY point"
    read = read.replace("stage", "shop_step.stage")
    assert grown.execute(read).fetchall() == [
        ("at 0", None, None),
        ("at 1", "dismantle", 1),
        ("at 6", "measure", 1),
        ("at 8", "measure", 2),
    ]
    findings = dict(grown.execute("SELECT number, findings FROM shop_step WHERE stage = 'measure'").fetchall())
    assert "measure.joining_current" in findings[1]
    assert findings[2] == '[{"message": "measure"}]'
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        grown.execute("UPDATE shop_reading SET value = 1")


@pytest.mark.slow
def test_a_shop_that_grew_has_the_tables_of_a_new_one(grown: sqlite3.Connection, data: Path, tmp_path: Path) -> None:
    python(tmp_path, "manage.py", "migrate", "-v0")
    assert tables(data) == tables(tmp_path)


def tables(data: Path) -> list[tuple[str, list[str]]]:
    """Return what stands in each table's statement, without its order: a migration appends where a new table sorts."""
    with opened(data) as book:
        made = "SELECT name, sql FROM sqlite_master WHERE tbl_name LIKE 'shop_%' AND sql IS NOT NULL ORDER BY name"
        return [(name, sorted(re.findall(r"\w+", sql))) for name, sql in book.execute(made)]
