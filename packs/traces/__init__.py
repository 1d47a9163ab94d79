"""Tester files to series, series to figures that can be trusted."""

from packs.traces.begun import begun
from packs.traces.columns import Column, ColumnLayout, CurrentSign, Role
from packs.traces.expected import Expected
from packs.traces.figures import Figures, figures
from packs.traces.glance import Glance, first_guess, glance, guessed_columns, recognised
from packs.traces.problems import OF_THE_FILE, Problem, Remark, TraceRefused, Verdict
from packs.traces.propose import Proposal
from packs.traces.reading import propose, read
from packs.traces.scales import units_of
from packs.traces.series import Trace

__all__ = [
    "OF_THE_FILE", "Column", "ColumnLayout", "CurrentSign", "Expected", "Figures", "Glance", "Problem", "Proposal", "Remark", "Role", "Trace",
    "TraceRefused", "Verdict", "begun", "figures", "first_guess", "glance", "guessed_columns", "propose", "read", "recognised",
    "units_of",
]  # fmt: skip
