"""How entries are chained: each carries the hash of the one before it and of its own content.

Plain Python, so that models, migrations and the audit reckon alike. A canonical form is the same on every database:
keys in order, numbers without their spelling (PostgreSQL keeps 1e2 as 100), moments in UTC. SHA-256 is FIPS 180-4.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

CONTENT = {
    "shop_movement": ("cell_id", "item_id", "from_place", "to_place", "job_id", "container_id", "at", "by_id", "note"),
    "shop_logentry": ("job_id", "at", "by_id", "verb", "facts"),
}
"""What of an entry is hashed, by table: everything but its key, its number and its hash."""

FIRST = "0" * 64
"""What stands before the first entry."""


def link(before: str, number: int, content: Mapping[str, Any]) -> str:
    """Return the hash of an entry that follows another one."""
    text = json.dumps([before, number, _canonical(content)], ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def content(table: str, row: object) -> dict[str, Any]:
    """Return what of a row is hashed."""
    return {name: getattr(row, name) for name in CONTENT[table]}


def links(before: str, number: int, contents: Iterable[Mapping[str, Any]]) -> list[tuple[int, str]]:
    """Return numbers and hashes of entries that follow an entry, one after another."""
    chained = []
    for each in contents:
        number, before = number + 1, link(before, number + 1, each)
        chained.append((number, before))
    return chained


def _canonical(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _canonical(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_canonical(each) for each in value]
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return str.__str__(value)  # of a term its value, as it is stored
    if isinstance(value, int | float | Decimal):
        return {"number": _number(value)}
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    return value.isoformat() if isinstance(value, date) else str(value)


def _number(value: int | float | Decimal) -> str:
    exact = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if not exact:
        return "0"
    text = format(exact, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
