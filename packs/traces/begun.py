"""When a test began, by the clock of its tester: a column of clock times, or a line above the headings that says so."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from packs.traces.columns import Role
from packs.traces.series import Trace

_SAYS_START = re.compile(r"\b(start|started|begin|began|beginn|gestartet)\b", re.IGNORECASE)
_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2}|\d{2}\.\d{2}\.\d{4})[ T]+(\d{2}:\d{2}(?::\d{2})?)")
_FORMS = ("%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def begun(trace: Trace, lines: Sequence[str]) -> datetime | None:
    """Return when the test began; without a time zone where the tester wrote the time on its wall.

    Series: clock time [s]. ``lines`` are those above the headings; of these only one that speaks of a start counts,
    and only a date that cannot be read two ways.

    References
    ----------
    Derived here; the words of a start are common practice, no source.
    """
    column = trace.layout.column(Role.CLOCK)
    if column is not None and trace.has(Role.CLOCK):
        seconds = trace.floats(Role.CLOCK)
        known = seconds[np.isfinite(seconds)]
        if not len(known) or not 0 < known[0] < 1e11:
            return None
        moment = _EPOCH + timedelta(seconds=float(known[0]))
        # Numbers with a unit are counted from the epoch; written clock times are those of the place.
        return moment if column.unit else moment.replace(tzinfo=None)
    said = (_written(line) for line in lines if _SAYS_START.search(line))
    return next((each for each in said if each is not None), None)


def _written(line: str) -> datetime | None:
    found = _MOMENT.search(line)
    for form in _FORMS if found else ():
        try:
            return datetime.strptime(f"{found[1]} {found[2]}", form)  # type: ignore[index]  # noqa: DTZ007 - of the place
        except ValueError:
            continue
    return None
