"""The drawing itself: faces, cells, strips and what is written on them."""

from collections.abc import Collection, Iterator, Mapping
from html import escape

from packs.drawing.marks import EDGE, INK, METAL, PAPER, QUIET, box, fitting_size, linked, n, text
from packs.drawing.sheet import Sheet
from packs.layout import CellPlace, Feeds, JointPlace, Layout, Strip
from packs.terms import CellEnd, Face

_SIGN = {CellEnd.POSITIVE: "+", CellEnd.NEGATIVE: "\N{MINUS SIGN}"}
_BOLD = 'font-weight="bold"'
_CODE, _READING = 13.0, 11.0  # largest sizes of a cell's code and of the reading under it


def faces_svg(
    layout: Layout,
    codes: Mapping[tuple[int, int], str],
    readings: Mapping[tuple[int, int], str] | None = None,
    *,
    links: Mapping[tuple[int, int], str] | None = None,
    weakest: Collection[int] = (),
    waiting: tuple[int, int] | None = None,
    feeds: Feeds | None = None,
    least_text: float = 0.0,
    built: Collection[int] = (),
    conductor: str = "strip",
) -> str:
    """Draw every face of a pack that carries strips, one below the other.

    Parameters
    ----------
    layout : Layout
        Cells and strips.
    codes : Mapping of (group, place) to str
        Code of each cell, both counted from 1; a place without one shows its number, "2.1" for the first of group 2.
    readings : Mapping of (group, place) to str, optional
        Short reading with its unit, under the code.
    links : Mapping of (group, place) to str, optional
        Address that touching a cell opens.
    weakest : collection of int, optional
        Groups to mark as the weakest.
    waiting : (group, place), optional
        Place to mark as the one whose cell comes next.
    feeds : Feeds, optional
        Where the leads are attached: draws a solder tab there on each terminal strip.
    least_text : float
        Size [user units] of codes and readings at least where the drawing is shown at its own size; long ones enlarge
        it.

    built : collection of int, optional
        Groups whose joints alone are made, where the others stay as they are.
    conductor : str
        What the bench calls the metal that joins the cells.

    Returns
    -------
    str
        One ``svg`` element with everything escaped, to be placed as it is.

    References
    ----------
    Common practice, no source: cells in their places, polarity at each terminal, strips across.
    """
    sheet = Sheet(
        layout, codes, readings or {}, links or {}, frozenset(weakest), waiting, feeds, frozenset(built), conductor
    )
    title = escape(f"Pack {layout.arrangement}: {len(layout.cells)} cells, {len(layout.strips)} {conductor}s")
    width, height = n(sheet.width), n(sheet.face_height * len(layout.faces))
    size = f'viewBox="0 0 {width} {height}" {_shown_at(sheet, least_text)}'
    role = f'role="{"group" if sheet.links else "img"}" aria-label="{title}"'
    look = f'font-family="sans-serif" text-anchor="middle" fill="{INK}"'
    faces = "".join(_face(sheet, face, index) for index, face in enumerate(layout.faces))
    opening = f'<svg xmlns="http://www.w3.org/2000/svg" class="pack-drawing" {role} {size} {look}>'
    return f"{opening}<title>{title}</title>{faces}</svg>"


def _shown_at(sheet: Sheet, least_text: float) -> str:
    written = [(code, _CODE) for code in sheet.codes.values()] + [(read, _READING) for read in sheet.readings.values()]
    sizes = [fitting_size(words, sheet.shape.text_width, size) for words, size in written]
    scale = max(1.0, least_text / min(sizes, default=_CODE))
    return f'width="{n(sheet.width * scale)}" height="{n(sheet.face_height * len(sheet.layout.faces) * scale)}"'


def _face(sheet: Sheet, face: Face, index: int) -> str:
    strips = sheet.layout.strips_on(face)
    groups = range(1, sheet.layout.arrangement.series + 1)
    parts = [
        _heading(sheet, face),
        *(_ground(sheet, cell, face) for cell in sheet.layout.cells),
        *(_strip(sheet, strip) for strip in strips),
        *(_outline(sheet, cell, face) for cell in sheet.layout.cells),
        *(_inscription(sheet, cell, face) for cell in sheet.layout.cells),
        *(_group_label(sheet, group, face) for group in groups),
        *(_strip_label(sheet, strip) for strip in strips),
    ]
    moved = f' transform="translate(0 {n(index * sheet.face_height)})"' if index else ""
    return f'<g class="face {face.value}"{moved}>{"".join(parts)}</g>'


def _heading(sheet: Sheet, face: Face) -> str:
    name = "Top face" if face is Face.TOP else "Bottom face, from below"
    joints = sheet.layout.joints_on(face)
    made = sum(joint.group in sheet.built for joint in joints)
    count = f"{made} new joints of {len(joints)}" if sheet.built else f"{len(joints)} joints"
    words = f"{name} \N{MIDDLE DOT} {count}"
    return text("face-label", sheet.width / 2, 22, words, 13, _BOLD)


def _ground(sheet: Sheet, cell: CellPlace, face: Face) -> str:
    return box("ground", sheet.middle(cell, face), sheet.shape.size, sheet.shape.corner, f'fill="{PAPER}"')


def _outline(sheet: Sheet, cell: CellPlace, face: Face) -> str:
    """Edge of a cell; it lies over the strips so that every cell can be counted."""
    marks = {"waiting": (cell.group, cell.place) == sheet.waiting, "weakest": cell.group in sheet.weakest}
    name = " ".join(["cell", *(mark for mark, marked in marks.items() if marked)])
    width = "4" if any(marks.values()) else "1.25"
    look = f'fill="none" stroke="{INK}" stroke-width="{width}"'
    return box(name, sheet.middle(cell, face), sheet.shape.size, sheet.shape.corner, look)


def _strip(sheet: Sheet, strip: Strip) -> str:
    (left, top), (right, bottom) = sheet.extent(strip)
    look = f'fill="{METAL}" stroke="{EDGE}" stroke-width="1"'
    tab = sheet.tab(strip)
    drawn = box("tab", *tab, 2, look) if tab else ""
    return drawn + box("strip", ((left + right) / 2, (top + bottom) / 2), (right - left, bottom - top), 5, look)


def _inscription(sheet: Sheet, cell: CellPlace, face: Face) -> str:
    key = (cell.group, cell.place)
    x, y = sheet.middle(cell, face)
    reading = sheet.readings.get(key, "")
    base = y + (5 if cell.up is None else 15) - (9 if reading else 0)
    parts = [_sign(end, place) for end, place in _ends_in_view(sheet, cell, face)]
    parts.append(_code(sheet, key, x, base))
    if reading:
        parts.append(text("reading", x, base + 13, reading, fitting_size(reading, sheet.shape.text_width, _READING)))
    touch = box("touch", (x, y), sheet.shape.size, sheet.shape.corner, 'fill="none"')
    content = f'<g data-cell="{cell.group}.{cell.place}">{"".join(parts)}{touch if key in sheet.links else ""}</g>'
    return linked(sheet.links.get(key), content)


def _code(sheet: Sheet, key: tuple[int, int], x: float, y: float) -> str:
    code = sheet.codes.get(key, "")
    if not code:
        return text("place", x, y, f"{key[0]}.{key[1]}", 13, f'fill="{QUIET}"')
    return text("cell-code", x, y, code, fitting_size(code, sheet.shape.text_width, _CODE))


def _ends_in_view(sheet: Sheet, cell: CellPlace, face: Face) -> Iterator[tuple[CellEnd, tuple[float, float]]]:
    """Terminals to be seen on a face, with the foot of their signs."""
    for joint in _joints_of(sheet.layout, cell, face):
        x, y = sheet.terminal(joint, face)
        lift = -6.0 if joint.side else 2.0 + (7.0 if (cell.group, cell.place) in sheet.readings else 0.0)
        yield joint.end, (x, y - lift)


def _joints_of(layout: Layout, cell: CellPlace, face: Face) -> Iterator[JointPlace]:
    for joint in layout.joints_on(face):
        if (joint.group, joint.place) == (cell.group, cell.place):
            yield joint


def _sign(end: CellEnd, foot: tuple[float, float]) -> str:
    return text(f"polarity {end.value}", *foot, _SIGN[end], 19, _BOLD)


def _group_label(sheet: Sheet, group: int, face: Face) -> str:
    x, y = sheet.above_group(group, face)
    if group not in sheet.weakest:
        return text("group-label", x, y - 26, f"group {group}", 12, f'fill="{QUIET}"')
    number = text("group-label weakest", x, y - 39, f"group {group}", 12, _BOLD)
    return number + text("group-label weakest", x, y - 26, "weakest", 12, _BOLD)


def _strip_label(sheet: Sheet, strip: Strip) -> str:
    (left, top), (right, bottom) = sheet.extent(strip)
    x = (left + right) / 2
    tag = box("strip-tag", (x, top - 10), (50, 16), 8, f'fill="{PAPER}" stroke="{EDGE}" stroke-width="1"')
    number = text("strip-label", x, top - 6, f"{sheet.conductor} {strip.number}", 11)
    return f"{tag}{number}{_pack_end(sheet, strip, x, bottom)}"


def _pack_end(sheet: Sheet, strip: Strip, x: float, bottom: float) -> str:
    ends = {0: CellEnd.NEGATIVE, sheet.layout.arrangement.series: CellEnd.POSITIVE}
    if strip.node not in ends:
        return ""
    end = ends[strip.node]
    return text(f"pack-end {end.value}", x, bottom + 22, f"pack {_SIGN[end]}", 13, _BOLD)
