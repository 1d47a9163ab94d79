"""How long each page takes on the demo's data, beside a page of the same framework that reads nothing; run by hand.

``python -m pytest tests/benchmarks/bench_pages.py -s`` from the root of the repository, on a machine that does
nothing else. The figures to beat: 0.3 s for every page (a sign-in is slow on purpose), 20 s from ``demo --reset`` to
the first page.
"""

import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest
from django.db import transaction
from django.test import Client

from shop import models
from tests import shops
from tests.shops import Things
from tests.test_pages import NAMES, VISITS
from tests.test_setup import first_page, free_port, serving_shop

pytestmark = pytest.mark.django_db

NOTHING_READ = "/no-such-page"
"""Middleware, an address that is not found, and a template: the least that an answer costs here."""
TIMES = 5


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: Any) -> Iterator[Things]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield shops.demo()
        transaction.set_rollback(True)


def test_every_page(demo: Things, client: Client) -> None:
    client.force_login(models.User.objects.get(username="owner"))
    addresses = [visit.address for name in NAMES if name in VISITS for visit in VISITS[name](demo)]
    took = sorted(((*_seconds(client, address), address) for address in [NOTHING_READ, *addresses]), reverse=True)
    sys.stdout.write(f"\n{'best':>9} {'median':>9} {'first':>9}  of {TIMES} wall times in ms\n")
    for best, median, first, address in took:
        if address == NOTHING_READ or (best, median, first, address) in took[:15]:
            sys.stdout.write(f"{best:9.1f} {median:9.1f} {first:9.1f}  {address}\n")
    over = [address for _, median, _, address in took if median > 300]
    sys.stdout.write(f"{len(addresses)} addresses; over 300 ms: {over or 'none'}\n")


def _seconds(client: Client, address: str) -> tuple[float, float, float]:
    """Return best, median and first time in milliseconds."""
    times = []
    for _ in range(TIMES):
        began = perf_counter()
        client.get(address)
        times.append((perf_counter() - began) * 1000)
    return min(times), sorted(times)[TIMES // 2], times[0]


def test_the_demo_is_on_screen(tmp_path: Path) -> None:
    port, began = free_port(), perf_counter()
    with serving_shop(tmp_path, "demo", "--reset", PORT=str(port)) as shop:
        assert "<form" in first_page(shop, port)
        took = perf_counter() - began
    with serving_shop(tmp_path, "demo", PORT=str(port)) as shop:
        again = perf_counter()
        assert "<form" in first_page(shop, port)
        sys.stdout.write(
            f"\nfirst page {took:.1f} s after demo --reset; {perf_counter() - again:.1f} s where the demo stands\n"
        )
