"""A reading that slipped is named, where nothing explains it beside the others. Common practice, no source; values invented."""

import random
from dataclasses import replace

import pytest

from packs.faultfinding import Reading, available, diagnose, doubted, single_faults
from packs.faultfinding.conflict import conflict
from tests.packs.faultfinding.bench import Bench
from tests.packs.faultfinding.test_trade_cases import LOAD, PACK, SAG, SOUND, groups, joint, outlet, stack_input

# What was written down, which of it is to blame, and how it slipped.
SLIPPED: dict[str, tuple[list[Reading], int, str]] = {
    "probes the wrong way round at a group": (
        [*groups("3.70 -3.70 3.70 3.70"), stack_input(14.8)],
        1,
        "the probes the other way round",
    ),
    "a mark one place back at a group": (
        [*groups("3.70 3.70 0.37 3.70"), stack_input(14.8), outlet(14.1)],
        2,
        "the decimal mark a place further on",
    ),
    "a mark one place back at the stack": (
        [*groups(SOUND), stack_input(1.48), outlet(14.1)],
        4,
        "the decimal mark a place further on",
    ),
    "probes the wrong way round at a joint under load": (
        [*groups(SOUND), *groups(SAG, LOAD), joint(1, 1.0)],
        8,
        "the probes the other way round",
    ),
    "millivolts written as volts": (
        [*groups(SOUND), *groups("3.58 0.00358 3.58 3.58", LOAD), stack_input(14.32, LOAD)],
        5,
        "the larger unit",
    ),
}


@pytest.mark.parametrize("name", SLIPPED)
def test_the_reading_that_slipped_is_named_with_its_slip(name: str) -> None:
    readings, wrong, slip = SLIPPED[name]
    first = doubted(diagnose(PACK, readings))[0]
    assert (first.numbers, first.slip) == ((wrong,), slip)
    assert first.without.possible
    assert first.fits is not None
    meant = [*readings[:wrong], replace(readings[wrong], value=first.fits), *readings[wrong + 1 :]]
    assert diagnose(PACK, meant).possible


def test_readings_that_are_explained_leave_nothing_to_doubt() -> None:
    assert doubted(diagnose(PACK, [*groups(SOUND), stack_input(14.8)])) == ()


def test_two_wrong_ones_are_named_together_and_three_are_not_guessed() -> None:
    two = doubted(diagnose(PACK, [*groups("3.70 -3.70 -3.70 3.70"), stack_input(14.8)]))
    assert [one.numbers for one in two] == [(1, 2)]
    assert doubted(diagnose(PACK, groups("-3.70 -3.70 -3.70 3.70"))) == ()


def test_both_of_two_that_contradict_each_other_are_named() -> None:
    """Group 2 read twice, so that one of both is wrong, and nothing tells which."""
    named = doubted(diagnose(PACK, [*groups(SOUND), *groups("3.70 3.20 3.70 3.70")]))
    assert {one.numbers for one in named} == {(1,), (5,)}
    assert named[0].numbers == (5,), "without it the pack is sound: the simplest explanation first"


def test_a_conflict_is_explained_by_nothing() -> None:
    readings, _, _ = SLIPPED["a mark one place back at a group"]
    few = conflict(PACK, readings, range(len(readings)))
    assert 1 < len(few) < len(readings)
    assert diagnose(PACK, [readings[number] for number in few]).possible == ()


def test_a_slip_in_one_of_all_readings_of_any_single_fault_is_found_where_it_shows() -> None:
    """Signs and tens, drawn from a seed, in what a pack with each single fault shows."""
    draw, shown = random.Random(5), 0
    for seed, fault in enumerate(single_faults(4)):
        bench = Bench(PACK, (fault,), seed)
        at_rest = bench.read(available(diagnose(PACK, []))[-1])
        readings = [*at_rest, *(one for more in available(diagnose(PACK, at_rest))[:3] for one in bench.read(more))]
        wrong = draw.choice([n for n, one in enumerate(readings) if one.value is not None and one.value.magnitude > 1])
        value = readings[wrong].value
        assert value is not None
        readings[wrong] = replace(readings[wrong], value=value * draw.choice([-1.0, 0.1]))
        found = diagnose(PACK, readings)
        if not found.possible:
            shown += 1
            assert (wrong,) in [one.numbers for one in doubted(found)], (str(fault), str(readings[wrong]))
    assert shown > 20
