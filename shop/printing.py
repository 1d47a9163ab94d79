"""Frozen papers to pages and PDF bytes: the same content always gives the same bytes."""

import logging
import os
import re
import threading
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import segno
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from shop import typefaces
from shop.bridge.documents import (
    Document,
    FacePicture,
    Group,
    LimitsAnnex,
    Outline,
    TestReport,
    bars,
    check_code,
    content_hash,
    discharge,
    face_pictures,
    sections,
    stroked,
    thawed,
)
from shop.errors import ShopError

BASE = "http://shop.invalid/static/"
"""Where the papers' own files seem to lie. Nothing is ever fetched from there."""

SERVED = {".css": "text/css", ".woff": "font/woff", ".svg": "image/svg+xml"}
MORE_FONTS = '<link rel="stylesheet" href="css/paper-fonts-more.css">'
SVG = "http://www.w3.org/2000/svg"
VARIANT = "pdf/a-2u"
"""For keeping: fonts and colour profile within, every sign with its character. ``tests/test_pdf_kept.py`` checks what of
ISO 19005-2 it knows; no validator was asked. The file is tagged too, without a claim to PDF/UA."""

_SHAPE = re.compile(r'<svg class="shape"[^>]*>')

Pictures = dict[str, str]
"""Drawings that we made, as SVG by their file name."""

QR_MASK = 2  # any fixed one: choosing the best each time is slow, and readers take them all

# In millimetres: the width between the margins, the space between two pictures, the height one may take, and the size of one
# unit of a drawing: in a smaller one the codes of cells cannot be read, in a yet smaller one not even their places.
PAGE_WIDTH, GAP, DRAWING_HEIGHT, SMALLEST_UNIT, LARGEST_UNIT = 180.0, 12.0, 230.0, 0.185, 0.22
PLACES_UNIT = 0.13
MOST_DRAWN = 120
"""Cells of a pack that is drawn; a larger one is too long to draw, and too small to read."""

NO_PANGO = (
    "The PDF cannot be made on this machine: the text library Pango is missing. As root: "
    "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 (macOS: brew install pango), "
    "then start the shop again and make the PDF."
)


def page(content: dict[str, Any]) -> SafeString:
    """Return a paper as a piece of a web page.

    Raises
    ------
    ShopError
        ``unreadable_content``: the content is no paper of this shop.
    """
    return mark_safe(_rendered("paper/sheet.html", content))  # noqa: S308 - a template of ours escaped what was typed


def pdf(content: dict[str, Any]) -> bytes:
    """Return a paper as PDF.

    Raises
    ------
    ShopError
        ``no_pango``, ``not_printed`` or ``unreadable_content``; the message says what is missing.
    """
    made: Pictures = {}
    html = _rendered("paper/document.html", content, made)
    # the shape of a state stands beside its word; a tagged file asks words of every picture
    html = _SHAPE.sub(r"\g<0><title>mark</title>", html)
    return pdf_of(html, identifier=content["heading"]["code"], made=made)


def annex(paper: LimitsAnnex) -> bytes:
    """Return the annex of limits as PDF.

    Raises
    ------
    ShopError
        ``no_pango`` or ``not_printed``; the message says what is missing.
    """
    context = {"paper": paper, "number_locale": paper.workshop.number_locale}
    with timezone.override(paper.workshop.time_zone), translation.override("en"):
        html = render_to_string("paper/limits.html", context)
    return pdf_of(html, identifier=f"limits {paper.rule_set}")


def pdf_of(html: str, *, identifier: str, made: Pictures | None = None) -> bytes:
    """Return a page as PDF; whatever is missing or cannot be drawn fails the whole."""
    weasyprint = _weasyprint()
    from weasyprint.urls import FatalURLFetchingError

    try:
        with _watched() as faults:
            document = weasyprint.HTML(string=_writable(html), base_url=BASE, url_fetcher=_own_files(made or {}))
            data: bytes = document.write_pdf(pdf_identifier=identifier.encode(), pdf_variant=VARIANT, pdf_tags=True)
    except FatalURLFetchingError as error:
        raise ShopError("not_printed", f"The PDF was not made: {error}") from error
    if faults:
        raise ShopError("not_printed", f"The PDF was not made: {' '.join(faults)}")
    return data


def _writable(html: str) -> str:
    """Return a page that our own fonts can write, with those for further scripts where it needs them."""
    html = typefaces.drawable(html)
    return html if typefaces.usual(html) else html.replace("</head>", f"{MORE_FONTS}</head>", 1)


def _rendered(template: str, content: dict[str, Any], made: Pictures | None = None) -> str:
    """Return a paper as HTML, its drawings within it, or in ``made`` where it is laid out for print."""
    paper = thawed(content)
    pictures = _pictures(paper)
    if made is not None:
        pictures |= _as_files(pictures, paper.heading.job_code, made)
    context = {"paper": paper, "number_locale": paper.heading.workshop.number_locale, **pictures}
    context["check_code"] = check_code(content_hash(content))
    context["sheet"] = f"paper/{paper.heading.kind.value}.html"
    with timezone.override(paper.heading.workshop.time_zone), translation.override("en"):
        return render_to_string(template, context)


def _pictures(paper: Document) -> dict[str, Any]:
    """Return the code that a scanner reads, and the drawing where the paper shows a pack; a large one in sections."""
    outline, groups = getattr(paper, "outline", None), getattr(paper, "groups", ())
    faces = _faces(outline, groups) if outline is not None else []
    return {
        "qr": qr(paper.heading.job_code),
        "faces": faces,
        "sections": sections(outline, groups) if outline is not None and not faces else [],
        "charts": _charts(paper) if isinstance(paper, TestReport) else [],
    }


def _charts(paper: TestReport) -> list[tuple[str, SafeString]]:
    """Return the pictures of a test report, each with its words."""
    locale = paper.heading.workshop.number_locale
    drawn = (
        ("Forecast discharge beside what was measured", discharge(paper.proof, locale)),
        ("Capacity of each group", bars(paper.groups, paper.proof, locale)),
    )
    # the numbers and words of a chart are escaped where it is drawn
    return [(words, mark_safe(svg)) for words, svg in drawn if svg]  # noqa: S308


def _as_files(pictures: dict[str, Any], code: str, made: Pictures) -> dict[str, Any]:
    """Give each drawing a file of its own: within the page every stroke would be asked for its style, which takes longest."""
    made["qr.svg"] = pictures["qr"].replace("<svg ", f'<svg xmlns="{SVG}" ', 1)
    faces = []
    for number, face in enumerate(pictures["faces"], start=1):
        made[f"face-{number}.svg"] = typefaces.drawable(stroked(face))
        what = f"Drawing of the pack, face {number}: cells, polarity and joints"
        faces.append(format_html('<img class="pack-drawing" src="face-{}.svg" alt="{}">', number, what))
    charts = []
    for number, (words, chart) in enumerate(pictures["charts"], start=1):
        made[f"chart-{number}.svg"] = chart
        charts.append((words, format_html('<img class="chart" src="chart-{}.svg" alt="{}">', number, words)))
    return {
        "charts": charts,
        "qr": format_html('<img class="qr" src="qr.svg" alt="QR code: {}">', code),
        "faces": faces,
    }


def qr(payload: str) -> SafeString:
    """Return a QR code as SVG without a size of its own."""
    code = segno.make(payload, error="m", boost_error=False, micro=False, mask=QR_MASK)
    # the library draws squares; what they say never becomes markup
    return mark_safe(code.svg_inline(omitsize=True, border=0, svgclass="qr"))  # noqa: S308


def _faces(outline: Outline, groups: tuple[Group, ...]) -> list[SafeString]:
    """Return the faces of a pack in a size that can be read, or none where there is no such size."""
    if outline.series * outline.parallel > MOST_DRAWN:
        return []
    pictures = face_pictures(outline, groups)
    width, height = (max(getattr(picture, side) for picture in pictures) for side in ("width", "height"))
    beside = (PAGE_WIDTH - GAP * (len(pictures) - 1)) / (width * len(pictures))
    if beside >= SMALLEST_UNIT:
        return _at(pictures, min(beside, LARGEST_UNIT, DRAWING_HEIGHT / height))
    alone = min(PAGE_WIDTH / width, LARGEST_UNIT, DRAWING_HEIGHT / height)
    if len(pictures) == 1:
        return _at(pictures, alone) if alone >= SMALLEST_UNIT else []
    first, *others = face_pictures(outline, groups, coded=False)
    with_places = (PAGE_WIDTH - GAP) / width - PLACES_UNIT
    unit = min(with_places, alone) if with_places >= SMALLEST_UNIT else alone
    return [first.at(unit), *_at(others, PLACES_UNIT)] if unit >= SMALLEST_UNIT else []


def _at(pictures: list[FacePicture], unit: float) -> list[SafeString]:
    return [picture.at(unit) for picture in pictures]


def _weasyprint() -> Any:
    """Return the library, imported only here: the shop lives without Pango until somebody prints."""
    # The library cuts our variable font to the weights in use and would stamp each cut with the time of day.
    os.environ.setdefault("SOURCE_DATE_EPOCH", "0")
    try:
        import weasyprint
    except OSError as error:
        raise ShopError("no_pango", NO_PANGO) from error
    return weasyprint


def _own_files(made: Pictures) -> Any:
    """Return a fetcher that serves our own styles and fonts and the drawings made; anything else fails the whole print."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OwnFiles(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
            if (drawing := made.get(url.removeprefix(BASE))) is not None:
                return URLFetcherResponse(url, drawing.encode(), {"Content-Type": SERVED[".svg"]})
            path = own_file(url)
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": SERVED[path.suffix]})

    return OwnFiles(fail_on_errors=True)


def own_file(url: str) -> Path:
    """Return the static file that an address of a paper means; ValueError for any other address."""
    name = url.removeprefix(BASE)
    try:
        found = finders.find(name) if url.startswith(BASE) else None
    except SuspiciousFileOperation:
        found = None
    if found is None or Path(str(found)).suffix not in SERVED:
        raise ValueError(f"{url} is none of the shop's own styles, fonts or pictures.")
    return Path(str(found))


def _is_news(record: logging.LogRecord) -> bool:
    """Whether the library says that something is missing; what it does not understand of the screen's styles is no news."""
    return record.levelno >= logging.ERROR or ".notdef" in record.getMessage()


class _Faults(logging.Handler):
    """Collects what the library only mumbles into its log in this thread: a picture it could not draw, a missing letter."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__(logging.WARNING)
        self.faults = faults
        self.thread = threading.get_ident()

    def emit(self, record: logging.LogRecord) -> None:
        if record.thread == self.thread:
            self.faults.append(record.getMessage())


@contextmanager
def _watched() -> Generator[list[str], None, None]:
    faults: list[str] = []
    handler, logger = _Faults(faults), logging.getLogger("weasyprint")
    logger.setLevel(logging.WARNING)
    logger.addFilter(_is_news)  # the same one is kept once
    logger.addHandler(handler)
    try:
        yield faults
    finally:
        logger.removeHandler(handler)
