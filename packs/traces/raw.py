"""The bytes of a file: kept as they are, hashed, unpacked, and told apart by what they begin with."""

import hashlib
import mmap
import zlib
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from enum import StrEnum
from io import BufferedIOBase
from pathlib import Path
from typing import TypeAlias

import numpy as np

from packs.traces.problems import Problem, TraceRefused

Source: TypeAlias = "Path | bytes | BufferedIOBase"
Buffer: TypeAlias = "bytes | mmap.mmap"

LARGEST_UNPACKED = 2 * 1024**3
CHUNK = 1 << 20
_ENCODING_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


class FileKind(StrEnum):
    """How the table is packed."""

    TEXT = "text"
    PARQUET = "parquet"
    WORKBOOK = "workbook"


@dataclass(frozen=True)
class Raw:
    """An opened file.

    Attributes
    ----------
    content : bytes or mmap
        What is read: the file itself, or what was unpacked from it.
    hashing : Future of str
        SHA-256 of the file as it came, packed or not; it is worked out beside the reading.
    size : int
        Bytes of the file as it came.
    path : Path or None
        Where the content can be read from disk; ``None`` when it was handed over or unpacked.
    """

    content: Buffer
    kind: FileKind
    hashing: Future[str]
    size: int
    path: Path | None = None

    @property
    def sha256(self) -> str:
        """SHA-256 of the file as it came."""
        return self.hashing.result()


def open_raw(source: Source, *, largest: int = LARGEST_UNPACKED) -> Raw:
    """Open, hash and unpack a file.

    Parameters
    ----------
    source : Path, bytes or binary file object
        A path is mapped into memory, not copied.
    largest : int
        Most bytes a compressed file may unpack to.

    Raises
    ------
    TraceRefused
        It is empty, damaged, of no kind that is read, or unpacks to too much.
    """
    content, path = _content(source)
    if len(content) == 0:
        raise TraceRefused(Problem.EMPTY_FILE)
    hashing, size = _hashing(content), len(content)
    if content[:2] == b"\x1f\x8b":
        content, path = _gunzip(content, largest), None
    return Raw(content, _kind(content), hashing, size, path)


def _hashing(content: Buffer) -> Future[str]:
    """Hash in a thread of its own: hashing a large file takes as long as a fifth of reading it, and needs no lock."""
    beside = ThreadPoolExecutor(1)
    hashing = beside.submit(lambda: hashlib.sha256(content).hexdigest())
    beside.shutdown(wait=False)
    return hashing


def _content(source: Source) -> tuple[Buffer, Path | None]:
    if isinstance(source, bytes):
        return source, None
    if not isinstance(source, Path):
        return source.read(), None
    with source.open("rb") as file:
        if source.stat().st_size == 0:
            return b"", None
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ), source


def _gunzip(content: Buffer, largest: int) -> bytes:
    """Unpack every member of a gzip file, stopping at ``largest`` bytes."""
    parts, total, rest = [], 0, bytes(content)
    while rest[:2] == b"\x1f\x8b":
        unpacker = zlib.decompressobj(wbits=31)
        try:
            part = unpacker.decompress(rest, largest - total + 1)
        except zlib.error as error:
            raise TraceRefused(Problem.GZIP_BROKEN, str(error)) from error
        total += len(part)
        if total > largest:
            raise TraceRefused(Problem.UNPACKED_TOO_LARGE, f"more than {largest} bytes")
        if not unpacker.eof:
            raise TraceRefused(Problem.GZIP_BROKEN, "it ends before its end mark")
        parts.append(part)
        rest = unpacker.unused_data
    if not total:
        raise TraceRefused(Problem.EMPTY_FILE, "nothing is packed in it")
    return b"".join(parts)


def _kind(content: Buffer) -> FileKind:
    start = content[:4]
    if start == b"PAR1":
        return FileKind.PARQUET
    if start == b"PK\x03\x04":
        return FileKind.WORKBOOK
    head = content[:4096]
    if any(head.startswith(mark) for mark, _ in _ENCODING_MARKS):
        return FileKind.TEXT
    if b"\x00" in head or start == b"%PDF" or _control_bytes(head) > 0.02:
        raise TraceRefused(Problem.NOT_TEXT)
    return FileKind.TEXT


def _control_bytes(head: bytes) -> float:
    values = np.frombuffer(head, dtype=np.uint8)
    return float(np.mean((values < 32) & ~np.isin(values, (9, 10, 13, 12, 27))))


def encoding_of(content: Buffer) -> str:
    """Find the encoding by its mark, else UTF-8 where the text is that, else the western single-byte one."""
    for mark, name in _ENCODING_MARKS:
        if content[: len(mark)] == mark:
            return name
    head = content[: 1 << 18]
    try:
        # A character cut in two at the end of the sample is no reason to take it for another encoding.
        head[: head.rfind(b"\n") + 1 or len(head)].decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def delimiters(content: Buffer, start: int, delimiter: str) -> int:
    """Count delimiters from some place on, in pieces that stay in the cache."""
    values, mark = np.frombuffer(content, dtype=np.uint8), ord(delimiter)
    pieces = (values[place : place + CHUNK] for place in range(start, len(values), CHUNK))
    return sum(int(np.count_nonzero(piece == mark)) for piece in pieces)
