"""The drawing of a pack from what its paper says, one picture to each face."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.safestring import SafeString, mark_safe

from packs import drawing
from packs.documents import Group, Outline
from packs.layout import layout
from packs.terms import Face
from packs.topology import Arrangement
from shop.bridge.standing import STAYS

_SIZE = re.compile(r'width="([0-9.]+)" height="([0-9.]+)"')
_FONT = 'font-family="sans-serif"'
_OUR_FONT = 'font-family="Source Sans 3, sans-serif"'  # a paper's stylesheet does not reach into its drawings


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


def face_pictures(outline: Outline, groups: Sequence[Group]) -> list[FacePicture]:
    """Return every face that carries strips, the top first, with the codes of the cells."""
    arrangement = Arrangement(outline.series, outline.parallel)
    pack = layout(arrangement, outline.cell_format, outline.terminals, packing=outline.packing)
    codes = {(cell.group, cell.place): cell.code for group in groups for cell in group.cells}
    stay = {(group.number, place): STAYS for group in groups if group.stays for place in range(1, outline.parallel + 1)}
    built = [group.number for group in groups if not group.stays] if stay else []
    weakest = [group.number for group in groups if group.weakest]
    return [
        _picture(
            face,
            drawing.faces_svg(
                replace(pack, strips=pack.strips_on(face)),
                codes,
                stay,
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
