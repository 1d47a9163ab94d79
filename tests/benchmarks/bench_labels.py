"""How long 500 labels take; run by hand: ``python -m pytest tests/benchmarks/bench_labels.py -s``. At most 3 s."""

import sys
from time import perf_counter, process_time

from shop import labels


def test_five_hundred_labels() -> None:
    some = [labels.Label(f"B2611-{number:03d}", ("LH-18 2600", "lot B2611")) for number in range(500)]
    for name in labels.SHEETS:
        began, worked = perf_counter(), process_time()
        made = labels.pdf(some, labels.SHEETS[name])
        took = f"{perf_counter() - began:.2f} s, of it {process_time() - worked:.2f} s computing"
        sys.stdout.write(f"\n{name}: {took}, {len(made)} bytes")
