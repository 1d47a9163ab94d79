"""Cells, strips and joints of a pack; counts follow from two terminals per cell and one node between two groups."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.errors import ImpossibleValue
from packs.layout import Layout, layout
from packs.terms import CellEnd, CellFormat, Face, Terminals
from packs.topology import Arrangement

POSITIVE, NEGATIVE = CellEnd.POSITIVE, CellEnd.NEGATIVE


def standing(series: int, parallel: int) -> Layout:
    return layout(Arrangement(series, parallel), CellFormat.ROUND, Terminals.OPPOSITE_ENDS)


def lying(series: int, parallel: int) -> Layout:
    return layout(Arrangement(series, parallel), CellFormat.PRISMATIC, Terminals.SAME_FACE)


# Worked by hand: two groups of two round cells need three strips, one of them across both groups on top.
def test_two_groups_of_two() -> None:
    pack = standing(2, 2)
    assert [(strip.number, strip.face, len(strip.joints)) for strip in pack.strips] == [
        (1, Face.BOTTOM, 2),
        (2, Face.TOP, 4),
        (3, Face.BOTTOM, 2),
    ]
    assert pack.joint_count() == 8
    assert (len(pack.joints_on(Face.TOP)), len(pack.joints_on(Face.BOTTOM))) == (4, 4)
    assert [pack.cell(group, 1).up for group in (1, 2)] == [POSITIVE, NEGATIVE]


def test_one_group_has_one_strip_on_each_face() -> None:
    pack = standing(1, 3)
    assert [(strip.face, {joint.end for joint in strip.joints}) for strip in pack.strips] == [
        (Face.BOTTOM, {NEGATIVE}),
        (Face.TOP, {POSITIVE}),
    ]


def test_terminals_on_one_face_have_all_bars_on_top() -> None:
    pack = lying(4, 1)
    assert pack.faces == (Face.TOP,)
    assert len(pack.strips) == 5
    assert len(pack.joints_on(Face.TOP)) == 8
    assert all(cell.up is None for cell in pack.cells)


@pytest.mark.parametrize(("series", "parallel"), [(0, 1), (1, 0), (-1, 2)])
def test_a_pack_without_cells_is_refused(series: int, parallel: int) -> None:
    with pytest.raises((ImpossibleValue, ValueError)):
        standing(series, parallel)


packs = st.builds(
    lambda make, series, parallel: make(series, parallel),
    st.sampled_from([standing, lying]),
    st.integers(1, 30),
    st.integers(1, 40),
)


@given(packs)
def test_every_terminal_has_exactly_one_joint(pack: Layout) -> None:
    joints = Counter((joint.group, joint.place, joint.end) for strip in pack.strips for joint in strip.joints)
    assert joints == Counter((cell.group, cell.place, end) for cell in pack.cells for end in CellEnd)


@given(packs)
def test_a_strip_is_one_node(pack: Layout) -> None:
    """The node above group k holds its positive ends and the negative ends of group k + 1, nothing else."""
    assert [strip.node for strip in pack.strips] == list(range(pack.arrangement.series + 1))
    for strip in pack.strips:
        for joint in strip.joints:
            assert joint.group == (strip.node if joint.end is POSITIVE else strip.node + 1)


@given(packs)
def test_the_terminal_of_a_joint_is_on_the_face_of_its_strip(pack: Layout) -> None:
    for strip in pack.strips:
        for joint in strip.joints:
            up = pack.cell(joint.group, joint.place).up
            assert strip.face is (Face.TOP if up in (None, joint.end) else Face.BOTTOM)


@given(packs)
def test_no_two_cells_share_a_position(pack: Layout) -> None:
    assert len({(cell.column, cell.row) for cell in pack.cells}) == len(pack.cells)


def box(pack: Layout, number: int) -> tuple[float, float, float, float]:
    """Corners of a strip in thirds of a column and rows."""
    joints = pack.strips[number - 1].joints
    cells = [(pack.cell(joint.group, joint.place), joint.side) for joint in joints]
    across, down = [3 * cell.column + side for cell, side in cells], [cell.row for cell, _ in cells]
    return min(across), min(down), max(across), max(down)


@given(packs)
def test_strips_of_one_face_never_touch(pack: Layout) -> None:
    for face in pack.faces:
        boxes = [box(pack, strip.number) for strip in pack.strips_on(face)]
        for index, (left, top, right, bottom) in enumerate(boxes):
            for other in boxes[index + 1 :]:
                assert other[0] > right or other[2] < left or other[1] > bottom or other[3] < top


@given(packs)
def test_groups_that_share_a_strip_are_neighbours(pack: Layout) -> None:
    for group in range(1, pack.arrangement.series):
        here = [(cell.column, cell.row) for cell in pack.cells if cell.group == group]
        there = [(cell.column, cell.row) for cell in pack.cells if cell.group == group + 1]
        assert min(abs(a - c) + abs(b - d) for a, b in here for c, d in there) <= 2


def test_a_long_group_stays_drawable() -> None:
    pack = standing(1, 80)
    assert pack.columns * pack.rows <= 100
    assert max(pack.columns, pack.rows) <= 10
