"""Uploaded tables, kept beside the database until they are imported.

A table goes through several pages before it comes in. It waits as a file named by its own hash: the address of the
next page names that hash, so going back, loading again and two people with the same file all find the same table.
A hidden field would have to carry it through every request, past the limit for what a form may bring.
"""

import hashlib
import re
from datetime import timedelta

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

FOLDER = "tables"
WAITS = timedelta(days=7)
_HASH = re.compile(r"[0-9a-f]{64}")


def keep(data: bytes) -> str:
    """Keep a table and return its name; tables that waited too long make room."""
    _sweep()
    name = hashlib.sha256(data).hexdigest()
    if not default_storage.exists(_path(name)):
        default_storage.save(_path(name), ContentFile(data))
    return name


def kept(name: str) -> bytes | None:
    """Return a kept table by its name, or None where there is none."""
    if not _HASH.fullmatch(name) or not default_storage.exists(_path(name)):
        return None
    with default_storage.open(_path(name)) as file:
        data: bytes = file.read()
    return data


def _path(name: str) -> str:
    return f"{FOLDER}/{name}"


def _sweep() -> None:
    if not default_storage.exists(FOLDER):
        return
    oldest = timezone.now() - WAITS
    for name in default_storage.listdir(FOLDER)[1]:
        if default_storage.get_modified_time(_path(name)) < oldest:
            default_storage.delete(_path(name))
