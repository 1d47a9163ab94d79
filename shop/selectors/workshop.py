"""The workshop's settings as they came about."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.models import TesterToken, WorkshopSettings

SETTINGS = (
    "name",
    "address",
    "emergency_number",
    "jurisdiction",
    "currency",
    "time_zone",
    "paper",
    "number_locale",
    "reclaimed_in_mobility",
    "other_universal_waste_mg",
)


@dataclass(frozen=True)
class Change:
    """What somebody changed at once: sentences such as "Paper: A4, was Letter"."""

    what: list[str]
    by: str
    at: datetime


def changes(most: int = 20) -> list[Change]:
    """Return the changes of the settings, newest first; the first ones say that the shop was opened."""
    rows = list(WorkshopSettings.objects.select_related("by").order_by("-pk")[: most + 1])
    older: list[WorkshopSettings | None] = [*rows[1:], None]
    return [
        Change(_differences(row, before) if before else ["The shop was opened"], str(row.by), row.at)
        for row, before in list(zip(rows, older, strict=True))[:most]
    ]


def testers() -> list[TesterToken]:
    """Return every key that was issued to a tester, those that still open the door first."""
    rows = TesterToken.objects.select_related("instrument", "issued_by")
    return sorted(rows, key=lambda row: (row.revoked_at is not None, row.name))


def _differences(row: WorkshopSettings, before: WorkshopSettings) -> list[str]:
    changed = [name for name in SETTINGS if getattr(row, name) != getattr(before, name)]
    said = [f"{_label(name)}: {_shown(row, name)}, was {_shown(before, name)}" for name in changed]
    return said or ["Sent again unchanged"]


def _label(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _shown(row: WorkshopSettings, name: str) -> Any:
    display = getattr(row, f"get_{name}_display", None)
    return (display() if display else getattr(row, name)) or "nothing"
