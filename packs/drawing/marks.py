"""SVG marks as text. Looks are presentation attributes: a strict content policy drops ``style``, and paper has none."""

from html import escape

INK, QUIET, METAL, EDGE, PAPER = "#1a1a1a", "#595959", "#e4e4e4", "#7a7a7a", "#ffffff"
_GLYPH = 0.6  # width of a sans-serif character as a share of its size
_SMALLEST = 6.0


def n(number: float) -> str:
    """Length without needless digits [user units]."""
    return f"{number:.2f}".rstrip("0").rstrip(".")


def box(name: str, middle: tuple[float, float], size: tuple[float, float], corner: float, look: str) -> str:
    """Rectangle about its middle.

    Measures of the drawing [user units].
    """
    (x, y), (width, height) = middle, size
    place = f'x="{n(x - width / 2)}" y="{n(y - height / 2)}" width="{n(width)}" height="{n(height)}" rx="{n(corner)}"'
    return f'<rect class="{name}" {place} {look}/>'


def text(name: str, x: float, y: float, words: str, size: float, look: str = "") -> str:
    """Line of text, centred on x, standing on y.

    Places and size of the drawing [user units].
    """
    extra = f" {look}" if look else ""
    return f'<text class="{name}" x="{n(x)}" y="{n(y)}" font-size="{n(size)}"{extra}>{escape(words)}</text>'


def fitting_size(words: str, width: float, size: float) -> float:
    """Font size at which the words keep to a width, at most the given size.

    Sizes of the drawing [user units].
    """
    return max(_SMALLEST, min(size, width / (_GLYPH * max(1, len(words)))))


def linked(address: str | None, content: str) -> str:
    """Content that opens an address when touched."""
    return f'<a href="{escape(address)}">{content}</a>' if address else content
