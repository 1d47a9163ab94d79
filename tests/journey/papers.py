"""What a stored PDF says, read by a program that knows nothing of the shop."""

import hashlib
import re
import subprocess

from tests.journey.bench import Bench, plain


def text_of(pdf: bytes, pdftotext: str) -> str:
    """Return the text of a PDF with one plain space wherever there was any white space."""
    read = subprocess.run([pdftotext, "-layout", "-", "-"], input=pdf, capture_output=True, check=True)
    return plain(read.stdout.decode("utf-8"))


def stored_pdf(bench: Bench, code: str) -> bytes:
    """Return the PDF that the document's page names; it is the one whose hash the page shows."""
    bench.go(f"/documents/{code}/")
    shown = re.search(r"SHA-256 of the PDF: ([0-9a-f]{64})", bench.text)
    assert shown, bench.text
    address = bench.page.get_by_role("link", name="Open the PDF").get_attribute("href")
    answer = bench.page.request.get(f"{bench.url}{address}")
    assert (answer.status, answer.headers["content-type"]) == (200, "application/pdf")
    assert hashlib.sha256(answer.body()).hexdigest() == shown[1]
    return answer.body()


def paper_says(bench: Bench, code: str, pdftotext: str, *sentences: str) -> None:
    """Every sentence stands in the stored PDF."""
    text = text_of(stored_pdf(bench, code), pdftotext)
    for sentence in sentences:
        assert sentence in text, f"{sentence!r} is not in {code}: {text}"
