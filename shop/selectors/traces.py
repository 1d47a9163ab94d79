"""Tester files as pages tell them."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Count, Q, QuerySet

from shop.models import Cell, Reading, TraceFile

VERDICTS = {
    "repaired": ("repaired", "warn", "Repaired by a rule; this stays with every figure of the file"),
    "withheld": ("withheld", "unknown", "Figures are withheld because of this"),
    "warned": ("to look at", "note", "Noticed; nothing was changed"),
}


def of_cell(cell: Cell) -> QuerySet[TraceFile]:
    """Return the tester files of a cell, the newest first, with how many readings of each were not withdrawn.

    One that was put to another cell stays in the list and names that cell.
    """
    counted = Count("readings", filter=Q(readings__withdrawal__isnull=True, readings__corrects__isnull=True))
    return cell.traces.select_related("by", "moved_to__cell").annotate(accepted=counted)


def readings(trace: TraceFile) -> QuerySet[Reading]:
    """Return the readings that came of a file, each with what corrects it or takes it back."""
    return trace.readings.select_related("by", "corrected_by", "withdrawal")


def taken(trace: TraceFile) -> set[str]:
    """Return the measures of a file that count among its cell's readings."""
    return set(Reading.objects.standing().filter(trace=trace).values_list("measure", flat=True))


def by_verdict(remarks: Iterable[Mapping[str, Any]]) -> list[tuple[str, str, str, list[str]]]:
    """Part remarks by what they did to the file: word, shape, what it means, and the messages."""
    found: dict[str, list[str]] = {verdict: [] for verdict in VERDICTS}
    for remark in remarks:
        found.setdefault(str(remark["verdict"]), []).append(str(remark["message"]))
    return [(*VERDICTS[verdict], messages) for verdict, messages in found.items() if messages]
