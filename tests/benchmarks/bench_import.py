"""How long a table of 10,000 tested cells takes to come in; run by hand.

``python -m pytest tests/benchmarks/bench_import.py -s``. At most 5 s on SQLite, from the parsed rows to the book.
"""

import cProfile
import os
import pstats
import sys
from decimal import Decimal
from time import perf_counter, process_time

import pytest

from packs.terms import Measure
from shop import models
from shop.errors import ShopError
from shop.operations import stock
from tests import line
from tests.factories import LotFactory

pytestmark = pytest.mark.django_db

ROWS = 10_000


def rows() -> list[stock.CellRow]:
    """Cells with capacity, DC resistance and rest voltage; every fiftieth rests too low and is rejected."""
    return [
        stock.CellRow(
            line=number + 2,
            code=f"T{number:05d}",
            readings={
                Measure.CAPACITY: Decimal(2400 + number % 200),
                Measure.DC_RESISTANCE: Decimal(30_000 + number % 9000),
                Measure.REST_VOLTAGE: Decimal(1900 if number % 50 == 7 else 3600 + number % 90),
            },
        )
        for number in range(ROWS)
    ]


def test_a_table_of_ten_thousand_cells() -> None:
    lot, by, table = LotFactory(), line.technician(), rows()
    given = {"lot": lot, "by": by, "methods": {Measure.DC_RESISTANCE: "DC pulse 10 s"}, "sure": True}
    profile = cProfile.Profile()
    began, worked = perf_counter(), process_time()
    if os.environ.get("PROFILE"):
        profile.enable()
    stock.import_cells(rows=table, **given)
    profile.disable()
    took = f"{perf_counter() - began:.2f} s, of it {process_time() - worked:.2f} s computing"
    sys.stdout.write(f"\n{ROWS} rows, {models.Reading.objects.count()} readings: {took}\n")
    began = perf_counter()
    with pytest.raises(ShopError):
        stock.import_cells(rows=table, **given)
    sys.stdout.write(f"the same table again, refused: {perf_counter() - began:.2f} s\n")
    if os.environ.get("PROFILE"):
        pstats.Stats(profile, stream=sys.stdout).sort_stats("cumulative").print_stats(25)
