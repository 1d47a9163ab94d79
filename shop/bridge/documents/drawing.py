"""The drawing of a pack from what its paper says, one picture to each face."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.safestring import SafeString, mark_safe

from packs import drawing
from packs.documents import Group, Outline
from packs.layout import CellPlace, Layout, layout
from packs.terms import CellEnd, Face
from packs.topology import Arrangement
from shop.bridge.standing import STAYS

_SIZE = re.compile(r'width="([0-9.]+)" height="([0-9.]+)"')
_FONT = 'font-family="sans-serif"'
_OUR_FONT = 'font-family="Source Sans 3, Noto Sans Arabic, Noto Sans Hebrew, Paper Hangul, Droid Sans Fallback"'  # a paper's stylesheet does not reach into its drawings


_POLARITY = re.compile(r'<text class="polarity (\w+)" x="([-0-9.]+)" y="([-0-9.]+)"[^>]*>[^<]*</text>')


def stroked(svg: str) -> str:
    """Draw plus and minus as strokes: two for each cell, and a sign set as text takes many times as long to lay out."""
    return _POLARITY.sub(_strokes, svg)


def _strokes(sign: re.Match[str]) -> str:
    x, y = float(sign[2]), float(sign[3])
    upright = f"M{x:g} {y - 11.5:g}v10" if sign[1] == CellEnd.POSITIVE.value else ""
    return f'<path d="M{x - 5:g} {y - 6.5:g}h10{upright}" stroke="#1a1a1a" stroke-width="2.2" fill="none"/>'


@dataclass(frozen=True)
class FacePicture:
    """One face of the pack as SVG, with its size in the drawing's own units."""

    face: Face
    svg: str
    width: float
    height: float

    def at(self, millimetres: float) -> SafeString:
        """Return the picture with so many millimetres to one unit of the drawing."""
        size = f'width="{self.width * millimetres:.2f}mm" height="{self.height * millimetres:.2f}mm"'
        return mark_safe(_SIZE.sub(size, self.svg, count=1))  # noqa: S308 - the drawing escapes every word it is given


@dataclass(frozen=True)
class Section:
    """Cells as they lie, row by row, where a drawing of them all could not be read: their codes, by columns."""

    groups: tuple[int, ...]
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def sections(outline: Outline, groups: Sequence[Group]) -> list[Section]:
    """Return the bands of a pack, seen from the top, with the codes of the cells in their places."""
    pack = _laid_out(outline)
    codes = _codes(groups)
    stays = {group.number for group in groups if group.stays}
    rows: dict[int, dict[int, CellPlace]] = {}
    for cell in pack.cells:
        rows.setdefault(cell.row, {})[cell.column] = cell
    bands: list[list[int]] = []
    for row in sorted(rows):
        if not bands or bands[-1][-1] != row - 1:
            bands.append([])
        bands[-1].append(row)
    return [_section([rows[row] for row in band], codes, stays) for band in bands]


def _section(band: list[dict[int, CellPlace]], codes: dict[tuple[int, int], str], stays: set[int]) -> Section:
    columns = sorted({column for row in band for column in row})
    tops = [next(row[column] for row in band if column in row) for column in columns]
    header = tuple(
        "" if before is not None and before.group == cell.group else _column(cell)
        for before, cell in zip([None, *tops], tops, strict=False)
    )
    written = tuple(tuple(_written(row.get(column), codes, stays) for column in columns) for row in band)
    return Section(tuple(sorted({cell.group for cell in tops})), header, written)


def _column(cell: CellPlace) -> str:
    up = {None: "", CellEnd.POSITIVE: " + up", CellEnd.NEGATIVE: " − up"}[cell.up]
    return f"{cell.group}{up}"


def _written(cell: CellPlace | None, codes: dict[tuple[int, int], str], stays: set[int]) -> str:
    if cell is None:
        return ""
    return STAYS if cell.group in stays else codes.get((cell.group, cell.place), f"{cell.group}.{cell.place}")


def _laid_out(outline: Outline) -> Layout:
    arrangement = Arrangement(outline.series, outline.parallel)
    return layout(arrangement, outline.cell_format, outline.terminals, packing=outline.packing)


def _codes(groups: Sequence[Group]) -> dict[tuple[int, int], str]:
    return {(cell.group, cell.place): cell.code for group in groups for cell in group.cells}


def face_pictures(outline: Outline, groups: Sequence[Group], *, coded: bool = True) -> list[FacePicture]:
    """Return every face that carries strips, the top first, with the codes of the cells.

    Where not all are ``coded``, the faces behind the first show the places of the cells instead, which stay readable
    in a smaller drawing.
    """
    pack, codes = _laid_out(outline), _codes(groups)
    stay = {(group.number, place): STAYS for group in groups if group.stays for place in range(1, outline.parallel + 1)}
    built = [group.number for group in groups if not group.stays] if stay else []
    weakest = [group.number for group in groups if group.weakest]
    return [
        _picture(
            face,
            drawing.faces_svg(
                replace(pack, strips=pack.strips_on(face)),
                codes if coded or face is pack.faces[0] else {},
                stay if coded or face is pack.faces[0] else {},
                weakest=weakest,
                built=built,
                conductor=outline.conductor,
            ),
        )
        for face in pack.faces
    ]


def _picture(face: Face, svg: str) -> FacePicture:
    size = _SIZE.search(svg)
    assert size is not None  # noqa: S101 - the drawing always says how large it is
    return FacePicture(face, svg.replace(_FONT, _OUR_FONT, 1), float(size[1]), float(size[2]))
