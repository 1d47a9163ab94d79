"""What a disk that takes nothing more looks like from here, and what to say of it."""

import errno
from dataclasses import dataclass

from django.db import DatabaseError


@dataclass(frozen=True)
class Trouble:
    """What is wrong with the disk, in words for the person at the screen."""

    code: str
    heading: str
    what: str
    do: str


FULL = Trouble(
    "disk_full", "The disk is full", "The disk of the machine that serves the shop takes nothing more.",
    "free some room on its disk, then look with `manage.py audit`.",
)  # fmt: skip
CLOSED = Trouble(
    "disk_closed", "The disk cannot be written", "The machine that serves the shop cannot write to its disk.",
    "see whether the disk is damaged, was taken away or may only be read, then look with `manage.py audit`.",
)  # fmt: skip

_WORDS = {
    "database or disk is full": FULL,
    "no space left on device": FULL,
    "disk full": FULL,
    "disk i/o error": CLOSED,
    "attempt to write a readonly database": CLOSED,
    "unable to open database file": CLOSED,
    "read-only file system": CLOSED,
    "read-only transaction": CLOSED,
}
"""What SQLite and PostgreSQL say, and so the driver's error: it has no other mark that both share."""
_NUMBERS = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EFBIG: FULL, errno.EROFS: CLOSED}


def trouble(error: BaseException | None) -> Trouble | None:
    """Return what an error says of the disk, or None where it comes from elsewhere."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in _NUMBERS:
            return _NUMBERS[error.errno]
        if isinstance(error, DatabaseError):
            said = str(error).lower()
            if found := next((known for words, known in _WORDS.items() if words in said), None):
                return found
        error = error.__cause__ or error.__context__
    return None
