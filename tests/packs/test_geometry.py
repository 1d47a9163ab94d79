"""Layouts in millimetres: positions, strip, cut list. Expected lengths follow from squares and hexagons by hand."""

from collections import Counter
from math import hypot, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue
from packs.layout import (
    Feeds,
    Geometry,
    Layout,
    PieceKind,
    Spacing,
    StripSection,
    UnequalGroups,
    cut_list,
    feed_joint,
    flat_spacing,
    geometry,
    group_sizes,
    holder_spacing,
    layout,
    outer_line,
    pieces,
    smallest_clearance,
)
from packs.terms import CellEnd, CellFormat, Face, Feed, Packing, Terminals
from packs.topology import Arrangement
from packs.units import Quantity, ureg


def mm(length: float) -> Quantity:
    return ureg.Quantity(length, "mm")


PITCH = holder_spacing(mm(18.5), mm(1.5))
STRIP = StripSection(mm(8), mm(0.15))
# Nickel 99.98 %: a maker's data sheet gives 8900 kg/m³.
NICKEL = ureg.Quantity(8900, "kg/m**3")


def standing(*sizes: int, packing: Packing = Packing.ROWS, most_columns: int = 10) -> Layout:
    arrangement = Arrangement(len(sizes), sizes[0]) if len(set(sizes)) == 1 else UnequalGroups(sizes)
    return layout(arrangement, CellFormat.ROUND, Terminals.OPPOSITE_ENDS, packing=packing, most_columns=most_columns)


def lying(series: int, parallel: int, cell_format: CellFormat = CellFormat.PRISMATIC) -> Layout:
    terminals = Terminals.TABS if cell_format is CellFormat.POUCH else Terminals.SAME_FACE
    return layout(Arrangement(series, parallel), cell_format, terminals)


def in_mm(length: Quantity) -> float:
    return float(length.to("mm").magnitude)


def cuts(measured: Geometry, *, feeds: Feeds | None = None) -> list[tuple[float, int, int]]:
    listed = cut_list(measured, STRIP, NICKEL, tab=mm(15), feeds=feeds).cuts
    return [(in_mm(cut.length), cut.count, cut.tabs) for cut in listed]


def test_pitch_of_a_holder() -> None:
    """18.5 mm with its sleeve and a wall of 1.5 mm: 20 mm."""
    assert (in_mm(PITCH.across), in_mm(PITCH.down)) == (20, 20)


@pytest.mark.parametrize(("diameter", "gap"), [(0, 1), (18, -1), (float("nan"), 1)])
def test_cells_do_not_overlap(diameter: float, gap: float) -> None:
    with pytest.raises(ImpossibleValue):
        holder_spacing(mm(diameter), mm(gap))


@pytest.mark.parametrize("apart", [0, 100, 120])
def test_terminals_lie_on_their_cell(apart: float) -> None:
    with pytest.raises(ImpossibleValue):
        flat_spacing(mm(100), mm(20), mm(apart), mm(1))


def test_four_cells_on_a_grid_of_20_mm() -> None:
    pack = geometry(standing(2, 2), PITCH)
    assert pack.cell_positions.to("mm").magnitude.tolist() == [[0, 0], [0, 20], [20, 0], [20, 20]]
    assert [in_mm(side) for side in pack.footprint] == [40, 40]
    # Strip 2 lies on all four: two links down and two across; strips 1 and 3 have one link each.
    assert pack.strip_lengths.to("mm").magnitude.tolist() == [20, 80, 20]


def test_bands_follow_each_other_without_a_gap() -> None:
    pack = geometry(standing(2, 2, 2, most_columns=2), PITCH)
    assert pack.cell_positions.to("mm").magnitude[4:].tolist() == [[20, 40], [20, 60]]


def test_nested_cells_touch_six_neighbours() -> None:
    """In the middle of a hexagonal lattice every cell has six neighbours at the pitch (Kepler's packing in a plane)."""
    spots = geometry(standing(*[5] * 5, packing=Packing.NESTED), PITCH).cell_positions.to("mm").magnitude
    apart = np.hypot(*(spots[:, None] - spots).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    assert apart.min() == pytest.approx(20)
    assert int((apart[12] < 20.001).sum()) == 6


def test_nested_cells_fill_pi_over_two_root_three_of_the_plane() -> None:
    """Density of the hexagonal packing of circles, π/(2√3) = 0.9069 (Lagrange 1773), against 0.7854 in rows."""
    touching = holder_spacing(mm(18))
    for packing, expected in ((Packing.NESTED, 0.9069), (Packing.ROWS, 0.7854)):
        spots = geometry(standing(*[10] * 10, packing=packing), touching).cell_positions.to("mm").magnitude
        column = np.ptp(spots[:, 0]) / 9
        assert pi * 9**2 / (column * 18) == pytest.approx(expected, abs=5e-5)


def test_nested_cells_have_one_pitch() -> None:
    with pytest.raises(ImpossibleValue):
        geometry(standing(2, 2, packing=Packing.NESTED), Spacing(mm(20), mm(21)))


def test_only_round_cells_are_nested() -> None:
    with pytest.raises(ImpossibleValue):
        layout(Arrangement(2, 2), CellFormat.PRISMATIC, Terminals.SAME_FACE, packing=Packing.NESTED)


@pytest.mark.parametrize("cell_format", [CellFormat.PRISMATIC, CellFormat.POUCH])
def test_bars_span_from_terminal_to_terminal(cell_format: CellFormat) -> None:
    """Cells 174 mm wide, 1 mm apart, terminals 123 mm apart: 175 − 123 = 52 mm from one cell to the next."""
    pack = geometry(lying(4, 1, cell_format), flat_spacing(mm(174), mm(54), mm(123), mm(1)))
    assert pack.strip_lengths.to("mm").magnitude.tolist() == [0, 52, 52, 52, 0]
    joints = pack.joint_positions.to("mm").magnitude
    assert joints[:3].tolist() == [[-61.5, 0], [61.5, 0], [113.5, 0]]


def test_a_pack_with_a_different_number_in_each_group() -> None:
    pack = standing(4, 3, 4)
    assert group_sizes(pack.arrangement) == (4, 3, 4)
    assert str(pack.arrangement) == "3s(4,3,4)p"
    assert [len(strip.joints) for strip in pack.strips] == [4, 7, 7, 4]
    # Three links down the first group, two down the second, three across.
    assert geometry(pack, PITCH).strip_lengths.to("mm").magnitude[1] == 20 * 8


@pytest.mark.parametrize("sizes", [(), (3, 0, 3), (3, -1)])
def test_a_group_without_cells_is_refused(sizes: tuple[int, ...]) -> None:
    with pytest.raises(ImpossibleValue):
        UnequalGroups(sizes)


def test_cut_list_of_2s2p() -> None:
    """By hand, 20 mm pitch, 8 mm strip: 20 + 2·4 = 28 mm along a group and across, 28 + 15 = 43 mm with a tab.

    Along four groups' ends, two of them with tabs, and two across: 2 × 43 + 4 × 28 = 198 mm, of 1.2 mm² and
    8.9 mg/mm³ 2.1146 g.
    """
    measured = geometry(standing(2, 2), PITCH)
    assert cuts(measured) == [(43, 2, 2), (28, 4, 0)]
    listed = cut_list(measured, STRIP, NICKEL, tab=mm(15))
    assert in_mm(listed.total_length) == pytest.approx(198)
    assert listed.mass.to("g").magnitude == pytest.approx(2.1146, abs=5e-5)


def test_cut_list_of_one_group_of_2s2p() -> None:
    """By hand, as above: along group 1 one piece with the tab of the pack's end and one without, and two across."""
    measured = geometry(standing(2, 2), PITCH)
    listed = cut_list(measured, STRIP, NICKEL, tab=mm(15), groups=(1,))
    assert [(in_mm(cut.length), cut.count, cut.tabs) for cut in listed.cuts] == [(43, 1, 1), (28, 3, 0)]
    assert in_mm(listed.total_length) == pytest.approx(43 + 3 * 28)


def test_cut_list_of_two_nested_groups_of_three() -> None:
    """By hand: 40 + 8 = 48 mm straight down each group, 63 mm with a tab; three across at the pitch of 20 mm."""
    assert cuts(geometry(standing(3, 3, packing=Packing.NESTED), PITCH)) == [(63, 2, 2), (48, 2, 0), (28, 3, 0)]


def test_a_tab_in_the_middle_is_a_piece_of_its_own() -> None:
    """By hand: 8 + 15 = 23 mm over the middle cell."""
    measured = geometry(standing(3, 3), PITCH)
    assert cuts(measured, feeds=Feeds(Feed.MIDDLE, Feed.LAST_END)) == [(63, 1, 1), (48, 3, 0), (28, 3, 0), (23, 1, 1)]


def test_a_single_cell_gets_two_tabs() -> None:
    assert cuts(geometry(standing(1), PITCH)) == [(23, 2, 2)]


def test_joints_under_a_piece_run_from_one_end_to_the_other() -> None:
    measured = geometry(standing(4, 4), PITCH)
    rows = [
        [measured.layout.joints[joint].place for joint in piece.joints]
        for piece in pieces(measured, STRIP, tab=mm(15))
        if piece.kind is PieceKind.WITHIN
    ]
    assert rows == [[1, 2, 3, 4]] * 4


@pytest.mark.parametrize(("tab", "overhang"), [(-1, 4), (15, -1), (float("nan"), 4)])
def test_lengths_below_zero_are_refused(tab: float, overhang: float) -> None:
    with pytest.raises(ImpossibleValue):
        pieces(geometry(standing(2, 2), PITCH), STRIP, tab=mm(tab), overhang=mm(overhang))


@pytest.mark.parametrize("density", [0, -1, float("nan")])
def test_a_metal_weighs_something(density: float) -> None:
    with pytest.raises(ImpossibleValue):
        cut_list(geometry(standing(1), PITCH), STRIP, ureg.Quantity(density, "g/cm**3"), tab=mm(15))


@pytest.mark.parametrize(
    ("pack", "node", "expected"),
    [
        pytest.param(standing(3, 3), 0, [(1, 1), (1, 2), (1, 3)], id="first-column"),
        pytest.param(standing(3, 3), 2, [(2, 1), (2, 2), (2, 3)], id="last-column"),
        pytest.param(standing(12, 12), 0, [(1, 1), (1, 2), (1, 3), (1, 4), (1, 5), (1, 6)], id="outer-of-two-columns"),
        pytest.param(standing(12, 12), 2, [(2, 7), (2, 8), (2, 9), (2, 10), (2, 11), (2, 12)], id="outer-at-the-end"),
        pytest.param(standing(80, 80), 0, [(1, 10 * n + 1) for n in range(8)], id="top-row-of-stacked-groups"),
    ],
)
def test_leads_meet_the_outer_edge(pack: Layout, node: int, expected: list[tuple[int, int]]) -> None:
    line = [pack.joints[joint] for joint in outer_line(pack, node)]
    assert [(joint.group, joint.place) for joint in line] == expected


def test_the_three_places_of_a_lead() -> None:
    pack = standing(5, 5)
    assert [pack.joints[feed_joint(pack, 0, feed)].place for feed in Feed] == [1, 3, 5]
    assert {pack.joints[feed_joint(pack, 2, feed)].end for feed in Feed} == {CellEnd.POSITIVE}


def test_clearance_in_rows() -> None:
    """Strips 8 mm wide on a pitch of 20 mm: 12 mm between neighbours."""
    assert in_mm(smallest_clearance(geometry(standing(2, 2, 2, 2), PITCH), STRIP) or mm(0)) == pytest.approx(12)


def test_one_strip_to_a_face_has_no_neighbour() -> None:
    assert smallest_clearance(geometry(standing(3), PITCH), STRIP) is None


def outline(measured: Geometry, number: int, width: float) -> np.ndarray:
    """Points every quarter of a millimetre along the edges of every piece of a strip."""
    spots, points = measured.joint_positions.to("mm").magnitude, []
    for piece in pieces(measured, StripSection(mm(width), mm(0.1)), tab=mm(0)):
        if piece.strip != number:
            continue
        run = spots[piece.joints[-1]] - spots[piece.joints[0]]
        along = run / hypot(*run) if run.any() else np.array([1.0, 0.0])
        across, half = np.array([-along[1], along[0]]), in_mm(piece.length) / 2
        middle = (spots[piece.joints[-1]] + spots[piece.joints[0]]) / 2
        steps, ends = (
            np.arange(-half, half + 0.25, 0.25).clip(-half, half),
            np.arange(-width / 2, width / 2 + 0.25, 0.25),
        )
        points += [middle + step * along + side * width / 2 * across for step in steps for side in (-1, 1)]
        points += [
            middle + side * half * along + end * across for end in ends.clip(-width / 2, width / 2) for side in (-1, 1)
        ]
    return np.array(points)


@pytest.mark.parametrize("width", [5, 8, 11])
@pytest.mark.parametrize("packing", list(Packing))
def test_clearance_against_points_along_the_edges(packing: Packing, width: float) -> None:
    """No published figure: the smallest distance between points 0.25 mm apart on both outlines."""
    measured = geometry(standing(3, 2, 3, 3, packing=packing), PITCH)
    tops = [outline(measured, strip.number, width) for strip in measured.layout.strips_on(Face.TOP)]
    nearest = np.hypot(*(tops[0][:, None] - tops[1]).transpose(2, 0, 1)).min()
    bottoms = [outline(measured, strip.number, width) for strip in measured.layout.strips_on(Face.BOTTOM)]
    pairs = [(bottoms[0], bottoms[1]), (bottoms[1], bottoms[2]), (bottoms[0], bottoms[2])]
    nearest = min(nearest, *(np.hypot(*(a[:, None] - b).transpose(2, 0, 1)).min() for a, b in pairs))
    found = smallest_clearance(measured, StripSection(mm(width), mm(0.1)))
    assert found is not None
    assert in_mm(found) == pytest.approx(nearest, abs=0.05)
    assert in_mm(found) <= nearest + 1e-9


PACKS = st.builds(
    standing,
    *[st.integers(1, 23)] * 3,
    packing=st.sampled_from(Packing),
    most_columns=st.integers(1, 12),
) | st.builds(lying, st.integers(1, 14), st.integers(1, 6), st.sampled_from([CellFormat.PRISMATIC, CellFormat.POUCH]))


def measured_of(pack: Layout) -> Geometry:
    flat = flat_spacing(mm(100), mm(20), mm(60), mm(1))
    return geometry(pack, PITCH if pack.terminals is Terminals.OPPOSITE_ENDS else flat)


@settings(max_examples=50)
@given(pack=PACKS)
def test_every_strip_is_of_one_piece_of_metal(pack: Layout) -> None:
    """From any joint of a strip the links lead to all others of the strip, and to none of another one."""
    links = pack.links
    reached = list(range(len(pack.joints)))

    def root(joint: int) -> int:
        while reached[joint] != joint:
            joint = reached[joint]
        return joint

    for one, other in zip(links.first.tolist(), links.second.tolist(), strict=True):
        reached[root(one)] = root(other)
    roots = {(root(joint), int(links.strip[joint])) for joint in range(len(pack.joints))}
    assert len(roots) == len(pack.strips)


@settings(max_examples=50)
@given(pack=PACKS)
def test_pieces_cover_every_link_once(pack: Layout) -> None:
    cut = pieces(measured_of(pack), STRIP, tab=mm(15))
    covered = Counter(frozenset(pair) for piece in cut for pair in zip(piece.joints, piece.joints[1:], strict=False))
    links = pack.links
    assert covered == Counter(map(frozenset, zip(links.first.tolist(), links.second.tolist(), strict=True)))
    assert {joint for piece in cut for joint in piece.joints} == set(range(len(pack.joints)))
    assert [piece.strip for piece in cut if piece.tab.magnitude] == [1, len(pack.strips)]


@settings(max_examples=50)
@given(pack=PACKS)
def test_no_two_cells_stand_in_one_place(pack: Layout) -> None:
    spots = measured_of(pack).cell_positions.to("mm").magnitude
    apart = np.hypot(*(spots[:, None] - spots).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    assert apart.min() >= 20 - 1e-9


@settings(max_examples=50)
@given(rows=st.integers(1, 10), columns=st.integers(1, 10))
def test_links_of_a_full_grid(rows: int, columns: int) -> None:
    """A grid of r × c joints has r(c − 1) + c(r − 1) links, here all as long as the pitch."""
    pack = geometry(standing(rows * columns), PITCH)
    wide = -(-rows * columns // pack.layout.rows)
    if pack.layout.rows * wide == rows * columns:
        expected = pack.layout.rows * (wide - 1) + wide * (pack.layout.rows - 1)
        assert np.bincount(pack.layout.links.strip[pack.layout.links.first], minlength=2).tolist() == [expected] * 2
    assert pack.link_lengths.to("mm").magnitude == pytest.approx(20)


def test_a_measure_in_inches_is_the_same_measure() -> None:
    inches = holder_spacing(ureg.Quantity(18.5 / 25.4, "in"), ureg.Quantity(0.15, "cm"))
    one, other = (geometry(standing(3, 3, packing=Packing.NESTED), spacing) for spacing in (PITCH, inches))
    assert other.joint_positions.to("mm").magnitude == pytest.approx(one.joint_positions.to("mm").magnitude)
    assert sqrt(3) * 10 == pytest.approx(one.cell_positions.to("mm").magnitude[3, 0])
