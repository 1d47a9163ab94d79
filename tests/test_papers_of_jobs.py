"""Every paper of jobs of four arrangements: its text read back and held against the job, its code read by a library.

The text is read by pdftotext, the QR codes by zxing-cpp from the rendered page: neither shares a line with what made them.
"""

import re
import subprocess
from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

import pypdf
import pytest
from PIL import Image

from packs.documents import check_code, content_hash
from packs.terms import DocumentKind
from shop import models, printing
from shop.bridge import documents
from tests import line, packed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("pango")]
AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
ARRANGEMENTS = ((4, 2), (10, 4), (13, 5), (14, 80))
PAGES = {(4, 2): 2, (10, 4): 3, (13, 5): 4, (14, 80): 8}
"""Pages that a job card may have: two for a usual pack, eight for the largest."""

OF_A_PACK = (DocumentKind.JOB_CARD, DocumentKind.TEST_REPORT, DocumentKind.HAND_OVER, DocumentKind.PACK_LABEL)


class Printed(NamedTuple):
    """One paper of a job: its content, its text line by line, and what a scanner reads from its first page."""

    codes: list[str]
    content: dict[str, Any]
    pdf: bytes
    text: str
    scanned: list[str]


@pytest.mark.parametrize("size", ARRANGEMENTS, ids=lambda size: f"{size[0]}s{size[1]}p")
def test_every_paper_says_what_the_job_says(size: tuple[int, int], pdftotext: str, tmp_path: Path) -> None:
    """One test for each job: its papers are printed once and asked everything."""
    job = packed.proved(packed.reserved(*size, prefix=f"B26{size[0]:02d}"))
    contents = {kind: documents.build(job, kind, number=1, by=line.technician(), at=AT) for kind in OF_A_PACK} | {
        DocumentKind.QUOTE: job.documents.get(kind=DocumentKind.QUOTE.value).content
    }
    papers = {kind: printed(job, content, tmp_path, pdftotext) for kind, content in contents.items()}
    for kind, paper in papers.items():
        ratings_are_those_of_the_cells(size, paper)
        every_page_has_the_code_and_its_number(paper)
        assert set(paper.scanned) == {job.code}
        assert len(paper.scanned) == (2 if kind is DocumentKind.PACK_LABEL else 1)
    the_card_names_every_cell_and_keeps_short(size, papers[DocumentKind.JOB_CARD])
    measured_stands_beside_expected(size, papers[DocumentKind.TEST_REPORT])


@pytest.mark.parametrize("size", ARRANGEMENTS, ids=lambda size: f"{size[0]}s{size[1]}p")
def test_what_goes_out_as_waste_says_what_the_old_pack_held(
    size: tuple[int, int], pdftotext: str, tmp_path: Path
) -> None:
    """Disposal note and container label; 2.6 Ah and 3.6 V a cell, worked out by hand: 9.36 Wh each."""
    job, container = packed.thrown_away(*size)
    about = {DocumentKind.DISPOSAL_NOTE: job, DocumentKind.CONTAINER_LABEL: container}
    wh, cells = Decimal("9.36") * size[0] * size[1], size[0] * size[1]
    for kind, of in about.items():
        content = documents.build(of, kind, number=1, by=line.technician(), at=AT)
        paper = printed(job, content, tmp_path, pdftotext)
        text = plain(paper.text)
        every_page_has_the_code_and_its_number(paper)
        assert set(paper.scanned) == {of.code}
        assert container.code in text
        assert ("UN3480" in text) or ("UN3481" in text), "alone, or in its device"
        if kind is DocumentKind.DISPOSAL_NOTE:
            assert (f"{wh:.2f} Wh" in text) or (f"{wh / 1000:.2f} kWh" in text), wh
            assert re.search(rf"\b{cells}\b", text)


def printed(job: models.Job, content: dict[str, Any], folder: Path, pdftotext: str) -> Printed:
    pdf, path = printing.pdf(content), folder / "paper"
    path.with_suffix(".pdf").write_bytes(pdf)
    run = subprocess.run([pdftotext, "-layout", f"{path}.pdf", "-"], capture_output=True, check=True, text=True)
    first = ["-f", "1", "-l", "1", "-singlefile", "-r", "110", "-gray"]
    subprocess.run(["pdftoppm", *first, f"{path}.pdf", str(path)], check=True)
    codes = [
        position.cell.code for position in models.PlanPosition.objects.filter(plan__job=job).select_related("cell")
    ]
    return Printed(codes, content, pdf, run.stdout, read(Image.open(f"{path}.pgm")))


def read(picture: Image.Image) -> list[str]:
    import zxingcpp

    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


def plain(text: str) -> str:
    return " ".join(text.split())


def ratings_are_those_of_the_cells(size: tuple[int, int], paper: Printed) -> None:
    """2.6 Ah and 3.6 V a cell, worked out by hand: series times volts, parallel times ampere hours, their product."""
    (series, parallel), text = size, plain(paper.text)
    volts, amperes = Decimal("3.6") * series, Decimal("2.6") * parallel
    energy = volts * amperes
    assert f"{volts:.2f} V" in text
    assert (f"{energy:.2f} Wh" in text) or (f"{energy / 1000:.2f} kWh" in text), energy
    assert f"{series}s{parallel}p" in text


def every_page_has_the_code_and_its_number(paper: Printed) -> None:
    text, pages = plain(paper.text), len(pypdf.PdfReader(BytesIO(paper.pdf)).pages)
    assert text.count(f"Code {check_code(content_hash(paper.content))}") == pages
    assert re.findall(r"Page (\d+) of (\d+)", text) == [(str(page), str(pages)) for page in range(1, pages + 1)]


def the_card_names_every_cell_and_keeps_short(size: tuple[int, int], paper: Printed) -> None:
    assert len(paper.codes) == size[0] * size[1]
    assert [code for code in paper.codes if code not in paper.text] == []
    assert len(pypdf.PdfReader(BytesIO(paper.pdf)).pages) <= PAGES[size]
    for group in range(1, size[0] + 1):
        assert re.search(rf"\bgroup {group}\b|\b{group} [+−] up", paper.text), group
    if size == (14, 80):
        # 80 cells of a group stand as they lie: rows of 8, place by place down the columns, ten to each
        first = next(row for row in paper.text.splitlines() if "B2614-0001" in row)
        assert first.split() == [f"B2614-{number:04d}" for number in range(1, 80, 10)]


def measured_stands_beside_expected(size: tuple[int, int], paper: Printed) -> None:
    """Each cell gave 2550 mAh, so a group of p gives p times that; the test of the pack found 20 mAh less."""
    text = plain(paper.text)
    expected, gave = packed.CAPACITY_MAH * size[1], packed.CAPACITY_MAH * size[1] - 20
    for mah in (expected, gave):
        assert (f"{mah} mAh" in text) or (f"{mah / 1000:.2f} Ah" in text), mah
    for words in (
        "As found",
        "As left",
        "in 19 cases of 20",
        "Charge at hand-over",
        "is not restored",
        "Stop using it",
    ):
        assert words in text, words
    assert f"{size[0]}s{size[1]}p, {size[0] * size[1]} × Round 2.6" in text
