"""Tested cells as a frozen table of columns, one unit per column."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from packs.errors import ImpossibleValue

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

UNKNOWN = -1
"""Stands for an unknown value in the integer columns."""

CAPACITY_STEPS_PER_MAH = 10
FINE_STEPS = 1000

_STEPS = {
    "capacity_mah": CAPACITY_STEPS_PER_MAH,
    "rated_mah": CAPACITY_STEPS_PER_MAH,
    "dcir_uohm": FINE_STEPS,
    "ocv_mv": FINE_STEPS,
    "self_discharge_mv_per_day": FINE_STEPS,
}
_FLAGS = ("reserved", "quarantined")
_ABOVE_ZERO = ("capacity_mah", "rated_mah", "dcir_uohm")


@dataclass(frozen=True, eq=False)
class CellTable:
    """Tested cells as columns of equal length; NaN stands for a value that is not known.

    Numbers are kept to 0.1 mAh, 0.001 µΩ and 0.001 mV, so that the integer columns below are exact.

    Attributes
    ----------
    codes : tuple of str
        Cell codes, unique.
    capacity_mah, rated_mah, dcir_uohm, ocv_mv, self_discharge_mv_per_day : array of float, shape (n,)
        Measured and rated capacity [mAh], resistance [µΩ], rest voltage [mV], loss of rest voltage [mV per day].
    lot, donor, model, chemistry, resistance_method, test_conditions, history, charged_on : tuple of str
        Empty (chemistry, model and lot also ``"unknown"``) means not known. `donor` is the pack a cell came from,
        `test_conditions` how its capacity was measured, `charged_on` the day of the charge before `ocv_mv`.
    reserved, quarantined : array of bool, shape (n,)

    Raises
    ------
    packs.errors.ImpossibleValue
        Columns of unequal length, a code twice, a capacity or resistance that is not above zero.
    """

    codes: tuple[str, ...]
    capacity_mah: FloatArray
    rated_mah: FloatArray
    dcir_uohm: FloatArray
    ocv_mv: FloatArray
    self_discharge_mv_per_day: FloatArray
    lot: tuple[str, ...]
    donor: tuple[str, ...]
    model: tuple[str, ...]
    chemistry: tuple[str, ...]
    resistance_method: tuple[str, ...]
    test_conditions: tuple[str, ...]
    history: tuple[str, ...]
    charged_on: tuple[str, ...]
    reserved: BoolArray
    quarantined: BoolArray

    def __post_init__(self) -> None:
        for name, steps in _STEPS.items():
            _freeze(self, name, np.rint(np.asarray(getattr(self, name), dtype=np.float64) * steps) / steps)
        for name in _FLAGS:
            _freeze(self, name, np.array(getattr(self, name), dtype=np.bool_))
        _check_columns(self)

    @classmethod
    def of(
        cls,
        codes: Sequence[str],
        capacity_mah: npt.ArrayLike,
        *,
        rated_mah: npt.ArrayLike | None = None,
        dcir_uohm: npt.ArrayLike | None = None,
        ocv_mv: npt.ArrayLike | None = None,
        self_discharge_mv_per_day: npt.ArrayLike | None = None,
        lot: Sequence[str] | str = "",
        donor: Sequence[str] | str = "",
        model: Sequence[str] | str = "",
        chemistry: Sequence[str] | str = "",
        resistance_method: Sequence[str] | str = "",
        test_conditions: Sequence[str] | str = "",
        history: Sequence[str] | str = "",
        charged_on: Sequence[str] | str = "",
        reserved: npt.ArrayLike | None = None,
        quarantined: npt.ArrayLike | None = None,
    ) -> CellTable:
        """Table from columns; a single word stands for the whole column, a missing number column is unknown."""
        count = len(codes)
        return cls(
            codes=tuple(codes),
            capacity_mah=np.asarray(capacity_mah, dtype=np.float64),
            rated_mah=_numbers(rated_mah, count),
            dcir_uohm=_numbers(dcir_uohm, count),
            ocv_mv=_numbers(ocv_mv, count),
            self_discharge_mv_per_day=_numbers(self_discharge_mv_per_day, count),
            lot=_words(lot, count),
            donor=_words(donor, count),
            model=_words(model, count),
            chemistry=_words(chemistry, count),
            resistance_method=_words(resistance_method, count),
            test_conditions=_words(test_conditions, count),
            history=_words(history, count),
            charged_on=_words(charged_on, count),
            reserved=_flags(reserved, count),
            quarantined=_flags(quarantined, count),
        )

    def __len__(self) -> int:
        return len(self.codes)

    @property
    def capacity_tenths(self) -> IntArray:
        """Capacity in steps of 0.1 mAh; UNKNOWN where not known."""
        return _integers(self.capacity_mah, CAPACITY_STEPS_PER_MAH)

    @property
    def dcir_nohm(self) -> IntArray:
        """Resistance in nΩ; UNKNOWN where not known."""
        return _integers(self.dcir_uohm, FINE_STEPS)

    @property
    def ocv_uv(self) -> IntArray:
        """Rest voltage in µV; UNKNOWN where not known."""
        return _integers(self.ocv_mv, FINE_STEPS)


def _freeze(owner: object, name: str, column: npt.NDArray[Any]) -> None:
    column.setflags(write=False)
    object.__setattr__(owner, name, column)


def _check_columns(table: CellTable) -> None:
    count = len(table.codes)
    for column in fields(table):
        if len(getattr(table, column.name)) != count:
            rows = len(getattr(table, column.name))
            raise ImpossibleValue(f"Column {column.name} has {rows} rows, there are {count} cells.")
    if len(set(table.codes)) != count:
        raise ImpossibleValue("A cell code stands twice in the table.")
    for name in _STEPS:
        _check_numbers(table, name)


def _check_numbers(table: CellTable, name: str) -> None:
    column: FloatArray = getattr(table, name)
    if column.ndim != 1:
        raise ImpossibleValue(f"Column {name} is not a flat column.")
    wrong = np.isinf(column)
    if name in _ABOVE_ZERO:
        wrong |= column <= 0
    elif name == "ocv_mv":
        wrong |= column < 0
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        raise ImpossibleValue(f"Cell {table.codes[row]}: {name} cannot be {column[row]:g}.")


def _numbers(values: npt.ArrayLike | None, count: int) -> FloatArray:
    return np.full(count, np.nan) if values is None else np.asarray(values, dtype=np.float64)


def _words(values: Sequence[str] | str, count: int) -> tuple[str, ...]:
    return (values,) * count if isinstance(values, str) else tuple(values)


def _flags(values: npt.ArrayLike | None, count: int) -> BoolArray:
    return np.zeros(count, dtype=np.bool_) if values is None else np.asarray(values, dtype=np.bool_)


def _integers(column: FloatArray, steps: int) -> IntArray:
    known = ~np.isnan(column)
    return np.where(known, np.rint(np.where(known, column, 0.0) * steps), UNKNOWN).astype(np.int64)
