"""Order of joining, checked by following which terminals hang together after every step."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue
from packs.layout import (
    Geometry,
    Layout,
    StripSection,
    UnequalGroups,
    WorkStep,
    geometry,
    holder_spacing,
    layout,
    order_of_work,
    pieces,
)
from packs.terms import CellEnd, CellFormat, Packing, Terminals
from packs.topology import Arrangement
from packs.units import ureg

PITCH = holder_spacing(ureg.Quantity(18.5, "mm"), ureg.Quantity(1.5, "mm"))
STRIP = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
TAB = ureg.Quantity(15, "mm")


def measured(arrangement: Arrangement | UnequalGroups, packing: Packing = Packing.ROWS) -> Geometry:
    return geometry(layout(arrangement, CellFormat.ROUND, Terminals.OPPOSITE_ENDS, packing=packing), PITCH)


def steps(pack: Geometry, *, one_group_at_a_time: bool = False) -> tuple[WorkStep, ...]:
    return order_of_work(pack, STRIP, tab=TAB, one_group_at_a_time=one_group_at_a_time)


def test_order_of_4s2p() -> None:
    """By hand: four groups on top, four below, the link below, then the two on top; the pack is turned twice."""
    order = steps(measured(Arrangement(4, 2)))
    assert [(step.face.value, step.strip, step.groups) for step in order] == [
        ("top", 2, (1,)),
        ("top", 2, (2,)),
        ("top", 4, (3,)),
        ("top", 4, (4,)),
        ("bottom", 1, (1,)),
        ("bottom", 3, (2,)),
        ("bottom", 3, (3,)),
        ("bottom", 5, (4,)),
        ("bottom", 3, (2, 3)),
        ("top", 2, (1, 2)),
        ("top", 4, (3, 4)),
    ]
    assert [step.number for step in order if step.turn_first] == [5, 10]
    assert [step.groups_in_reach for step in order] == [1] * 8 + [2, 3, 4]
    assert [step.keep_covered for step in order[-3:]] == [(1, 5), (4,), (2,)]


def test_one_group_at_a_time_adds_one_group_at_a_time() -> None:
    order = steps(measured(Arrangement(6, 2)), one_group_at_a_time=True)
    links = [step for step in order if len(step.groups) == 2]
    assert [step.strip for step in links] == [2, 3, 4, 5, 6]
    assert [step.groups_in_reach for step in links] == [2, 3, 4, 5, 6]


def test_strip_so_wide_that_it_touches_its_neighbour_is_refused() -> None:
    """Strips of neighbouring nodes lie 20 mm apart, middle to middle."""
    pack = measured(Arrangement(4, 2))
    for width, fits in ((19.9, True), (20.0, False), (21.0, False)):
        wide = StripSection(ureg.Quantity(width, "mm"), ureg.Quantity(0.15, "mm"))
        if fits:
            order_of_work(pack, wide, tab=TAB, overhang=ureg.Quantity(0, "mm"))
        else:
            with pytest.raises(ImpossibleValue):
                order_of_work(pack, wide, tab=TAB, overhang=ureg.Quantity(0, "mm"))


class Joined:
    """Which cell terminals hang together."""

    def __init__(self, pack: Layout) -> None:
        self.pack = pack
        self.net = {
            (cell.group, cell.place, end): (cell.group, cell.place, end) for cell in pack.cells for end in CellEnd
        }

    def root(self, terminal: tuple[int, int, CellEnd]) -> tuple[int, int, CellEnd]:
        while self.net[terminal] != terminal:
            terminal = self.net[terminal]
        return terminal

    def lay(self, joints: tuple[int, ...]) -> None:
        terminals = [self.pack.joints[joint] for joint in joints]
        names = [(joint.group, joint.place, joint.end) for joint in terminals]
        for other in names[1:]:
            self.net[self.root(names[0])] = self.root(other)

    def nets(self) -> list[set[tuple[int, int, CellEnd]]]:
        found: dict[tuple[int, int, CellEnd], set[tuple[int, int, CellEnd]]] = {}
        for terminal in self.net:
            found.setdefault(self.root(terminal), set()).add(terminal)
        return list(found.values())


def potential(terminal: tuple[int, int, CellEnd]) -> int:
    """Groups below a terminal in the finished pack."""
    group, _, end = terminal
    return group if end is CellEnd.POSITIVE else group - 1


def chain(nets: list[set[tuple[int, int, CellEnd]]]) -> int:
    """Groups in the longest run in which each is joined to the next."""
    linked = {
        group
        for net in nets
        for group, _, end in net
        if end is CellEnd.POSITIVE and (group + 1) in {g for g, _, e in net if e is CellEnd.NEGATIVE}
    }
    longest = run = 1
    for group in range(1, max(linked, default=0) + 1):
        run = run + 1 if group in linked else 1
        longest = max(longest, run)
    return longest


ARRANGEMENTS = st.builds(Arrangement, st.integers(1, 14), st.integers(1, 6)) | st.builds(
    UnequalGroups, st.lists(st.integers(1, 12), min_size=1, max_size=6).map(tuple)
)


@settings(max_examples=60)
@given(arrangement=ARRANGEMENTS, packing=st.sampled_from(Packing), slowly=st.booleans())
def test_nothing_ever_bridges_two_groups(
    arrangement: Arrangement | UnequalGroups, packing: Packing, slowly: bool
) -> None:
    pack = measured(arrangement, packing)
    joined, linking = Joined(pack.layout), False
    for step in steps(pack, one_group_at_a_time=slowly):
        for piece in step.pieces:
            joined.lay(piece.joints)
        nets = joined.nets()
        # Everything that hangs together is at one potential: no cell is shorted, no group bridged.
        assert all(len({potential(terminal) for terminal in net}) == 1 for net in nets)
        assert chain(nets) == step.groups_in_reach
        linking = linking or len(step.groups) == 2
        assert not linking or len(step.groups) == 2, "links wait until every group is joined"
        assert {pack.layout.strips[number - 1].face for number in step.keep_covered} <= {step.face}
    assert len(joined.nets()) == arrangement.series + 1


@settings(max_examples=60)
@given(arrangement=ARRANGEMENTS, slowly=st.booleans())
def test_every_piece_is_laid_once(arrangement: Arrangement | UnequalGroups, slowly: bool) -> None:
    pack = measured(arrangement)
    laid = [piece.joints for step in steps(pack, one_group_at_a_time=slowly) for piece in step.pieces]
    assert sorted(laid) == sorted(piece.joints for piece in pieces(pack, STRIP, tab=TAB))


@settings(max_examples=30)
@given(series=st.integers(2, 14), parallel=st.integers(1, 6))
def test_the_pack_is_turned_at_most_twice(series: int, parallel: int) -> None:
    order = steps(measured(Arrangement(series, parallel)))
    assert sum(step.turn_first for step in order) <= 2
    changes = sum(one.face is not other.face for one, other in pairwise(order))
    assert changes == sum(step.turn_first for step in order)
