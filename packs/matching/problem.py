"""What is asked: a frozen table of tested cells and the pack wanted from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite
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
_FRACTION_STEPS = 10_000


@dataclass(frozen=True, eq=False)
class CellTable:
    """Tested cells as columns of equal length; NaN stands for a value that is not known.

    Numbers are kept to 0.1 mAh, 0.001 µΩ and 0.001 mV, so that the integer columns below are exact.

    Attributes
    ----------
    codes : tuple of str
        Cell codes, unique.
    capacity_mah, dcir_uohm, ocv_mv : array of float, shape (n,)
        Capacity [mAh], resistance [µΩ], rest voltage [mV].
    lot, model, chemistry, resistance_method : tuple of str
        Empty (chemistry also ``"unknown"``) means not known.
    reserved, quarantined : array of bool, shape (n,)

    Raises
    ------
    packs.errors.ImpossibleValue
        Columns of unequal length, a code twice, a capacity or resistance that is not above zero.
    """

    codes: tuple[str, ...]
    capacity_mah: FloatArray
    dcir_uohm: FloatArray
    ocv_mv: FloatArray
    lot: tuple[str, ...]
    model: tuple[str, ...]
    chemistry: tuple[str, ...]
    resistance_method: tuple[str, ...]
    reserved: BoolArray
    quarantined: BoolArray

    def __post_init__(self) -> None:
        for name, steps in (
            ("capacity_mah", CAPACITY_STEPS_PER_MAH),
            ("dcir_uohm", FINE_STEPS),
            ("ocv_mv", FINE_STEPS),
        ):
            _freeze(self, name, np.rint(np.asarray(getattr(self, name), dtype=np.float64) * steps) / steps)
        for name in ("reserved", "quarantined"):
            _freeze(self, name, np.array(getattr(self, name), dtype=np.bool_))
        _check_columns(self)

    @classmethod
    def of(
        cls,
        codes: Sequence[str],
        capacity_mah: npt.ArrayLike,
        *,
        dcir_uohm: npt.ArrayLike | None = None,
        ocv_mv: npt.ArrayLike | None = None,
        lot: Sequence[str] | str = "",
        model: Sequence[str] | str = "",
        chemistry: Sequence[str] | str = "",
        resistance_method: Sequence[str] | str = "",
        reserved: npt.ArrayLike | None = None,
        quarantined: npt.ArrayLike | None = None,
    ) -> CellTable:
        """Table from columns; a single word stands for the whole column, a missing number column is unknown."""
        count = len(codes)
        return cls(
            codes=tuple(codes),
            capacity_mah=np.asarray(capacity_mah, dtype=np.float64),
            dcir_uohm=_numbers(dcir_uohm, count),
            ocv_mv=_numbers(ocv_mv, count),
            lot=_words(lot, count),
            model=_words(model, count),
            chemistry=_words(chemistry, count),
            resistance_method=_words(resistance_method, count),
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


@dataclass(frozen=True)
class Question:
    """The pack wanted and the limits that every group of it must keep.

    Attributes
    ----------
    series, parallel : int
        Groups in series, cells per group.
    min_capacity_mah : float or None
        A cell below this capacity [mAh] is not used.
    max_resistance_ratio : float or None
        Largest over smallest resistance within a group, at least 1, at most four decimals.
    capacity_window : float or None
        Each cell's capacity lies within this fraction of its group's mean, 0 to below 1, at most four decimals.
    ocv_window_mv : float or None
        Largest minus smallest rest voltage within a group [mV].
    must_use, must_not_use : tuple of str
        Cell codes.
    allow_mixed_models, allow_mixed_lots : bool
        Chemistries are never mixed, nor are resistances taken by different methods.

    Raises
    ------
    packs.errors.ImpossibleValue
        A limit outside its range, or a cell both wanted and refused.
    """

    series: int
    parallel: int
    min_capacity_mah: float | None = None
    max_resistance_ratio: float | None = None
    capacity_window: float | None = 0.05
    ocv_window_mv: float | None = None
    must_use: tuple[str, ...] = ()
    must_not_use: tuple[str, ...] = ()
    allow_mixed_models: bool = False
    allow_mixed_lots: bool = True

    def __post_init__(self) -> None:
        if self.series < 1 or self.parallel < 1:
            raise ImpossibleValue(f"A pack needs at least 1s1p, not {self.series}s{self.parallel}p.")
        _within("Lowest capacity", self.min_capacity_mah, 0.0, float("inf"))
        _within("Resistance ratio", self.max_resistance_ratio, 1.0, 1000.0)
        _within("Capacity window", self.capacity_window, 0.0, 0.9999)
        _within("Voltage window", self.ocv_window_mv, 0.0, 100_000.0)
        _exact(self.max_resistance_ratio, self.capacity_window)
        self._check_wishes()

    def _check_wishes(self) -> None:
        both = sorted(set(self.must_use) & set(self.must_not_use))
        if both:
            raise ImpossibleValue(f"Cell {both[0]} is both to be used and not to be used.")
        if len(set(self.must_use)) > self.cells:
            raise ImpossibleValue(
                f"{len(set(self.must_use))} cells must be used, but the pack has {self.cells} places."
            )

    @property
    def cells(self) -> int:
        """Cells the pack takes."""
        return self.series * self.parallel

    @property
    def ratio(self) -> Fraction | None:
        """The resistance ratio as an exact fraction."""
        return _fraction(self.max_resistance_ratio)

    @property
    def window(self) -> Fraction | None:
        """The capacity window as an exact fraction."""
        return _fraction(self.capacity_window)

    @property
    def ocv_window_uv(self) -> int | None:
        """The rest voltage window in µV, rounded down."""
        return None if self.ocv_window_mv is None else int(Fraction(str(self.ocv_window_mv)) * FINE_STEPS)


@dataclass(frozen=True)
class Exclusion:
    """A cell that was left out before any matching, and why."""

    code: str
    reason: str


@dataclass(frozen=True)
class Proposal:
    """Groups dealt, their figures, and how far from the best possible the weakest group can be at most.

    Attributes
    ----------
    groups : tuple of tuple of int
        Row numbers of the cell table, one tuple per group in series.
    group_capacity_mah, group_resistance_uohm : tuple of float
        Per group; the resistance [µΩ] is that of the cells in parallel, NaN where one is not known.
    weakest_mah, spread_mah : float
        Capacity of the weakest group; strongest minus weakest group.
    resistance_spread_uohm : float
        Largest minus smallest group resistance.
    bound_mah : float
        No arrangement of the usable cells has a weakest group above this.
    gap_mah : float
        ``bound_mah - weakest_mah``: 0 means that the weakest group is proven best.
    excluded : tuple of Exclusion
        Every cell that could not take part, with its reason.
    """

    groups: tuple[tuple[int, ...], ...]
    group_capacity_mah: tuple[float, ...]
    group_resistance_uohm: tuple[float, ...]
    weakest_mah: float
    spread_mah: float
    resistance_spread_uohm: float
    bound_mah: float
    gap_mah: float
    excluded: tuple[Exclusion, ...]


def _freeze(owner: object, name: str, column: npt.NDArray[Any]) -> None:
    column.setflags(write=False)
    object.__setattr__(owner, name, column)


def _check_columns(table: CellTable) -> None:
    count = len(table.codes)
    names = (
        "capacity_mah",
        "dcir_uohm",
        "ocv_mv",
        "lot",
        "model",
        "chemistry",
        "resistance_method",
        "reserved",
        "quarantined",
    )
    for name in names:
        if len(getattr(table, name)) != count:
            raise ImpossibleValue(f"Column {name} has {len(getattr(table, name))} rows, there are {count} cells.")
    if len(set(table.codes)) != count:
        raise ImpossibleValue("A cell code stands twice in the table.")
    for name in ("capacity_mah", "dcir_uohm"):
        _check_numbers(name, getattr(table, name), table.codes, above_zero=True)
    _check_numbers("ocv_mv", table.ocv_mv, table.codes, above_zero=False)


def _check_numbers(name: str, column: FloatArray, codes: tuple[str, ...], *, above_zero: bool) -> None:
    if column.ndim != 1:
        raise ImpossibleValue(f"Column {name} is not a flat column.")
    wrong = np.isinf(column) | (column <= 0 if above_zero else column < 0)
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        raise ImpossibleValue(f"Cell {codes[row]}: {name} cannot be {column[row]:g}.")


def _numbers(values: npt.ArrayLike | None, count: int) -> FloatArray:
    return np.full(count, np.nan) if values is None else np.asarray(values, dtype=np.float64)


def _words(values: Sequence[str] | str, count: int) -> tuple[str, ...]:
    return (values,) * count if isinstance(values, str) else tuple(values)


def _flags(values: npt.ArrayLike | None, count: int) -> BoolArray:
    return np.zeros(count, dtype=np.bool_) if values is None else np.asarray(values, dtype=np.bool_)


def _integers(column: FloatArray, steps: int) -> IntArray:
    known = ~np.isnan(column)
    return np.where(known, np.rint(np.where(known, column, 0.0) * steps), UNKNOWN).astype(np.int64)


def _within(name: str, value: float | None, low: float, high: float) -> None:
    if value is not None and not (isfinite(value) and low <= value <= high):
        raise ImpossibleValue(f"{name} cannot be {value:g}.")


def _exact(*values: float | None) -> None:
    for value in values:
        if value is not None and Fraction(str(value)) * _FRACTION_STEPS % 1:
            raise ImpossibleValue(f"A limit is given with at most four decimals, not as {value!r}.")


def _fraction(value: float | None) -> Fraction | None:
    return None if value is None else Fraction(str(value))
