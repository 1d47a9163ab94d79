"""Files that the shop keeps beside its database, each under the SHA-256 of its bytes."""

import hashlib
import os
import tempfile
from enum import StrEnum
from pathlib import Path

from django.conf import settings

from shop.errors import ShopError
from shop.models import CellPreparation, LotCheck, Photograph, TraceFile

PRINTED = (LotCheck, CellPreparation)
"""What photographs of prints belong to."""


class Folder(StrEnum):
    """Where files lie in the shop's data folder; a backup takes all of them."""

    PHOTOGRAPHS = "photographs"
    PRINTS = "prints"
    TRACES = "traces"
    WAITING = "waiting"


def path_of(folder: Folder, sha256: str, ending: str) -> Path:
    """Return where the bytes with this hash lie."""
    return Path(settings.DATA_DIR) / folder / sha256[:2] / f"{sha256}.{ending}"


def named() -> set[Path]:
    """Return every file that the book names: photographs that are shown, prints, and tester files as they came."""
    shown = Photograph.objects.standing().values_list("sha256", flat=True)
    prints = [model.objects.exclude(picture_sha256="").values_list("picture_sha256", flat=True) for model in PRINTED]
    return {
        *(path_of(Folder.PHOTOGRAPHS, sha256, "jpg") for sha256 in shown),
        *(path_of(Folder.PRINTS, sha256, "jpg") for hashes in prints for sha256 in hashes),
        *(path_of(Folder.TRACES, sha256, "original") for sha256 in TraceFile.objects.values_list("sha256", flat=True)),
    }


def put(path: Path, content: bytes) -> None:
    """Write a file under its hash so that it is whole or not there; once there it stays as it is."""
    if path.exists():
        return
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    Path(name).replace(path)


def read(path: Path, sha256: str, *, name: str) -> bytes:
    """Return the bytes of a kept file; refuse where they are gone or not the ones that came."""
    try:
        content = path.read_bytes()
    except FileNotFoundError as missing:
        raise ShopError("bytes_missing", f"The bytes of {name} are not in the shop's data folder.") from missing
    if hashlib.sha256(content).hexdigest() != sha256:
        raise ShopError("bytes_changed", f"The stored bytes of {name} are not the ones that came.")
    return content
