"""What a question asks that can be loosened, in steps as fine as a bench works."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from packs.matching.deal import Limits
from packs.matching.question import Question, Together
from packs.matching.table import CellTable


@dataclass(frozen=True)
class Lever:
    """One thing asked that may be loosened in equal steps, the first being what is asked; `at` the value of a step."""

    asked: str
    steps: int
    at: Callable[[int], object]


def levers(table: CellTable, question: Question) -> list[Lever]:
    """Everything asked that can be loosened, in steps as fine as a bench works; coarser where each takes longer.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    References
    ----------
    Common practice, no source: what a bench can set.
    """
    several = len(Limits.of(question).apart()) > 1
    volts, ohm = table.ocv_mv[~np.isnan(table.ocv_mv)], table.dcir_uohm[~np.isnan(table.dcir_uohm)]
    charge = table.capacity_mah[~np.isnan(table.capacity_mah)]
    rising = (
        ("max_resistance_ratio", 0.01 if several else 0.001, float(ohm.max() / ohm.min()) if len(ohm) else 1.0),
        ("capacity_window", 0.005 if several else 0.001, 0.99),
        ("ocv_window_mv", 5.0 if several else 1.0, float(np.ptp(volts)) if len(volts) else 0.0),
        ("max_self_discharge_mv_per_day", 0.1, _top(table.self_discharge_mv_per_day)),
        ("max_drift_mv", 0.1, float(np.ptp(volts)) if len(volts) else 0.0),
        ("max_capacity_mah", 1.0, float(charge.max()) if len(charge) else 0.0),
        ("max_health", 0.01, _top(table.capacity_mah / table.rated_mah)),
    )
    falling = (("min_capacity_mah", 1.0), ("min_health", 0.01))
    found = [_up(question, *one) for one in rising] + [_down(question, *one) for one in falling]
    flags = [
        _flag(question, "allow_mixed_models", table.model),
        _flag(question, "allow_mixed_conditions", table.test_conditions),
        _flag(question, "allow_mixed_lots", table.lot),
    ]
    kept = Lever("together", 1, lambda step: Together.ANY if step else question.together)
    dropped = [_emptied(question, name) for name in ("must_use", "must_not_use", "refused_histories")]
    found += [*flags, *dropped, kept if question.together else None]
    return [lever for lever in found if lever is not None]


def _top(column: object) -> float:
    values = np.asarray(column, dtype=np.float64)
    known = values[np.isfinite(values)]
    return float(known.max()) if len(known) else 0.0


def _up(question: Question, name: str, step: float, top: float) -> Lever | None:
    was = getattr(question, name)
    if was is None:
        return None
    steps = max(1, ceil(round(max(0.0, top - was) / step, 6)))
    return Lever(name, steps, lambda many: round(was + many * step, 4) if many else was)


def _down(question: Question, name: str, step: float) -> Lever | None:
    was = getattr(question, name)
    if was is None or was <= 0:
        return None
    steps = int(was / step) + 1
    return Lever(name, steps, lambda many: max(0.0, round(was - many * step, 4)) if many else was)


def _flag(question: Question, name: str, column: Sequence[str]) -> Lever | None:
    """Only where there is something to mix."""
    return None if getattr(question, name) or len(set(column)) < 2 else Lever(name, 1, bool)


def _emptied(question: Question, name: str) -> Lever | None:
    was = getattr(question, name)
    return Lever(name, 1, lambda step: () if step else was) if was else None
