"""A pack as SVG text: every face, strip and cell, readable in black and white."""

from packs.drawing.pack import faces_svg

__all__ = ["faces_svg"]
