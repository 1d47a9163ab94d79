"""Packs of other sizes, chemistries, loads and boards: no true fault is struck out there either.

Every kind and state of a single fault in each pack, in large ones a third of them, and 120 seeded double faults over all of them; with the 80 of
``test_generated`` these are 200. Sizes, meter errors (0.5 % + 2 mV) and contact scatter are invented and drawn from a
seed; loads from 1 A to 20 A, boards in either conductor.
"""

import random
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from math import ceil, log2

import pytest

from packs.faultfinding import Fault, Measurement, PackModel, Switch, available, diagnose, single_faults
from packs.terms import Chemistry
from packs.units import ureg
from tests.packs.faultfinding.bench import Bench
from tests.packs.faultfinding.test_generated import follow, stands

# Groups, load, resistance of a sound group, wake voltage of a group, double faults drawn.
FAMILIES: dict[str, tuple[int, Chemistry, float, float, float, Switch, int]] = {
    "3s NMC, 1 A, low side": (3, Chemistry.NMC, 1.0, 40.0, 3.1, Switch.LOW_SIDE, 30),
    "4s LFP, 20 A, high side": (4, Chemistry.LFP, 20.0, 4.0, 2.9, Switch.HIGH_SIDE, 30),
    "7s NMC, 10 A, low side": (7, Chemistry.NMC, 10.0, 12.0, 3.2, Switch.LOW_SIDE, 26),
    "10s NMC, 3 A, high side": (10, Chemistry.NMC, 3.0, 25.0, 3.0, Switch.HIGH_SIDE, 16),
    "15s LFP, 15 A, low side": (15, Chemistry.LFP, 15.0, 6.0, 2.8, Switch.LOW_SIDE, 10),
    "20s NMC, 2 A, high side": (20, Chemistry.NMC, 2.0, 30.0, 3.1, Switch.HIGH_SIDE, 8),
}
FOLLOWED_UP_TO, FOLLOWED = 10, 2
"""Groups of a pack in which proposals are followed and all states are drawn, and in how many double faults of each."""


@cache
def pack(name: str) -> PackModel:
    series, chemistry, load, ohm, wake, switch, _ = FAMILIES[name]
    return PackModel(
        series,
        chemistry,
        group_resistance=ureg.Quantity(ohm, "mΩ"),
        load=ureg.Quantity(load, "A"),
        wake_voltage=ureg.Quantity(wake * series, "V"),
        switch=switch,
        sensor_value=ureg.Quantity(10, "kΩ"),
        tap_plug=series < FOLLOWED_UP_TO,
    )


@cache
def singles(name: str) -> list[Fault]:
    """One of every kind and state, at a place drawn for it."""
    draw, by_state = random.Random(name), dict[tuple[str, str], list[Fault]]()
    for fault in single_faults(pack(name).series):
        by_state.setdefault((fault.kind.value, fault.state.value), []).append(fault)
    chosen = [draw.choice(alike) for alike in by_state.values()]
    return chosen if pack(name).series <= FOLLOWED_UP_TO else chosen[draw.randrange(3) :: 3]


@cache
def doubles(name: str) -> list[tuple[Fault, ...]]:
    every = single_faults(pack(name).series)
    pairs = [(a, b) for a, b in combinations(every, 2) if (a.kind, a.number) != (b.kind, b.number)]
    return random.Random(name).sample(pairs, FAMILIES[name][-1])


@cache
def everything(name: str) -> list[Measurement]:
    """All set-ups of a pack, as a sound one offers them one after another."""
    model, taken = pack(name), list[Measurement]()
    bench, found = Bench(model, (), 1), diagnose(model, [])
    while offered := available(found, may_charge=True):
        taken.append(offered[0])
        found = diagnose(model, [*found.readings, *bench.read(offered[0])])
    return taken


def cases(name: str) -> Iterator[tuple[int, tuple[Fault, ...]]]:
    yield from enumerate([*((fault,) for fault in singles(name)), *doubles(name)])


def test_two_hundred_double_faults_are_drawn_in_all() -> None:
    assert sum(family[-1] for family in FAMILIES.values()) == 120


@pytest.mark.parametrize("name", FAMILIES)
def test_no_true_fault_is_struck_out_by_all_that_can_be_read(name: str) -> None:
    assert len(everything(name)) >= 8
    for seed, faults in cases(name):
        bench = Bench(pack(name), faults, seed)
        readings = [reading for one in everything(name) for reading in bench.read(one)]
        assert stands(faults, diagnose(pack(name), readings)), (seed, [str(fault) for fault in faults])


@pytest.mark.parametrize("name", [name for name, family in FAMILIES.items() if family[0] <= FOLLOWED_UP_TO])
def test_what_is_proposed_leads_there_within_the_bound(name: str) -> None:
    """The ceiling of log2 of the candidates plus one, a step being one set-up."""
    most = ceil(log2(len(diagnose(pack(name), []).possible))) + 1
    for seed, faults in enumerate(doubles(name)[:FOLLOWED]):
        _, taken = follow(Bench(pack(name), faults, seed))
        assert len(taken) <= most, (seed, [str(fault) for fault in faults])
