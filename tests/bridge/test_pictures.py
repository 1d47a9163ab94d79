"""What is kept of a photograph: the picture alone, upright and of bounded size; the pictures are invented."""

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image, ImageFile

from packs.errors import ImpossibleValue
from shop.bridge import pictures
from tests.pictures import CORNERS, STORED, TOLD, photograph, scene, turned, with_everything_a_camera_writes, written


def seen(picture: pictures.Picture) -> Image.Image:
    return Image.open(BytesIO(picture.content))


def corners(image: Image.Image) -> list[tuple[int, ...]]:
    right, bottom = image.width - 5, image.height - 5
    return [image.getpixel(spot) for spot in ((4, 4), (right, 4), (4, bottom), (right, bottom))]


def alike(found: list[tuple[int, ...]], wanted: tuple[tuple[int, ...], ...] = CORNERS) -> bool:
    return all(
        abs(a - b) < 24 for one, other in zip(found, wanted, strict=True) for a, b in zip(one, other, strict=True)
    )


def markers(jpeg: bytes) -> list[int]:
    """The segments before the picture's own data, read by hand: ITU-T T.81, annex B."""
    at, found = 2, []
    while jpeg[at] == 0xFF and jpeg[at + 1] != 0xDA:
        found.append(jpeg[at + 1])
        at += 2 + struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
    return found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_each_kind_comes_in_and_is_kept_as_one(kind: str) -> None:
    picture = pictures.develop(photograph(kind))
    image = seen(picture)
    assert (image.format, image.size, image.mode) == ("JPEG", (160, 96), "RGB")
    assert (picture.width, picture.height) == image.size
    assert alike(corners(image))


def test_a_camera_that_puts_a_second_picture_behind_the_first_is_read_by_its_first() -> None:
    """CIPA DC-007 (from memory): many telephones write a depth picture or another exposure behind the photograph."""
    second = Image.new("RGB", (160, 96), "black")
    given = written(scene(), "MPO", save_all=True, append_images=[second])
    assert Image.open(BytesIO(given)).format == "MPO"
    assert alike(corners(seen(pictures.develop(given))))


@pytest.mark.parametrize("kind", ["JPEG", "HEIF"])
@pytest.mark.parametrize("orientation", sorted(STORED))
def test_it_is_turned_upright(orientation: int, kind: str) -> None:
    given = turned(orientation, kind)
    if kind == "JPEG":
        assert (Image.open(BytesIO(given)).size == (160, 96)) is (orientation in (1, 3))
    else:
        assert (b"irot" in given) is (orientation != 1)
    image = seen(pictures.develop(given))
    assert image.size == (160, 96)
    assert alike(corners(image))


def test_nothing_but_the_picture_is_kept() -> None:
    """ITU-T T.81: application data is E1 to EF, a comment FE; E0 alone, the frame's own, may stay."""
    given = with_everything_a_camera_writes()
    assert given.count(TOLD.encode()) == 4
    assert {0xE1, 0xFE} <= set(markers(given))
    kept = pictures.develop(given).content
    assert TOLD.encode() not in kept
    assert not [marker for marker in markers(kept) if marker == 0xFE or 0xE0 < marker <= 0xEF]
    assert not seen(pictures.develop(given)).getexif()


def test_a_large_one_is_made_smaller_and_a_small_one_stays() -> None:
    large = seen(pictures.develop(written(scene(4000, 3000))))
    assert large.size == (2048, 1536)
    assert alike(corners(large))
    assert pictures.develop(photograph()).width == 160


def test_what_lets_through_lies_on_white() -> None:
    image = scene().convert("RGBA")
    image.putalpha(0)
    assert alike(corners(seen(pictures.develop(written(image, "PNG")))), ((255, 255, 255),) * 4)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "CMYK", "I;16"])
def test_every_way_of_writing_colours_is_read(mode: str) -> None:
    grey = Image.new("I;16", (20, 20), 0x8080) if mode == "I;16" else scene().convert("L").convert(mode)
    picture = seen(pictures.develop(written(grey, "JPEG" if mode == "CMYK" else "PNG")))
    assert picture.mode == "RGB"
    if mode == "I;16":
        assert alike(corners(picture), ((0x80,) * 3,) * 4)


def claims(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is that large."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(8001, 8000), (30_000, 30_000), (2**31 - 1, 2**31 - 1)])
def test_more_pixels_than_a_camera_gives_are_not_unpacked(width: int, height: int) -> None:
    with pytest.raises(ImpossibleValue, match="up to 64 million pixels"):
        pictures.develop(claims(width, height))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.8])
@pytest.mark.parametrize("elsewhere", [False, True])
def test_one_that_is_cut_short_is_refused(
    kind: str, share: float, elsewhere: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where another library of the same process, as that of the papers, lets such pictures through."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", elsewhere)
    whole = photograph(kind)
    with pytest.raises(ImpossibleValue, match=r"cut short or damaged|no photograph that can be read"):
        pictures.develop(whole[: int(len(whole) * share)])
    assert ImageFile.LOAD_TRUNCATED_IMAGES is elsewhere


@pytest.mark.parametrize(
    "content", [b"", b"PK\x03\x04", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"\xff\xd8\xff", b"%PDF-1.7\n"]
)
def test_what_is_no_photograph_is_refused(content: bytes) -> None:
    with pytest.raises(ImpossibleValue, match="JPEG, PNG and HEIC come in here"):
        pictures.develop(content)


def test_another_kind_of_picture_is_refused() -> None:
    for kind in ("GIF", "TIFF", "BMP"):
        with pytest.raises(ImpossibleValue, match="JPEG, PNG and HEIC come in here"):
            pictures.develop(written(scene(), kind))


def test_the_same_photograph_gives_the_same_bytes() -> None:
    assert pictures.develop(photograph()).sha256 == pictures.develop(photograph()).sha256
    assert pictures.develop(photograph()).sha256 != pictures.develop(photograph(shade=200)).sha256
