"""Labels for cells: what a barcode library reads back from the rendered sheet is what was asked for.

The reader is zxing-cpp, which shares nothing with the library that makes the codes.
"""

import subprocess
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from shop import labels
from shop.errors import ShopError
from shop.labels import SHEETS, Label

DPI = 200
"""A common label printer's (common practice, no source)."""


def rendered(made: bytes, folder: Path) -> list[Image.Image]:
    (folder / "labels.pdf").write_bytes(made)
    command = ["pdftoppm", "-r", str(DPI), "-gray", str(folder / "labels.pdf"), str(folder / "page")]
    subprocess.run(command, check=True)
    return [Image.open(path) for path in sorted(folder.glob("page*"))]


def read(picture: Image.Image) -> list[str]:
    import zxingcpp

    return sorted(found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode))


def cells(count: int) -> list[Label]:
    return [Label(f"B2611-{number:03d}", ("LH-18 2600", "lot B2611")) for number in range(1, count + 1)]


@pytest.mark.parametrize("name", list(SHEETS))
def test_every_code_of_a_full_sheet_and_one_more_is_read_back(name: str, tmp_path: Path) -> None:
    some = cells(SHEETS[name].on_a_page + 1)
    first, second = rendered(labels.pdf(some, SHEETS[name]), tmp_path)
    assert read(first) == [label.code for label in some[:-1]]
    assert read(second) == [some[-1].code]


@pytest.mark.parametrize("size", [(25.0, 12.0), (57.0, 32.0), (20.0, 30.0)])
def test_a_roll_has_a_label_a_page_of_its_own_size(size: tuple[float, float], tmp_path: Path) -> None:
    made = labels.pdf(cells(3), labels.roll(*size))
    pages = PdfReader(tmp_path / "labels.pdf").pages if rendered(made, tmp_path) else []
    assert [[round(float(side) * 25.4 / 72, 1) for side in page.mediabox[2:]] for page in pages] == [list(size)] * 3
    assert [read(picture) for picture in rendered(made, tmp_path)] == [["B2611-001"], ["B2611-002"], ["B2611-003"]]


@pytest.mark.parametrize("code", ["x", "A" * 40, "donor 7/3 äöüß #2", "100 % & <b>"])
def test_codes_of_any_kind_are_read_back_and_stand_there_whole(code: str, tmp_path: Path) -> None:
    for name in ("a4_65", "letter_80"):
        (picture,) = rendered(labels.pdf([Label(code)], SHEETS[name]), tmp_path)
        assert read(picture) == [code]
        written = PdfReader(tmp_path / "labels.pdf").pages[0].extract_text().replace("\n", "")
        assert written == code


def test_a_begun_sheet_is_gone_on_with(tmp_path: Path) -> None:
    """Of 65 labels 63 are gone: two go on the first page, the third begins the next one."""
    pages = rendered(labels.pdf(cells(3), SHEETS["a4_65"], first=64), tmp_path)
    assert [read(picture) for picture in pages] == [["B2611-001", "B2611-002"], ["B2611-003"]]
    upper, left = pages[0].crop((0, 0, pages[0].width, pages[0].height - 250)), 3 * pages[0].width // 5
    assert read(upper) == []
    assert read(pages[0].crop((0, 0, left, pages[0].height))) == []


def test_the_same_labels_are_the_same_bytes() -> None:
    assert labels.pdf(cells(70), SHEETS["a4_65"]) == labels.pdf(cells(70), SHEETS["a4_65"])


def test_a_code_that_the_font_cannot_write_is_refused_and_named() -> None:
    with pytest.raises(ShopError, match=r"10号.*: 号") as refusal:
        labels.pdf([Label("10号")], SHEETS["a4_65"])
    assert (refusal.value.code, refusal.value.field) == ("no_letters", "codes")


def test_nothing_reaches_over_the_edge_of_its_label(tmp_path: Path) -> None:
    """Labels that touch each other are printed beside blank ones: in those nothing is dark."""
    sheet = SHEETS["a4_24"]
    (picture,) = rendered(
        labels.pdf([Label("W" * 40, ("a long name of a cell model " * 4,))], sheet, first=2), tmp_path
    )
    wide = round(sheet.size[0] / 25.4 * DPI)
    assert min(picture.crop((0, 0, wide, picture.height)).tobytes()) == 255
    assert min(picture.crop((2 * wide + 1, 0, picture.width, picture.height)).tobytes()) == 255
