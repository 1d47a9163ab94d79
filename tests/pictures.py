"""Photographs made for tests: four coloured corners, so that which way is up can be seen."""

from collections.abc import Callable
from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

from shop.bridge import pictures  # noqa: F401 - HEIC can be written once it is registered

RED, GREEN, BLUE, WHITE = (220, 30, 30), (30, 200, 30), (30, 30, 220), (240, 240, 240)
CORNERS = (RED, GREEN, BLUE, WHITE)
"""Top left, top right, bottom left, bottom right of the scene."""

TOLD = "Mill Lane 4"
"""What a camera wrote beside the picture, and nobody may find in what is kept."""


def scene(width: int = 160, height: int = 96) -> Image.Image:
    image = Image.new("RGB", (width, height))
    half = (width // 2, height // 2)
    for number, colour in enumerate(CORNERS):
        image.paste(colour, (half[0] * (number % 2), half[1] * (number // 2), width, height))
    return image


def written(image: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    out = BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


@cache
def photograph(kind: str = "JPEG", shade: int = 0) -> bytes:
    """A small photograph, one per shade."""
    image = scene()
    image.paste((shade, shade, shade), (70, 40, 90, 60))
    return written(image, kind)


def with_everything_a_camera_writes() -> bytes:
    """Owner, place, a comment and a description packet, each naming where it was taken."""
    exif = Image.Exif()
    exif[Base.Artist] = exif[Base.ImageDescription] = TOLD
    exif[Base.Orientation] = 1
    exif.get_ifd(IFD.GPSInfo).update({GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: (48.0, 12.0, 5.0)})
    return written(scene(), "JPEG", exif=exif, comment=TOLD.encode(), xmp=f"<x>{TOLD}</x>".encode())


# Exif 2.3, tag 274 (from memory): how the stored rows and columns lie in the scene, undone by these turns.
STORED: dict[int, Callable[[Image.Image], Image.Image]] = {
    1: lambda image: image,
    3: lambda image: image.transpose(Image.Transpose.ROTATE_180),
    6: lambda image: image.transpose(Image.Transpose.ROTATE_90),
    8: lambda image: image.transpose(Image.Transpose.ROTATE_270),
}


def turned(orientation: int, kind: str = "JPEG") -> bytes:
    """The scene as a camera held another way stores it, with the note that says how."""
    exif = Image.Exif()
    exif[Base.Orientation] = orientation
    stored = STORED[orientation](scene())
    stored.info["exif"] = (
        exif.tobytes()
    )  # of a HEIC file the turn is a property of its own, ISO/IEC 23008-12 (from memory)
    return written(stored, kind, **{} if kind == "HEIF" else {"exif": exif})
