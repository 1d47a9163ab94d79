"""What a paper's file claims of itself, checked as far as we know the standard: PDF/A-2u, and tags.

ISO 19005-2 from memory; no validator was asked, so PDF/UA is not claimed, though the file is tagged.
"""

from io import BytesIO
from typing import Any

import pypdf
import pytest
from pypdf.generic import DictionaryObject

from packs.documents import freeze
from shop import printing

from . import papers

pytestmark = pytest.mark.usefixtures("pango")


@pytest.fixture(scope="module", params=["job card", "pack label"])
def read(request: pytest.FixtureRequest) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(printing.pdf(freeze(papers.ALL[request.param]()))))


def objects(read: pypdf.PdfReader) -> list[Any]:
    return [read.get_object(number) for number in range(1, read.trailer["/Size"])]


def named(read: pypdf.PdfReader, key: str, value: str) -> list[Any]:
    return [one for one in objects(read) if isinstance(one, DictionaryObject) and one.get(key) == value]


def test_it_says_what_it_is(read: pypdf.PdfReader) -> None:
    said = read.trailer["/Root"]["/Metadata"].get_data().decode()
    assert 'pdfaid:part="2" pdfaid:conformance="U"' in said
    assert "pdfuaid" not in said, "PDF/UA was not checked"


def test_every_font_is_within_and_says_its_characters(read: pypdf.PdfReader) -> None:
    """ISO 19005-2, 6.2.11.4 (embedding) and 6.2.11.7 (Unicode)."""
    assert named(read, "/Type", "/Font")
    for font in named(read, "/Subtype", "/Type0"):
        assert "/ToUnicode" in font
        described = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert "/FontFile2" in described or "/FontFile3" in described


def test_colours_have_a_profile(read: pypdf.PdfReader) -> None:
    """ISO 19005-2, 6.2.3: an output intent with an embedded profile."""
    (intent,) = read.trailer["/Root"]["/OutputIntents"]
    assert intent["/S"] == "/GTS_PDFA1"
    assert len(intent["/DestOutputProfile"].get_data()) > 1000


def test_nothing_is_hidden_run_or_fetched(read: pypdf.PdfReader) -> None:
    """ISO 19005-2, 6.1.3 (no encryption, an ID), 6.5 and 6.6 (no actions, no scripts)."""
    assert not read.is_encrypted
    assert len(read.trailer["/ID"]) == 2
    for name in ("/JavaScript", "/Launch", "/EmbeddedFile", "/URI", "/Movie", "/Sound"):
        assert named(read, "/S", name) == []
        assert named(read, "/Type", name) == []
    assert "/OpenAction" not in read.trailer["/Root"]
    assert "/AA" not in read.trailer["/Root"]


def test_it_is_tagged_in_its_language_with_words_for_its_pictures(read: pypdf.PdfReader) -> None:
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert read.metadata is not None
    assert read.metadata.title
    figures = named(read, "/S", "/Figure")
    assert figures
    assert all(figure["/Alt"] for figure in figures)
    tags = {one["/S"] for one in objects(read) if isinstance(one, DictionaryObject) and "/S" in one}
    assert {"/H1", "/H2", "/P"} <= tags
