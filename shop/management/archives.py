"""One file that holds a whole shop: its database, its stored files, and a list with the hash of each of them."""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import IO, Any

from django.core.management import CommandError

from shop.operations.files import Folder

MANIFEST = "manifest.json"
FORM = 1
"""Of the archive; a later one that is read differently counts on."""
FOLDERS = frozenset({"uploads", *Folder})
"""Of the shop's data folder, whose files come with the database."""
_CHUNK = 1024**2
_UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, KeyError, ValueError, TypeError, NotImplementedError)


@dataclass
class Manifest:
    """What an archive says of itself. ``heads`` and ``differences`` are the audit of the very copy that it holds."""

    vendor: str
    made_at: str
    database: str
    migrations: list[str]
    heads: list[str]
    differences: list[str]
    form: int = FORM
    sha256: dict[str, str] = field(default_factory=dict)


def write(target: Path, manifest: Manifest, files: dict[str, Path]) -> None:
    """Write an archive; it has its name only once it is whole and on the disk."""
    unfinished = target.with_name(target.name + ".part")
    try:
        with _private(unfinished) as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
                for name, path in files.items():
                    with path.open("rb") as source, archive.open(name, "w", force_zip64=True) as sink:
                        manifest.sha256[name] = _copy(source, sink)
                archive.writestr(MANIFEST, json.dumps(asdict(manifest), indent=1))
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)


@contextmanager
def opened(path: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest]]:
    """Open an archive whose every file is what its manifest says."""
    try:
        archive = zipfile.ZipFile(path)
    except FileNotFoundError as error:
        raise CommandError(f"There is no file {path}.") from error
    except zipfile.BadZipFile as error:
        raise _damaged(path, error) from error
    with archive:
        try:
            manifest = _manifest(archive)
            _check(archive, manifest)
        except _UNREADABLE as error:
            raise _damaged(path, error) from error
        yield archive, manifest


def _damaged(path: Path, error: Exception) -> CommandError:
    return CommandError(f"{path} is damaged or no backup of a shop ({error}). Nothing was changed.")


def extract(archive: zipfile.ZipFile, name: str, target: Path) -> None:
    """Write one file of an archive to a place of its own, for its owner alone."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with archive.open(name) as source, _private(target) as sink:
        _copy(source, sink)
        sink.flush()
        os.fsync(sink.fileno())


def _private(path: Path) -> IO[bytes]:
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb")


def stored_files(archive: zipfile.ZipFile) -> list[str]:
    """Return the names of stored files."""
    return [name for name in archive.namelist() if Path(name).parts[0] in FOLDERS]


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    said: dict[str, Any] = json.loads(archive.read(MANIFEST))
    if said.get("form") != FORM:
        raise ValueError(f"form {said.get('form')} where {FORM} is known")
    return Manifest(**said)


def _check(archive: zipfile.ZipFile, manifest: Manifest) -> None:
    names = sorted(set(archive.namelist()) - {MANIFEST})
    if names != sorted(manifest.sha256) or manifest.database not in names:
        raise ValueError("its files are not the ones it lists")
    for name in names:
        if ".." in Path(name).parts or (name != manifest.database and Path(name).parts[0] not in FOLDERS):
            raise ValueError("a file outside of its folder")
        with archive.open(name) as source:
            if _copy(source, None) != manifest.sha256[name]:
                raise ValueError(f"{name} is not what was stored")


def _copy(source: IO[bytes], sink: IO[bytes] | None) -> str:
    """Copy what a file holds, if there is somewhere to copy it to, and return its hash."""
    digest = hashlib.sha256()
    while chunk := source.read(_CHUNK):
        digest.update(chunk)
        if sink is not None:
            sink.write(chunk)
    return digest.hexdigest()
