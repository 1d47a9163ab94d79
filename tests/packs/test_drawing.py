"""The drawing of a pack: well-formed, complete, mirrored below, and nothing a strict content policy would drop."""

from collections.abc import Collection
from xml.etree import ElementTree as ET

import pytest

from packs.drawing import faces_svg
from packs.layout import Feeds, Layout, UnequalGroups, layout
from packs.terms import CellFormat, Feed, Packing, Terminals
from packs.topology import Arrangement

SVG = "{http://www.w3.org/2000/svg}"


def pack(series: int, parallel: int, terminals: Terminals = Terminals.OPPOSITE_ENDS) -> Layout:
    form = CellFormat.ROUND if terminals is Terminals.OPPOSITE_ENDS else CellFormat.PRISMATIC
    return layout(Arrangement(series, parallel), form, terminals)


def codes(of: Layout) -> dict[tuple[int, int], str]:
    return {(cell.group, cell.place): f"K{cell.group}{cell.place:02d}" for cell in of.cells}


def drawn(of: Layout, weakest: Collection[int] = ()) -> ET.Element:
    return ET.fromstring(faces_svg(of, codes(of), weakest=weakest))


def having(root: ET.Element, name: str) -> list[ET.Element]:
    return [element for element in root.iter() if name in (element.get("class") or "").split()]


def spot(element: ET.Element) -> float:
    return float(element.get("x", "nan"))


SEVERAL = [(2, 2), (4, 2), (1, 1), (10, 4), (14, 6), (1, 80)]


@pytest.mark.parametrize("terminals", [Terminals.OPPOSITE_ENDS, Terminals.SAME_FACE])
@pytest.mark.parametrize(("series", "parallel"), SEVERAL)
def test_every_cell_strip_and_terminal_is_drawn(series: int, parallel: int, terminals: Terminals) -> None:
    of = pack(series, parallel, terminals)
    root = drawn(of)
    faces = len(of.faces)
    assert len(having(root, "cell")) == len(of.cells) * faces
    assert len(having(root, "strip")) == series + 1
    assert len(having(root, "polarity")) == 2 * len(of.cells)
    assert sorted(element.text or "" for element in having(root, "cell-code")) == sorted([*codes(of).values()] * faces)
    assert len(having(root, "group-label")) == series * faces


def test_signs_of_two_groups_of_two() -> None:
    """Worked by hand: on top the first group shows plus and the second minus; below, turned over, the same order."""
    top, bottom = (having(drawn(pack(2, 2)), face)[0] for face in ("top", "bottom"))
    for face in (top, bottom):
        left_to_right = sorted(having(face, "polarity"), key=spot)
        assert [sign.text for sign in left_to_right] == ["+", "+", "\N{MINUS SIGN}", "\N{MINUS SIGN}"]


def test_bottom_face_is_turned_over_sideways() -> None:
    top, bottom = (having(drawn(pack(2, 2)), face)[0] for face in ("top", "bottom"))
    order = [[code.text for code in sorted(having(face, "cell-code"), key=spot)][::2] for face in (top, bottom)]
    assert order == [["K101", "K201"], ["K201", "K101"]]


def test_ends_of_the_pack_are_named() -> None:
    ends = [element.text for element in having(drawn(pack(4, 2)), "pack-end")]
    assert sorted(map(str, ends)) == ["pack +", "pack \N{MINUS SIGN}"]


def test_weakest_group_is_marked_in_words_and_in_line() -> None:
    root = drawn(pack(4, 2), weakest=[3])
    assert "weakest" in [element.text for element in having(root, "group-label")]
    widths = {element.get("stroke-width") for element in having(root, "cell")}
    assert len(widths) == 2
    assert len([element for element in having(root, "cell") if "weakest" in str(element.get("class"))]) == 4
    assert not having(drawn(pack(4, 2)), "weakest")


@pytest.mark.parametrize("code", ["K1", "B2611-001", "J0001-R08", "GARDEN-2026-0001"])
@pytest.mark.parametrize("terminals", [Terminals.OPPOSITE_ENDS, Terminals.SAME_FACE])
def test_codes_and_readings_keep_a_size_that_can_be_read(terminals: Terminals, code: str) -> None:
    """A drawing is shown at the size it states: one unit of its frame is width over width of the frame."""
    of = pack(4, 2, terminals)
    spots = [(cell.group, cell.place) for cell in of.cells]
    root = ET.fromstring(faces_svg(of, dict.fromkeys(spots, code), dict.fromkeys(spots, "2600 mAh"), least_text=11))
    scale = float(str(root.get("width"))) / float(str(root.get("viewBox")).split()[2])
    sizes = [float(str(text.get("font-size"))) for name in ("cell-code", "reading") for text in having(root, name)]
    assert len(sizes) >= 16
    assert min(sizes) * scale >= 11 - 0.01
    assert ET.fromstring(faces_svg(of, dict.fromkeys(spots, "K1"))).get("width") == str(root.get("viewBox")).split()[2]


def test_all_of_the_weakest_groups_are_marked() -> None:
    root = drawn(pack(4, 2), weakest=[1, 3])
    assert [element.text for element in having(root, "group-label")].count("weakest") == 4
    assert len([element for element in having(root, "cell") if "weakest" in str(element.get("class"))]) == 8


def test_the_waiting_position_is_ringed_on_both_faces_and_no_other() -> None:
    of = pack(4, 2)
    root = ET.fromstring(faces_svg(of, codes(of), waiting=(2, 1)))
    waiting = having(root, "waiting")
    assert len(waiting) == 2
    assert {ring.get("stroke-width") for ring in waiting} == {"4"}
    others = [cell for cell in having(root, "cell") if cell not in waiting]
    assert {cell.get("stroke-width") for cell in others} == {"1.25"}


@pytest.mark.parametrize("terminals", [Terminals.OPPOSITE_ENDS, Terminals.SAME_FACE])
def test_nothing_a_strict_content_policy_drops(terminals: Terminals) -> None:
    root = drawn(pack(4, 2, terminals), weakest=[1])
    names = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert names <= {"svg", "title", "g", "rect", "text"}
    attributes = {name for element in root.iter() for name in element.attrib}
    assert "style" not in attributes
    assert not [name for name in attributes if name.startswith("on")]


def test_typed_text_cannot_break_out() -> None:
    of = pack(1, 1)
    nasty = '"><script>alert(1)</script>&'
    root = ET.fromstring(faces_svg(of, {(1, 1): nasty}, {(1, 1): nasty}, links={(1, 1): nasty}))
    assert not list(root.iter(f"{SVG}script"))
    assert having(root, "cell-code")[0].text == nasty
    assert next(root.iter(f"{SVG}a")).get("href") == nasty


def test_a_cell_opens_its_address() -> None:
    of = pack(2, 1)
    root = ET.fromstring(faces_svg(of, codes(of), links={(2, 1): "/cells/7/"}))
    assert [link.get("href") for link in root.iter(f"{SVG}a")] == ["/cells/7/"] * 2


def test_an_empty_position_shows_its_number_and_no_code() -> None:
    root = ET.fromstring(faces_svg(pack(2, 1), {(1, 1): "K101"}))
    assert [element.text for element in having(root, "place")] == ["2.1", "2.1"]


def test_reading_stands_under_its_code() -> None:
    root = ET.fromstring(faces_svg(pack(1, 1), {(1, 1): "K1"}, {(1, 1): "3.61 V"}))
    code, reading = having(root, "cell-code")[0], having(root, "reading")[0]
    assert reading.text == "3.61 V"
    assert spot(code) == spot(reading)
    assert float(reading.get("y", "0")) > float(code.get("y", "inf"))


# Common practice, no source: text under 9 px is not read at arm's length.
def test_words_are_legible_on_a_narrow_screen() -> None:
    root = drawn(pack(4, 2))
    scale = min(1.0, 360 / float(root.get("width", "nan")))
    sizes = [float(element.get("font-size", "nan")) for element in root.iter(f"{SVG}text")]
    assert min(sizes) * scale >= 9


@pytest.mark.parametrize(("series", "parallel"), SEVERAL)
def test_everything_lies_on_the_sheet(series: int, parallel: int) -> None:
    root = drawn(pack(series, parallel), weakest=[1])
    width = float(root.get("width", "nan"))
    for box in root.iter(f"{SVG}rect"):
        left, right = spot(box), spot(box) + float(box.get("width", "nan"))
        assert 0 <= left < right <= width


def nested(series: int, parallel: int) -> Layout:
    return layout(Arrangement(series, parallel), CellFormat.ROUND, Terminals.OPPOSITE_ENDS, packing=Packing.NESTED)


def middle(element: ET.Element) -> tuple[float, float]:
    x, y, width, height = (float(element.get(name, "nan")) for name in ("x", "y", "width", "height"))
    return x + width / 2, y + height / 2


def test_nested_cells_are_drawn_at_one_distance_from_each_other() -> None:
    """Hexagons by hand: pitch 72, the second column half a pitch lower and √3/2 of it to the side."""
    top = having(drawn(nested(2, 2)), "top")[0]
    spots = [middle(cell) for cell in having(top, "cell")]
    (x, y), below, beside = spots[0], spots[1], spots[2]
    assert below == pytest.approx((x, y + 72))
    assert beside == pytest.approx((x + 62.354, y + 36), abs=0.01)


def test_strips_of_a_nested_pack_lie_apart() -> None:
    for face in ("top", "bottom"):
        strips = having(having(drawn(nested(13, 5)), face)[0], "strip")
        boxes = [(*middle(strip), float(strip.get("width", "0")), float(strip.get("height", "0"))) for strip in strips]
        for index, (x, y, width, height) in enumerate(boxes):
            for other in boxes[index + 1 :]:
                assert abs(x - other[0]) > (width + other[2]) / 2 or abs(y - other[1]) > (height + other[3]) / 2


@pytest.mark.parametrize("of", [nested(4, 3), nested(13, 5), pack(10, 4), pack(1, 1), pack(4, 2, Terminals.SAME_FACE)])
@pytest.mark.parametrize("feed", list(Feed))
def test_solder_tabs_reach_out_of_the_pack(of: Layout, feed: Feed) -> None:
    root = ET.fromstring(faces_svg(of, codes(of), feeds=Feeds(feed, feed)))
    tabs, cells = having(root, "tab"), having(root, "cell")
    wide, high = (float(cells[0].get(name, "nan")) / 2 for name in ("width", "height"))
    spots = [middle(cell) for cell in cells]
    assert len(tabs) == 2
    for tab in tabs:
        x, y = middle(tab)
        assert all(abs(x - spot[0]) > wide or abs(y - spot[1]) > high for spot in spots)
        assert float(tab.get("x", "nan")) >= 0
        assert x + float(tab.get("width", "nan")) / 2 <= float(root.get("width", "nan"))


def test_without_leads_no_tab_is_drawn() -> None:
    assert not having(drawn(pack(4, 2)), "tab")


def test_groups_of_different_size_are_drawn_with_the_cells_they_have() -> None:
    of = layout(UnequalGroups((4, 3, 4)), CellFormat.ROUND, Terminals.OPPOSITE_ENDS)
    root = drawn(of)
    assert len(having(root, "cell")) == 2 * 11
    assert len(having(root, "polarity")) == 2 * 11
    assert "Pack 3s(4,3,4)p: 11 cells, 4 strips" in (root.get("aria-label") or "")


def test_what_joins_the_cells_is_called_as_the_bench_calls_it() -> None:
    said = list(ET.fromstring(faces_svg(pack(2, 2, Terminals.SAME_FACE), {}, conductor="bar")).itertext())
    assert "bar 1" in said
    assert not [words for words in said if "strip" in words]
