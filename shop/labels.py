"""Labels for cells as PDF: a QR code that a scanner reads, and the same code in letters, on sheets or on a roll.

A library that lays out pages takes far too long for some hundred labels; here each has its fixed place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

import segno

from shop import printing
from shop.errors import ShopError

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

QUIET = 4
"""Blank modules around a code (ISO/IEC 18004, from memory): the label's own edge is nothing that a reader may rely on."""

MASK = printing.QR_MASK
EDGE_MM = 1.0
"""Kept free along the edge of a label, since sheets are never fed quite straight; common practice, no source."""

MOST_LABELS = 2000
LARGE_PT, SMALL_PT = 9.0, 6.5
LEADING = 1.15
POINTS_A_MM = 72 / 25.4
FONT, LIGHTER = "fonts/SourceSans3-Semibold.ttf.woff", "fonts/SourceSans3-Regular.ttf.woff"


@dataclass(frozen=True)
class Sheet:
    """How labels lie on a page, in millimetres from its upper left corner."""

    name: str
    page: tuple[float, float]
    columns: int
    rows: int
    size: tuple[float, float]
    first: tuple[float, float] = (0.0, 0.0)
    gap: tuple[float, float] = (0.0, 0.0)

    @property
    def on_a_page(self) -> int:
        """How many labels a page has."""
        return self.columns * self.rows

    def place(self, number: int) -> tuple[float, float]:
        """Return the upper left corner of a label, counted from 0 along the rows."""
        row, column = divmod(number % self.on_a_page, self.columns)
        across, down = self.size[0] + self.gap[0], self.size[1] + self.gap[1]
        return self.first[0] + column * across, self.first[1] + row * down


SHEETS = {
    "a4_65": Sheet("A4, 65 labels of 38.1 × 21.2 mm", (210, 297), 5, 13, (38.1, 21.2), (4.75, 10.7), (2.5, 0)),
    "a4_24": Sheet("A4, 24 labels of 70 × 37 mm", (210, 297), 3, 8, (70, 37), (0, 0.5)),
    "letter_30": Sheet(
        "Letter, 30 labels of 2⅝ × 1 in", (215.9, 279.4), 3, 10, (66.675, 25.4), (4.7625, 12.7), (3.175, 0)
    ),
    "letter_80": Sheet("Letter, 80 labels of 1¾ × ½ in", (215.9, 279.4), 4, 20, (44.45, 12.7), (7.62, 12.7), (7.62, 0)),
}
"""Sheets that stationers sell everywhere, from memory; a test print on plain paper shows whether one fits."""


def roll(width_mm: float, height_mm: float) -> Sheet:
    """Return the sheet of a roll printer: each label is a page."""
    return Sheet("roll", (width_mm, height_mm), 1, 1, (width_mm, height_mm))


@dataclass(frozen=True)
class Label:
    """What stands on one label: the code, in letters and for a scanner, and further lines below it."""

    code: str
    lines: tuple[str, ...] = ()


def pdf(labels: Sequence[Label], sheet: Sheet, *, first: int = 1) -> bytes:
    """Return labels as PDF, beginning at the first free label of the first page; the same labels give the same bytes."""
    _refuse_unprintable(labels)
    canvas, out = _canvas(sheet)
    for number, label in enumerate(labels, first - 1):
        if number % sheet.on_a_page == 0 and number > first - 1:
            canvas.showPage()
        _draw(canvas, label, sheet, number)
    canvas.save()
    return out.getvalue()


def _refuse_unprintable(labels: Sequence[Label]) -> None:
    """A box where a letter should be reads as no code at all."""
    glyphs = _font(FONT).face.charToGlyph
    for label in labels:
        if missing := [letter for letter in label.code if ord(letter) not in glyphs]:
            raise ShopError(
                "no_letters",
                f"The code {label.code} has letters that the labels' font does not: {' '.join(missing)}.",
                field="codes",
            )


def _draw(canvas: "Canvas", label: Label, sheet: Sheet, number: int) -> None:
    left, top = sheet.place(number)
    width, height = sheet.size
    side = min(height - 2 * EDGE_MM, width / 2)
    high = sheet.page[1]
    _qr(canvas, label.code, (left + EDGE_MM, high - top - (height + side) / 2), side)
    room = (left + EDGE_MM + side, high - top - EDGE_MM, width - side - 2 * EDGE_MM, height - 2 * EDGE_MM)
    _words(canvas, label, room)


def _qr(canvas: "Canvas", code: str, corner: tuple[float, float], side: float) -> None:
    """Draw a code into a square with its lower left corner [mm], the blank around it included."""
    made = segno.make(code, error="m", boost_error=False, micro=False, mask=MASK)
    rows = list(made.matrix_iter(border=QUIET))
    unit = side / len(rows) * POINTS_A_MM
    left, below = corner[0] * POINTS_A_MM, corner[1] * POINTS_A_MM
    path = canvas.beginPath()
    for up, row in enumerate(reversed(rows)):
        began = None
        for across, dark in enumerate([*row, 0]):
            if dark and began is None:
                began = across
            elif not dark and began is not None:
                path.rect(left + began * unit, below + up * unit, (across - began) * unit, unit)
                began = None
    canvas.drawPath(path, stroke=0, fill=1)


def _words(canvas: "Canvas", label: Label, room: tuple[float, float, float, float]) -> None:
    """Write the code as large as it fits, over several lines where it has to, and further lines while there is room."""
    left, top, width, height = (number * POINTS_A_MM for number in room)
    size, parts = _fitted(label.code, width)
    lines = [(FONT, size, part) for part in parts] + [(LIGHTER, SMALL_PT, line) for line in label.lines]
    down = top
    for number, (font, points, text) in enumerate(lines):
        down -= points * LEADING
        if down < top - height and number >= len(parts):
            return
        canvas.setFont(_font(font).fontName, points)
        canvas.drawString(left, down, _cut(text, font, points, width))


def _fitted(code: str, width: float) -> tuple[float, list[str]]:
    wide = _width(code, FONT, LARGE_PT)
    if wide <= width:
        return LARGE_PT, [code]
    if (size := LARGE_PT * width / wide) >= SMALL_PT:
        return size, [code]
    for parts in range(2, len(code)):
        length = -(-len(code) // parts)
        pieces = [code[begin : begin + length] for begin in range(0, len(code), length)]
        widest = max(_width(piece, FONT, LARGE_PT) for piece in pieces)
        if LARGE_PT * width / widest >= SMALL_PT:
            return min(LARGE_PT * width / widest, LARGE_PT), pieces
    return SMALL_PT, list(code)


def _cut(text: str, font: str, points: float, width: float) -> str:
    """A further line may end in dots; a code never does."""
    if font == FONT or _width(text, font, points) <= width:
        return text
    while text and _width(f"{text}…", font, points) > width:
        text = text[:-1]
    return f"{text}…"


def _width(text: str, font: str, points: float) -> float:
    return float(_font(font).stringWidth(text, points))


def _canvas(sheet: Sheet) -> "tuple[Canvas, BytesIO]":
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, pagesize=(sheet.page[0] * POINTS_A_MM, sheet.page[1] * POINTS_A_MM), invariant=1)
    canvas.setTitle("Labels")
    return canvas, out


@cache
def _font(name: str) -> Any:
    """Return one of the papers' own fonts, unpacked, since PDF takes no compressed ones; loaded at the first label."""
    from fontTools.ttLib import TTFont as Packed
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    packed = Packed(printing.own_file(printing.BASE + name))
    packed.flavor = None
    unpacked = BytesIO()
    packed.save(unpacked)
    unpacked.seek(0)
    font = TTFont(name.rpartition("/")[2].partition(".")[0], unpacked)
    pdfmetrics.registerFont(font)
    return font
