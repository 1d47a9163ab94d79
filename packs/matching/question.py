"""What is asked: the pack wanted, which cells may take part, and the limits within a group."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import isfinite

from packs.errors import ImpossibleValue
from packs.matching.table import FINE_STEPS

_FRACTION_STEPS = 10_000


class Objective(StrEnum):
    """What makes one pack better than another."""

    MOST_CAPACITY = "most capacity"
    ASSURED_CAPACITY = "most assured capacity"
    USE_UP_WEAKER = "use up weaker cells"


class Together(StrEnum):
    """What the cells of one group share."""

    ANY = ""
    LOT = "lot"
    DONOR = "donor"


@dataclass(frozen=True)
class Question:
    """The pack wanted and the limits that every group of it must keep.

    Attributes
    ----------
    series, parallel : int
        Groups in series, cells per group.
    objective : Objective
        Most capacity: the weakest group as strong as can be, then the spread of the group capacities, then that of
        the group resistances small. Assured capacity: the 5th percentile of the pack's capacity under the repeatability
        of the tests, as high as can be. Use up weaker cells: `required_mah` in every group with the poorest cells that
        can.
    required_mah : float or None
        Capacity [mAh] that every group must reach, whatever the objective; needed to use up weaker cells.
    min_capacity_mah, max_capacity_mah : float or None
        A cell outside this window of capacity [mAh] is not used.
    min_health, max_health : float or None
        A cell whose capacity over rated capacity lies outside is not used.
    max_self_discharge_mv_per_day : float or None
        A cell that loses more rest voltage [mV per day] is not used.
    refused_histories : tuple of str
        A cell with one of these histories is not used.
    max_drift_mv : float or None
        A cell whose rest voltage lies further [mV] from the median of its lot-mates charged the same day is not used
        (from three such cells on). Default 10 mV, common practice, no source.
    max_resistance_ratio : float or None
        Largest over smallest resistance within a group, at least 1, at most four decimals.
    capacity_window : float or None
        Each cell's capacity lies within this fraction of its group's mean, 0 to below 1, at most four decimals.
    ocv_window_mv : float or None
        Largest minus smallest rest voltage within a group [mV].
    together : Together
        Cells of one lot, or of one donor pack, are kept together: no group mixes them.
    must_use, must_not_use : tuple of str
        Cell codes.
    allow_mixed_models, allow_mixed_lots, allow_mixed_conditions, allow_mixed_chemistries : bool
        Whether the pack may mix them. Mixed chemistries have different limits of charge and discharge: only what all
        their data sheets allow holds for such a pack. Resistances taken by different methods are never mixed.
    level_within_mv : float
        Cells of a group, and groups, that lie further apart in rest voltage are to be levelled before they are
        joined. Default 10 mV, common practice, no source.
    repeatability : float
        Standard deviation of a capacity test repeated on one cell, as a share of the capacity.

    Raises
    ------
    packs.errors.ImpossibleValue
        A limit outside its range, or a cell both wanted and refused.
    """

    series: int
    parallel: int
    objective: Objective = Objective.MOST_CAPACITY
    required_mah: float | None = None
    min_capacity_mah: float | None = None
    max_capacity_mah: float | None = None
    min_health: float | None = None
    max_health: float | None = None
    max_self_discharge_mv_per_day: float | None = None
    refused_histories: tuple[str, ...] = ()
    max_drift_mv: float | None = 10.0
    max_resistance_ratio: float | None = None
    capacity_window: float | None = 0.05
    ocv_window_mv: float | None = None
    together: Together = Together.ANY
    must_use: tuple[str, ...] = ()
    must_not_use: tuple[str, ...] = ()
    allow_mixed_models: bool = False
    allow_mixed_lots: bool = True
    allow_mixed_conditions: bool = False
    allow_mixed_chemistries: bool = False
    level_within_mv: float = 10.0
    repeatability: float = 0.005

    def __post_init__(self) -> None:
        if self.series < 1 or self.parallel < 1:
            raise ImpossibleValue(f"A pack needs at least 1s1p, not {self.series}s{self.parallel}p.")
        for name, value, low, high in self._ranges():
            _within(name, value, low, high)
        _exact(self.max_resistance_ratio, self.capacity_window)
        if self.objective is Objective.USE_UP_WEAKER and self.required_mah is None:
            raise ImpossibleValue("To use up weaker cells, say which capacity every group must reach.")
        self._check_wishes()

    def _ranges(self) -> list[tuple[str, float | None, float, float]]:
        endless = float("inf")
        return [
            ("Required capacity", self.required_mah, 0.0, endless),
            ("Lowest capacity", self.min_capacity_mah, 0.0, endless),
            ("Highest capacity", self.max_capacity_mah, 0.0, endless),
            ("Lowest health", self.min_health, 0.0, 10.0),
            ("Highest health", self.max_health, 0.0, 10.0),
            ("Self-discharge", self.max_self_discharge_mv_per_day, 0.0, endless),
            ("Drift from lot-mates", self.max_drift_mv, 0.0, 100_000.0),
            ("Resistance ratio", self.max_resistance_ratio, 1.0, 1000.0),
            ("Capacity window", self.capacity_window, 0.0, 0.9999),
            ("Voltage window", self.ocv_window_mv, 0.0, 100_000.0),
            ("Levelling", self.level_within_mv, 0.0, 100_000.0),
            ("Repeatability", self.repeatability, 0.0, 0.5),
        ]

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

    @property
    def required_tenths(self) -> int:
        """Capacity every group must reach, in steps of 0.1 mAh, rounded up; 0 where none is asked."""
        return 0 if self.required_mah is None else -int(-Fraction(str(self.required_mah)) * 10 // 1)


def _within(name: str, value: float | None, low: float, high: float) -> None:
    if value is not None and not (isfinite(value) and low <= value <= high):
        raise ImpossibleValue(f"{name} cannot be {value:g}.")


def _exact(*values: float | None) -> None:
    for value in values:
        if value is not None and Fraction(str(value)) * _FRACTION_STEPS % 1:
            raise ImpossibleValue(f"A limit is given with at most four decimals, not as {value!r}.")


def _fraction(value: float | None) -> Fraction | None:
    return None if value is None else Fraction(str(value))
