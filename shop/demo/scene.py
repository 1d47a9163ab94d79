"""What the demo's camera saw: a drawn picture that stands for a photograph of an open case."""

from functools import cache
from io import BytesIO

from PIL import Image, ImageDraw

from shop.bridge import pictures
from shop.bridge.pictures import Picture

CASE, CELL, STRIP, TAPE = (52, 56, 60), (172, 178, 182), (214, 208, 190), (196, 150, 62)
ACROSS, DOWN, APART = 4, 2, 80


@cache
def open_case() -> Picture:
    """Return a case with its cells in rows, strips over them and tape at the edge."""
    image = Image.new("RGB", (ACROSS * APART + 40, DOWN * APART + 40), CASE)
    draw = ImageDraw.Draw(image)
    for row in range(DOWN):
        for column in range(ACROSS):
            left, top = 30 + column * APART, 30 + row * APART
            draw.ellipse((left, top, left + 60, top + 60), fill=CELL)
        draw.rectangle((40, 52 + row * APART, ACROSS * APART, 66 + row * APART), fill=STRIP)
    draw.rectangle((0, 0, image.width, 14), fill=TAPE)
    out = BytesIO()
    image.save(out, "JPEG")
    return pictures.develop(out.getvalue())
