"""Photographs as they come from a telephone or camera, made into pictures the shop keeps: upright, smaller, and silent.

Only the picture itself goes on: what the camera wrote beside it (place, time, owner, a preview of its own) stays behind.
"""

import hashlib
import struct
import zlib
from dataclasses import dataclass
from io import BytesIO
from threading import Lock

from PIL import Image, ImageCms, ImageFile, ImageOps
from pillow_heif import register_heif_opener

from packs.errors import ImpossibleValue

register_heif_opener()

FORMATS = ("JPEG", "PNG", "HEIF")
LONGEST_PX = 2048
"""A nameplate that fills a quarter of the picture can still be read; common practice, no source."""

MOST_PIXELS = 64_000_000
"""Cameras of telephones give up to 50 million; what claims more is taken for a trap (common practice, no source)."""

QUALITY = 85
WHITE = (255, 255, 255)
UNREADABLE = (OSError, SyntaxError, ValueError, RuntimeError, EOFError, KeyError, IndexError, struct.error, zlib.error)
"""What the decoders raise on a file that is cut short or was tampered with."""


class _Whole:
    """Refuses pictures that are cut short: the library that lays out papers lets them through everywhere else."""

    def __init__(self) -> None:
        self._one_at_a_time = Lock()

    def __enter__(self) -> None:
        self._one_at_a_time.acquire()
        self._before = ImageFile.LOAD_TRUNCATED_IMAGES
        ImageFile.LOAD_TRUNCATED_IMAGES = False

    def __exit__(self, *error: object) -> None:
        ImageFile.LOAD_TRUNCATED_IMAGES = self._before
        self._one_at_a_time.release()


WHOLE = _Whole()


@dataclass(frozen=True)
class Picture:
    """A picture as it is kept: a JPEG without anything beside the picture, and its size."""

    content: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """Hash of the bytes, under which they are kept."""
        return hashlib.sha256(self.content).hexdigest()


def develop(content: bytes) -> Picture:
    """Return the picture of a JPEG, PNG or HEIC file as the shop keeps it.

    Raises
    ------
    packs.errors.ImpossibleValue
        It is none of them, larger than any photograph, or cut short.
    """
    image = _opened(content)
    try:
        if image.format != "HEIF":
            image.draft("RGB", (LONGEST_PX, LONGEST_PX))
        with WHOLE:
            image.load()
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.LANCZOS)
        bare = _bare(upright)
    except UNREADABLE as error:
        raise ImpossibleValue("This photograph is cut short or damaged. Send it again, or take it anew.") from error
    written = BytesIO()
    bare.save(written, "JPEG", quality=QUALITY, optimize=True)
    return Picture(written.getvalue(), *bare.size)


def _opened(content: bytes) -> Image.Image:
    try:
        image = Image.open(BytesIO(content), formats=FORMATS)
    except Image.DecompressionBombError as error:
        raise ImpossibleValue(_too_many()) from error
    except UNREADABLE as error:
        raise ImpossibleValue("This is no photograph that can be read: JPEG, PNG and HEIC come in here.") from error
    if image.width * image.height > MOST_PIXELS:
        raise ImpossibleValue(_too_many())
    return image


def _too_many() -> str:
    return f"Photographs of up to {MOST_PIXELS // 10**6} million pixels come in here."


def _bare(image: Image.Image) -> Image.Image:
    """Return the pixels alone in standard colours, on white where the picture lets through; nothing else goes along."""
    if image.mode.startswith("I;16"):
        image = image.point(lambda value: value / 256).convert("L")
    seen = _in_standard_colours(image)
    bare = Image.new("RGB", seen.size, WHITE)
    if seen.has_transparency_data:
        see_through = seen.convert("RGBA")
        bare.paste(see_through, mask=see_through.getchannel("A"))
    else:
        bare.paste(seen.convert("RGB"))
    return bare


def _in_standard_colours(image: Image.Image) -> Image.Image:
    """Return the picture in the colours every screen takes a picture without a profile for."""
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "CMYK"):
        return image
    try:
        found = ImageCms.ImageCmsProfile(BytesIO(profile))
        turned = ImageCms.profileToProfile(image, found, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError):
        return image
    return turned if turned is not None else image
