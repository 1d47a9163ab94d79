"""How a cell model, a lot or a meter came to say what it says: every correction with what stood there before."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import models

from packs.units import Kind
from shop.bridge.possible import STATED
from shop.models import LogEntry
from shop.operations.amending import CORRECTED


@dataclass(frozen=True)
class Correction:
    """What somebody put right at once, in sentences such as "Charge limit: 4.200 V, was 4.300 V"."""

    what: list[str]
    by: str
    at: datetime


def corrections(what: str, row: models.Model, *, locale: str = "en") -> list[Correction]:
    """Return the corrections of a row, newest first, with what else was said of it."""
    verbs = [f"{what} {CORRECTED}", f"{what} barred", f"{what} allowed"]
    entries = LogEntry.objects.filter(verb__in=verbs, facts__pk=row.pk).select_related("by").order_by("-pk")
    return [Correction(_told(entry, row, locale), str(entry.by), entry.at) for entry in entries]


def _told(entry: LogEntry, row: models.Model, locale: str) -> list[str]:
    if entry.verb.endswith("barred"):
        return [f"Barred from new use: {entry.facts['reason']}"]
    if entry.verb.endswith("allowed"):
        return ["In use again"]
    changed: dict[str, list[str | None]] = entry.facts["changed"]
    return [
        f"{_label(row, name)}: {shown(row, name, after, locale=locale)}, was {shown(row, name, before, locale=locale)}"
        for name, (before, after) in changed.items()
    ]


def _label(row: models.Model, name: str) -> str:
    named = str(_field(row, name).verbose_name).removesuffix(" um").removesuffix(" mv").removesuffix(" mah")
    for unit in (" ma", " mg", " mnm", " ppm", " uv"):
        named = named.removesuffix(unit)
    return named[0].upper() + named[1:]


def shown(row: models.Model, name: str, value: Any, *, locale: str = "en") -> str:
    """Return a column's value in words, with its unit where it has one."""
    if value is None or value == "":
        return "not known"
    bound = STATED.get(name)
    if bound is not None and bound.kind is not Kind.COUNT:
        return bound.shown(Decimal(value), locale=locale)
    words = dict(getattr(_field(row, name), "flatchoices", ()))
    return str(words.get(value, value))


def _field(row: models.Model, name: str) -> Any:
    return row._meta.get_field(name)  # noqa: SLF001 - Django's public name for it
