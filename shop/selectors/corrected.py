"""Readings with their corrections, tied together as they were fetched."""

from collections.abc import Iterable

from shop.models import Reading


def tied(rows: Iterable[Reading]) -> list[Reading]:
    """Return readings in which each knows the one it corrects, without asking for it again.

    A correction is of the same cell, or of the same try of a step, so whoever fetched one has the other.
    """
    found = list(rows)
    known = {row.pk: row for row in found}
    for row in found:
        if row.corrects_id in known:
            row.corrects = known[row.corrects_id]
    return found
