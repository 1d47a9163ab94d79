"""Papers as PDF: read back, held against paper sizes and margins, the same bytes every time, nothing fetched."""

import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from io import BytesIO
from itertools import combinations
from pathlib import Path

import pypdf
import pytest

from packs.documents import freeze
from packs.documents.frozen import Document
from packs.layout import layout
from packs.topology import Arrangement
from shop import printing
from shop.errors import ShopError

from . import papers

pytestmark = pytest.mark.usefixtures("pango")
POINT = 72 / 25.4  # points of 1/72 inch to a millimetre

LONG = "Überlandläufer mit sehr langer Typenbezeichnung & Zubehör <b>"


def long_words(paper: Document, paper_size: str = "A4") -> Document:
    """Return the paper with everything typed as long as its field takes, German numbers and Viennese time."""
    workshop = replace(
        paper.heading.workshop,
        name=f"Werkstatt {LONG}"[:120],
        address="Straße der langen Ortsnamen 123, Hinterstiege 4, 1234 Oberübermühlbach an der Großen Krems",
        number_locale="de",
        time_zone="Europe/Vienna",
        paper=paper_size,
    )
    heading = replace(paper.heading, workshop=workshop, device=f"{LONG} {LONG[:20]}", serial="1234567890" * 8)
    return replace(paper, heading=heading)


def large(series: int, parallel: int) -> Document:
    """Return the job card of a large pack whose cells have long codes."""
    card = papers.job_card()
    outline = replace(card.outline, series=series, parallel=parallel)
    strips = layout(Arrangement(series, parallel), outline.cell_format, outline.terminals).strips
    cell = card.groups[0].cells[0]
    groups = tuple(
        replace(
            card.groups[0],
            number=group,
            cells=tuple(
                replace(cell, group=group, place=place, code=f"B2611-{group:02d}{place:02d}")
                for place in range(1, parallel + 1)
            ),
        )
        for group in range(1, series + 1)
    )
    joints = tuple(replace(card.strips[0], number=s.number, face=s.face, joints=len(s.joints)) for s in strips)
    return replace(card, outline=outline, groups=groups, strips=joints)


CASES = {
    **{name: make() for name, make in papers.ALL.items()},
    **{f"{name}, long words": long_words(make()) for name, make in papers.ALL.items()},
    "job card on Letter": long_words(papers.job_card(), "letter"),
    "job card of 10s4p": large(10, 4),
    "job card of 14s80p": large(14, 80),
}
_made: dict[str, bytes] = {}


def pdf(name: str) -> bytes:
    if name not in _made:
        _made[name] = printing.pdf(freeze(CASES[name]))
    return _made[name]


@pytest.fixture(params=CASES, ids=lambda name: name)
def case(request: pytest.FixtureRequest) -> str:
    return request.param


# --- what it says


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (
            "job card",
            [
                "Job card JC0001",
                "J0007",
                "4s2p",
                "14.40 V",
                "74.88 Wh",
                "B2611-42",
                "weakest",
                "16 joints",
                "61 mV apart",
                "at least 2.000 V",
                "repaired In the tester files of B2611-21: 2 time stamps occur twice",
                "Beware of step 8.",
                "Emergency: 112",
                "Rule set 2026-11-25",
                "Page 1 of 2",
            ],
        ),
        (
            "test report",
            [
                "Test report TR0001",
                "5080 mAh",
                "5126 mAh",
                "at least 4870 mAh",
                "5.040 V",
                "4.750 … 5.250 V",
                "4.140 V",
                "held each of 8 times, limit 2.00 V",
                "Warning",
                "61 mV apart.",
                "4 of 8 cells bought",
                "Nell Ash stayed beside the pack.",
                "4 reclaimed",
                "promises neither a lifetime",
                "is not restored",
                "10.0 … 40.0 °C",
                "not known",
            ],
        ),
        (
            "disposal note",
            [
                "The workshop's own record",
                "Number of the statutory note",
                "UN3480 LITHIUM ION BATTERIES",
                "16 06 05",
                "9.36 Wh",
                "46.0 g",
                "Never by air.",
                "The local authority decides.",
                "container W-1",
                "1 Nov 2026",
            ],
        ),
        (
            "container label",
            [
                "Container label CL0001",
                "Damaged or defective",
                "DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES",
                "UN3480 LITHIUM ION BATTERIES",
                "16 06 05",
                "1 Nov 2026",
                "2.500 kg",
                "In an emergency call 112",
                "Not by air.",
            ],
        ),
        (
            "hand-over receipt",
            [
                "Hand-over receipt HO0001",
                "5 of them bought and 3 reclaimed",
                "in waste container W-1",
                "JC0001",
                "The workshop has done the first charge",
                "Stop using it",
                "14.32 … 14.96 V",
                "name of who takes the device",
            ],
        ),
        (
            "quote",
            [
                "Quote QU0001",
                "Valid until 9 December 2026",
                "takes the place of quote QU0000",
                "What stays old: housing, board",
                "5000 mAh",
                "8 × Cells Round 2.6",
                "EUR 31.74",
                "EUR 190.01",
                "rebuild it",
                "Protection against water and dust is not restored",
                "it may lock for good",
                "taken over by the workshop, which may use them again after testing",
                "EUR 25.00, with tax, is due for the examination",
                "asked for again before it is done",
                "approved: name of who agrees",
            ],
        ),
    ],
)
def test_the_words_and_numbers_are_on_the_paper(name: str, words: list[str]) -> None:
    text = papers.text_of(pdf(name))
    assert [word for word in words if word not in text] == []


def test_nothing_is_said_of_parts_that_nobody_asked_about() -> None:
    """No form asks whether strips, bars, housing or board are new."""
    text = " ".join(papers.text_of(pdf("test report")).split())
    assert "strips are new" not in text
    assert "not whether the conductors are new" in text


@pytest.mark.parametrize("name", papers.ALL)
def test_what_somebody_typed_is_printed_and_never_becomes_markup(name: str) -> None:
    assert papers.TYPED in papers.text_of(pdf(name))


def test_numbers_are_written_as_the_shop_writes_them() -> None:
    """German writes a comma for the decimal mark: CLDR, locale de."""
    text = papers.text_of(pdf("job card, long words"))
    assert "14,40 V" in text
    assert "14.40" not in text


def test_moments_are_in_the_workshops_time() -> None:
    """Vienna is one hour ahead of UTC in winter (CET)."""
    assert "25 November 2026, 14:30" in papers.text_of(pdf("job card"))
    assert "25 November 2026, 15:30" in papers.text_of(pdf("job card, long words"))


def test_a_pack_nobody_opened_has_no_count_and_is_to_be_weighed() -> None:
    unopened = papers.unit(count=None, count_words="not known", rated_energy_mwh=None, mass_mg=None, codes=())
    text = papers.text_of(printing.pdf(freeze(papers.disposal(unopened))))
    assert "weigh it" in text
    assert "not known" in text
    assert not re.search(r"\d Wh", text)


def test_an_energy_just_above_a_limit_of_law_does_not_print_as_the_limit() -> None:
    """20 Wh is the limit of a small cell, 49 CFR 173.185(c)(1)(i) as quoted elsewhere."""
    note = papers.disposal(papers.unit(rated_energy_mwh=Decimal(20004)))
    assert "20.004 Wh" in papers.text_of(printing.pdf(freeze(note)))


# --- how it lies on the sheet


@pytest.mark.parametrize(
    ("name", "size"),
    [
        pytest.param("job card", (210 * POINT, 297 * POINT), id="ISO 216: A4 is 210 mm by 297 mm"),
        pytest.param("job card on Letter", (612.0, 792.0), id="ANSI/ASME Y14.1: size A is 8.5 in by 11 in"),
    ],
)
def test_the_sheet_has_the_size_that_the_workshop_uses(name: str, size: tuple[float, float]) -> None:
    for page in pypdf.PdfReader(BytesIO(pdf(name))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.5)


def test_the_job_card_of_a_usual_pack_is_one_sheet() -> None:
    assert len(pypdf.PdfReader(BytesIO(pdf("job card"))).pages) == 2


def page_of(html: str) -> bytes:
    return printing.pdf_of(f'<html lang="en"><title>x</title>{html}', identifier="x")


Box = tuple[float, float, float, float, str]


def boxes(program: str, data: bytes, folder: Path) -> Iterator[tuple[float, float, list[Box]]]:
    """Yield width, height and the boxes of all words, page by page."""
    source = folder / "paper.pdf"
    source.write_bytes(data)
    text = subprocess.run([program, "-bbox", source, "-"], capture_output=True, check=True, text=True).stdout
    for page in re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', text, re.DOTALL):
        words = re.findall(r'<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</word>', page[2])
        yield float(page[0]), float(page[1]), [(*map(float, word[:4]), word[4]) for word in words]


def overlap(one: Box, other: Box) -> float:
    """How much of the smaller word lies under the other one, from 0 to 1."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    smaller = min((box[2] - box[0]) * (box[3] - box[1]) for box in (one, other))
    return max(0.0, across) * max(0.0, down) / smaller if smaller else 0.0


def test_every_word_lies_between_the_margins(case: str, pdftotext: str, tmp_path: Path) -> None:
    edge = 6 * POINT
    for width, height, words in boxes(pdftotext, pdf(case), tmp_path):
        assert words
        outside = [
            box for box in words if min(box[0], box[1]) < edge or box[2] > width - edge or box[3] > height - edge
        ]
        assert outside == []


def test_no_word_lies_over_another(case: str, pdftotext: str, tmp_path: Path) -> None:
    """Lines stand closer than their boxes are high, so neighbours may share a quarter of their height."""
    for _, _, words in boxes(pdftotext, pdf(case), tmp_path):
        assert [(a[4], b[4]) for a, b in combinations(words, 2) if overlap(a, b) > 0.4] == []


def test_overlapping_words_would_be_seen(pdftotext: str, tmp_path: Path) -> None:
    html = '<p>one</p><p class="b">two</p><style>p {margin: 0} .b {margin-top: -0.8em}</style>'
    ((_, _, words),) = boxes(pdftotext, page_of(html), tmp_path)
    assert overlap(*words) > 0.4


# --- fonts


def fonts(data: bytes) -> set[str]:
    pages = pypdf.PdfReader(BytesIO(data)).pages
    return {
        str(font.get_object()["/BaseFont"]).partition("+")[2]
        for page in pages
        for font in page["/Resources"]["/Font"].values()
    }


FAMILIES = {
    "Ida Moor, Ελένη, Жанна": "Source-Sans-3",
    "علي محمود": "Noto-Sans-Arabic",
    "שרה כהן": "Noto-Sans-Hebrew",
    "電池修理店 电动 ひらカナ": "Droid-Sans-Fallback",
    "홍길동": "Paper-Hangul",
}
"""Invented names in six scripts and more, and the font of ours that writes each."""


def test_the_shops_own_font_has_every_sign(case: str) -> None:
    """A bare machine has no other font, so nothing may come from one."""
    assert all(font.startswith("Source-Sans-3") for font in fonts(pdf(case)))


def many_scripts() -> Document:
    """Return a receipt with names of every script we write, and signs that draw nothing or that no font has."""
    paper = papers.receipt()
    heading = replace(paper.heading, device=" ".join(FAMILIES))
    complaint = "\U0001f600 ok\x07\u200d\u2028\u200f\u00ad\ufe0f"
    return replace(paper, heading=heading, customer=" ".join(FAMILIES), complaint=complaint)


@pytest.fixture(scope="module")
def of_many_scripts() -> bytes:
    return printing.pdf(freeze(many_scripts()))


def test_names_of_other_scripts_are_written_in_our_own_fonts(of_many_scripts: bytes) -> None:
    found = {font.partition(",")[0] for font in fonts(of_many_scripts)}
    assert {family for family in FAMILIES.values() if not any(font.startswith(family) for font in found)} == set()
    assert all(font.startswith(tuple(FAMILIES.values())) for font in found)


def test_names_of_other_scripts_are_read_back(of_many_scripts: bytes, pdftotext: str, tmp_path: Path) -> None:
    (tmp_path / "paper.pdf").write_bytes(of_many_scripts)
    run = subprocess.run([pdftotext, tmp_path / "paper.pdf", "-"], capture_output=True, check=True, text=True)
    for name in FAMILIES:
        for word in name.split():
            assert word in run.stdout, word


def test_a_sign_that_no_font_of_ours_has_stands_as_its_number(of_many_scripts: bytes) -> None:
    assert "[U+1F600] ok" in papers.text_of(of_many_scripts)


def test_a_letter_that_would_print_as_an_empty_box_fails_the_print() -> None:
    """So every paper printed in these tests has none. U+F8FE is in the private use area: no font that means text has it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(printing, "_writable", lambda html: html)
        with pytest.raises(ShopError) as refused:
            page_of("<p>a\uf8feb</p>")
    assert refused.value.code == "not_printed"
    assert "\uf8fe" in refused.value.message


# --- the same bytes


ELSEWHERE = """
import sys, json, hashlib, time, django
then = time.time
time.time = lambda: then() + 400_000_000
django.setup()
from shop import printing
for content in json.load(open(sys.argv[1])):
    print(hashlib.sha256(printing.pdf(content)).hexdigest())
"""


def test_the_same_content_gives_the_same_bytes_in_another_process(of_many_scripts: bytes, tmp_path: Path) -> None:
    """Another order of sets, another time zone, and twelve years later."""
    contents = [freeze(CASES["job card"]), freeze(CASES["test report"]), freeze(many_scripts())]
    source = tmp_path / "content.json"
    source.write_text(json.dumps(contents))
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONHASHSEED": "1", "TZ": "Asia/Tokyo"}
    run = [sys.executable, "-c", ELSEWHERE, str(source)]
    other = subprocess.run(
        run, env=environment, capture_output=True, check=True, text=True, cwd=Path(__file__).parents[1]
    )
    here = (pdf("job card"), pdf("test report"), of_many_scripts)
    assert other.stdout.split() == [hashlib.sha256(made).hexdigest() for made in here]


def test_other_content_gives_other_bytes() -> None:
    other = replace(papers.job_card(), complaint="runs six minutes")
    assert printing.pdf(freeze(other)) != pdf("job card")


# --- what is missing is said


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/hostname",
        "http://example.org/logo.png",
        "data:image/png;base64,iVBORw0KGgo=",
        f"{printing.BASE}../shop/settings.py",
        f"{printing.BASE}%2e%2e/manage.py",
        f"{printing.BASE}js/shop.js",
        f"{printing.BASE}css/absent.css",
        "http://shop.invalid.example.org/static/css/paper.css",
    ],
)
def test_a_paper_takes_nothing_but_the_shops_own_files(address: str) -> None:
    with pytest.raises(ValueError, match="none of the shop's own"):
        printing.own_file(address)
    with pytest.raises(ShopError) as refused:
        page_of(f'<img src="{address}" alt="x">')
    assert refused.value.code == "not_printed"
    assert "Error fetching" in refused.value.message


def test_the_shops_own_styles_are_served() -> None:
    assert printing.own_file(f"{printing.BASE}css/paper.css").name == "paper.css"


def test_a_picture_that_cannot_be_drawn_fails_the_print() -> None:
    with pytest.raises(ShopError) as refused:
        page_of('<img src="css/paper.css" alt="x">')
    assert refused.value.code == "not_printed"
    assert "Failed to load image" in refused.value.message


def test_without_pango_the_refusal_names_the_packages() -> None:
    """Package names of Debian 12."""
    with papers.a_machine_without_pango(), pytest.raises(ShopError) as refused:
        printing.pdf(freeze(papers.receipt()))
    assert refused.value.code == "no_pango"
    for package in ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"):
        assert package in refused.value.message


def test_content_that_is_no_paper_is_refused() -> None:
    with pytest.raises(ShopError) as refused:
        printing.pdf({"heading": {"kind": "letter"}})
    assert refused.value.code == "unreadable_content"


# --- the code that a scanner reads


def modules(svg: str) -> set[tuple[int, int]]:
    """Return the dark modules as (row, column) from the strokes of the SVG."""
    (path,) = re.findall(r' d="([^"]+)"', svg)
    dark, row, column = set(), 0, 0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", path):
        values = [float(number) for number in numbers.split()]
        if command == "h":
            dark |= {(row, column + step) for step in range(int(values[0]))}
            column += int(values[0])
        else:
            row = int(values[1]) if command == "M" else row + int(values[1])
            column = int(values[0]) if command == "M" else column + int(values[0])
    return dark


def read_qr(dark: set[tuple[int, int]]) -> str:
    """Read an alphanumeric QR code of version 1: ISO/IEC 18004 (layout, masks and modes from memory)."""
    size = 21
    mask = printing.QR_MASK
    masks = {0: lambda i, j: (i + j) % 2, 1: lambda i, j: i % 2, 2: lambda i, j: j % 3, 3: lambda i, j: (i + j) % 3}

    def fixed(i: int, j: int) -> bool:
        corners = (i < 9 and j < 9) or (i < 9 and j > size - 9) or (i > size - 9 and j < 9)
        return corners or 6 in (i, j)

    bits, upward = "", True
    for right in [*range(20, 6, -2), 5, 3, 1]:
        for i in range(size - 1, -1, -1) if upward else range(size):
            for j in (right, right - 1):
                if not fixed(i, j):
                    bits += str(int(((i, j) in dark) ^ (masks[mask](i, j) == 0)))
        upward = not upward
    signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
    assert bits[:4] == "0010"  # alphanumeric
    count, at, text = int(bits[4:13], 2), 13, ""
    while count - len(text) > 1:
        pair, at = int(bits[at : at + 11], 2), at + 11
        text += signs[pair // 45] + signs[pair % 45]
    return text + (signs[int(bits[at : at + 6], 2)] if count - len(text) else "")


@pytest.mark.parametrize("code", ["J0001", "J0042", "J123456"])
def test_the_code_says_the_job(code: str) -> None:
    assert read_qr(modules(printing.qr(code))) == code
