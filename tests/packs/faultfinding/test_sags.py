"""What a group loses under load beside the others, for and against an explanation: common practice, no source; by hand."""

import pytest

from packs.faultfinding import Fault, State, diagnose, evidence, sags
from tests.packs.faultfinding.test_trade_cases import BOARD, LOAD, PACK, PartKind, group, groups, of


def told(loaded: str, *faults: Fault) -> dict[int, bool]:
    """What the sags of which groups say of a set of faults: for it or against it."""
    found = diagnose(PACK, [*groups("3.70 3.70 3.70 3.70"), *groups(loaded, LOAD)])
    return {sag.group: speaks_for for sag, speaks_for in evidence(found, faults).sags}


def test_each_group_is_held_against_the_middle_of_the_others() -> None:
    """3.70 V less 3.58, 3.56, 2.90 and 3.60 V; without its own the others of group 3 have 0.10, 0.12 and 0.14 V."""
    read = [*groups("3.70 3.70 3.70 3.70"), *groups("3.58 3.56 2.90 3.60", LOAD)]
    third = sags(PACK, read)[2]
    assert (third.group, third.stands_out) == (3, True)
    assert third.lost.to("V").magnitude == pytest.approx(0.80)
    assert third.usual is not None
    assert third.usual.to("V").magnitude == pytest.approx(0.12)
    assert [one.stands_out for one in sags(PACK, read)] == [False, False, True, False]


def test_what_a_group_lost_speaks_for_the_weak_one_and_against_any_other() -> None:
    one_sags = "3.58 3.58 2.90 3.58"
    assert told(one_sags, group(3, State.WEAK)) == {3: True}
    assert told(one_sags, group(3, State.LEAKING)) == {3: True}
    assert told(one_sags, group(2, State.WEAK)) == {2: False, 3: False}
    assert told(one_sags, of(BOARD, State.FAILED)) == {3: False}
    assert told(one_sags) == {3: False}


def test_worn_cells_all_sag_far_more_than_new_ones() -> None:
    """A new group of 20 mΩ loses 0.1 V at 5 A, three times as much is 0.3 V."""
    worn = of(PartKind.STACK, State.WORN)
    assert told("3.20 3.20 3.20 3.20", worn) == {1: True, 2: True, 3: True, 4: True}
    assert told("3.58 3.58 3.58 3.58", worn) == {1: False, 2: False, 3: False, 4: False}


def test_a_group_that_was_not_read_both_ways_says_nothing() -> None:
    assert sags(PACK, groups("3.70 3.70 3.70 3.70")) == ()
    (alone,) = sags(PACK, [*groups("3.70 3.70 3.70 3.70"), groups("3.20", LOAD)[0]])
    assert (alone.usual, alone.stands_out) == (None, False)
