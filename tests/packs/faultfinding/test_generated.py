"""Every single fault and 200 seeded double faults of sizes the diagnosis does not know: nothing true is struck out.

Sizes, meter errors (0.5 % + 2 mV) and contact scatter are invented and drawn from a seed.

A step is one set-up of the pack, read at all the points it offers: opening the case, drawing the load, the charger,
another day are what costs; the next pair of points costs a moment. Counted pair by pair no order of measuring could
keep to the logarithm of the candidates: that no group of four is weak takes a reading under load of each of them, that
none leaks another one, that no joint is bad one of each joint, so that even a sound pack needs more pairs than that.

The bound on steps alone proves little: this pack offers no more set-ups than it allows. So the order that is proposed is
also held against the plain one, shut before open before load before charger before another day.
"""

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import ceil, log2
from statistics import mean

import pytest

from packs.chemistry import limits
from packs.faultfinding import (
    Access,
    Circumstance,
    Diagnosis,
    Fault,
    Measurement,
    PackModel,
    Place,
    Proposal,
    Reading,
    available,
    diagnose,
    ends,
    next_measurement,
    single_faults,
)
from packs.terms import Chemistry
from packs.units import ureg
from tests.packs.faultfinding.bench import Bench

Choice = Callable[[Diagnosis, Proposal], Measurement]
SERIES, DOUBLES, SHARES = 4, 200, 12
PACK = PackModel(
    SERIES,
    Chemistry.NMC,
    group_resistance=ureg.Quantity(20, "mΩ"),
    load=ureg.Quantity(5, "A"),
    wake_voltage=ureg.Quantity(3.1 * SERIES, "V"),
    sensor_value=ureg.Quantity(10, "kΩ"),
)
AT_REST = Measurement(
    tuple(ends(Place.GROUP, number) for number in range(1, SERIES + 1)), Circumstance.REST, Access.OPEN
)


@cache
def cases() -> list[tuple[Fault, ...]]:
    singles = single_faults(SERIES)
    pairs = [(a, b) for a, b in combinations(singles, 2) if (a.kind, a.number) != (b.kind, b.number)]
    return [*((fault,) for fault in singles), *random.Random(9).sample(pairs, DOUBLES)]


@cache
def most_steps() -> int:
    """Candidates differ in what they predict as soon as they differ in a part or a state."""
    return ceil(log2(len(untouched().possible))) + 1


@cache
def untouched() -> Diagnosis:
    """What is possible before anything was read."""
    return diagnose(PACK, [])


def stands(faults: tuple[Fault, ...], found: Diagnosis) -> bool:
    return set(faults) in [set(one) for one in found.possible]


def proposed(_: Diagnosis, proposal: Proposal) -> Measurement:
    return proposal.measurement


def first_in_order(found: Diagnosis, _: Proposal) -> Measurement:
    """Whatever is easiest and was not measured yet."""
    return available(found.model, found.readings, may_charge=True)[0]


def follow(bench: Bench, choose: Choice = proposed) -> tuple[list[Reading], Diagnosis, int]:
    """Measure until no measurement would tell anything more."""
    readings: list[Reading] = []
    found = untouched()
    for step in range(20):
        proposal = next_measurement(found, may_charge=True)
        if proposal is None:
            return readings, found, step
        readings += bench.read(choose(found, proposal))
        found = diagnose(PACK, readings)
        assert stands(bench.faults, found), [str(one) for one in readings]
    raise AssertionError("it never ends")


@pytest.mark.parametrize("share", range(SHARES))
def test_the_truth_stands_and_is_narrowed_as_far_as_any_point_can(share: int) -> None:
    for seed, faults in list(enumerate(cases()))[share::SHARES]:
        bench = Bench(PACK, faults, seed)
        readings, found, steps = follow(bench)
        assert steps <= most_steps(), (seed, [str(fault) for fault in faults])
        more = [reading for one in available(PACK, readings, may_charge=True) for reading in bench.read(one)]
        assert diagnose(PACK, [*readings, *more]).possible == found.possible, (seed, [str(fault) for fault in faults])


def test_the_proposals_spare_set_ups() -> None:
    """Of the same packs, until the same is known: common practice, no source, is the order; the third spared is ours."""
    packs = list(enumerate(cases()))[::8]
    steps = {
        choose: [follow(Bench(PACK, faults, seed), choose)[2] for seed, faults in packs]
        for choose in (proposed, first_in_order)
    }
    assert max(steps[first_in_order]) == most_steps()
    assert mean(steps[proposed]) <= mean(steps[first_in_order]) * 2 / 3
    assert sum(few <= most_steps() // 2 for few in steps[proposed]) >= len(packs) / 2


def test_safest_and_cheapest_first() -> None:
    """Common practice, no source: shut before open before load before charger before another day."""
    order = [Access.SHUT, Access.OPEN, Access.UNDER_LOAD, Access.CHARGING, Access.WAITING]
    efforts = {one.access: one.effort for one in available(PACK, Bench(PACK, (), 1).read(AT_REST), may_charge=True)}
    assert sorted(efforts, key=efforts.__getitem__) == order
    assert len(set(efforts.values())) == len(order)


def test_a_sound_pack_needs_more_pairs_than_any_bound_on_pairs_would_allow() -> None:
    readings, found, _ = follow(Bench(PACK, (), 1))
    assert found.best == ((),)
    each_group_alone = {reading.low.number for reading in readings if reading.low.number and reading.high.number}
    assert each_group_alone == set(range(1, SERIES + 1))
    assert len(readings) > most_steps()


def test_no_load_on_an_open_pack_of_which_a_group_was_never_read_at_rest() -> None:
    """Common practice, no source: look before you draw a current. A load at the shut outlet is the device's own use."""
    bench = Bench(PACK, (), 1)
    at_rest = bench.read(next(one for one in available(PACK, []) if one.access is Access.OPEN))

    def offered(readings: list[Reading]) -> bool:
        return any(one.access is Access.UNDER_LOAD for one in available(PACK, readings))

    assert not offered([])
    assert not offered(at_rest[: SERIES - 1])
    assert offered(at_rest)


@pytest.mark.parametrize("chemistry", [Chemistry.NMC, Chemistry.LTO, Chemistry.NIMH])
@pytest.mark.parametrize(("volts", "spared"), [(0.2, True), (-0.4, True), (None, False)])
def test_no_load_at_all_while_a_group_is_nearly_at_nothing(
    chemistry: Chemistry, volts: float | None, spared: bool
) -> None:
    """The other groups would drive it backwards, which heats and may vent it; common practice, no source.

    For titanate and the nickel family no line is known below which nothing is charged: there a short's own bound serves.
    """
    pack = replace(PACK, chemistry=chemistry)
    whole = limits(chemistry).require("nominal_voltage")
    readings = [replace(one, value=whole) for one in Bench(pack, (), 1).read(AT_REST)]
    readings[1] = replace(readings[1], value=whole if volts is None else ureg.Quantity(volts, "V"))
    loads = {Circumstance.LOAD, Circumstance.OUTLET_LOAD}
    offered = {one.circumstance for one in available(pack, readings)}
    assert offered.isdisjoint(loads) is spared
    assert Circumstance.NEXT_DAY in offered
