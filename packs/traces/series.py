"""The series of one file as it is kept: columns in fixed units, and everything that was done to get them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import ColumnLayout, Role
from packs.traces.problems import Remark, Verdict

if TYPE_CHECKING:
    import polars as pl

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Trace:
    """What one tester file says.

    Attributes
    ----------
    frame : polars.DataFrame
        Columns named by ``Role``: time [s] from the first row, current [A] with charge positive, voltage [V] and
        what else the file has, each in the unit of its name.
    layout : ColumnLayout
        How the file was read.
    sha256 : str
        Of the file as it came.
    remarks : tuple of Remark
        What was found and repaired; it stays with every figure taken from the file.
    unread : tuple of str
        Names of the columns that are left alone.
    first_line : int or None
        The line of the first row in the file, where every row has its own and none was left out.
    """

    frame: pl.DataFrame
    layout: ColumnLayout
    sha256: str
    remarks: tuple[Remark, ...] = ()
    unread: tuple[str, ...] = ()
    first_line: int | None = None

    def __len__(self) -> int:
        return self.frame.height

    def has(self, role: Role) -> bool:
        """Tell whether the file has a column."""
        return role.value in self.frame.columns

    @cached_property
    def _arrays(self) -> dict[Role, Floats]:
        """Columns that were asked for already: taking one out of the table copies it."""
        return {}

    def floats(self, role: Role) -> Floats:
        """Return a column as numbers, blanks as NaN."""
        if role not in self._arrays:
            self._arrays[role] = self.frame[role.value].to_numpy()
        return self._arrays[role]

    def maybe(self, role: Role) -> Floats | None:
        """Return a column as numbers, or nothing where the file has none."""
        return self.floats(role) if self.has(role) else None

    def place(self, row: int) -> str:
        """Say where a row stands, counted from 0: by its number from 1, and by its line where that is known."""
        line = "" if self.first_line is None else f" (line {self.first_line + row} of the file)"
        return f"row {row + 1}{line}"

    @property
    def time(self) -> Floats:
        """Elapsed time [s]."""
        return self.floats(Role.TIME)

    @property
    def current(self) -> Floats:
        """Current [A], charge positive."""
        return self.floats(Role.CURRENT)

    @property
    def voltage(self) -> Floats:
        """Voltage [V]."""
        return self.floats(Role.VOLTAGE)

    @cached_property
    def largest_current(self) -> float:
        """Size of the largest current [A]."""
        return float(max(self.current.max(), -self.current.min()))

    def noting(self, remarks: Iterable[Remark]) -> Trace:
        """Return the same series with more remarks."""
        return self._keeping(replace(self, remarks=(*self.remarks, *remarks)), None)

    def of_file(self, sha256: str) -> Trace:
        """Return the same series with the hash of the file it came from."""
        return self._keeping(replace(self, sha256=sha256), None)

    def with_column(self, role: Role, values: Floats, *remarks: Remark) -> Trace:
        """Return the series with one column replaced."""
        import polars as pl

        frame = self.frame.with_columns(pl.Series(role.value, values))
        return self._keeping(replace(self, frame=frame, remarks=(*self.remarks, *remarks)), role)

    def _keeping(self, other: Trace, changed: Role | None) -> Trace:
        """Hand the columns that were taken out already to a series that differs in one of them."""
        other._arrays.update({role: values for role, values in self._arrays.items() if role is not changed})
        return other

    @property
    def repairs(self) -> tuple[Remark, ...]:
        """What was changed by a rule."""
        return tuple(remark for remark in self.remarks if remark.verdict is Verdict.REPAIRED)
