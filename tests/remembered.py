"""What was walked to once is put back row by row, instead of being walked to again by each test.

Most tests begin with a job at some stage, in a shop that holds nothing else but its settings and people. The first in a
process walks there through the operations; the rows that this added are kept, and written as they were for whoever asks next.
"""

from collections.abc import Callable
from datetime import datetime
from functools import cache

from django.apps import apps
from django.db import connection

from shop import models

Rows = dict[str, list[tuple[object, ...]]]

HEADS = models.ChainHead._meta.db_table
"""What an empty shop holds too."""

HOUSE = (models.WorkshopSettings, models.RoleHolding, models.User)
OF_ITS_OWN = {"password", "last_login"}

_KEPT: dict[str, tuple[int, Rows]] = {}


def job(key: str, walk: Callable[[], models.Job]) -> models.Job:
    """Return the job that a walk leads to; the key says all that the walk depends on besides the house.

    Other databases count their keys on past what is rolled back, so rows as they were are SQLite's alone.
    """
    if connection.vendor != "sqlite":
        return walk()
    before = _rows()
    house = {model._meta.db_table for model in HOUSE}
    if any(rows for table, rows in before.items() if table not in house | {HEADS}):
        return walk()
    key += str([_told(row) for model in HOUSE for row in model.objects.order_by("pk").values()])
    if key not in _KEPT:
        job = walk()
        _KEPT[key] = job.pk, {table: rows[len(before[table]) * (table in house) :] for table, rows in _rows().items()}
        return job
    number, rows = _KEPT[key]
    _put_back(rows)
    return models.Job.objects.get(pk=number)


def _told(row: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in row.items() if name not in OF_ITS_OWN and not isinstance(value, datetime)}


def _rows() -> Rows:
    """Return all rows of the shop; the plus keeps the driver from making Python's dates of what stands there."""
    found = {}
    with connection.cursor() as cursor:
        for table, columns in _tables().items():
            cursor.execute(f"SELECT {columns} FROM {table} ORDER BY rowid")
            found[table] = cursor.fetchall()
    return found


@cache
def _tables() -> dict[str, str]:
    found = {}
    with connection.cursor() as cursor:
        for model in apps.get_app_config("shop").get_models(include_auto_created=True):
            table = model._meta.db_table
            columns = connection.introspection.get_table_description(cursor, table)
            found[table] = ", ".join(f'+"{column.name}"' for column in columns)
    return found


def _put_back(rows: Rows) -> None:
    with connection.cursor() as cursor:
        for table, found in rows.items():
            if found:
                places = ", ".join(["%s"] * len(found[0]))
                cursor.executemany(f"INSERT OR REPLACE INTO {table} VALUES ({places})", found)
