"""Which way the current is counted: as the layout says, as the voltage answers, or refused."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import CurrentSign, Role
from packs.traces.passes import rows_where
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Floats, Trace

# A change of current counts as a step where it is this share of the largest current.
STEP_SHARE = 0.2
GAP_TIMES = 10.0
# The voltage must answer this clearly: share of one direction over the other, from -1 to 1.
CLEAR = 0.5
# A flow of current must move the voltage at least this much to show its direction [V].
LEAST_MOVE = 0.02
DEAD_BAND = 0.006


class Flow(StrEnum):
    """What a kind of step in words says about the current."""

    CHARGE = "charge"
    DISCHARGE = "discharge"
    REST = "rest"


def flow_of(words: str) -> Flow | None:
    """Read the kind of a step from what testers write.

    References
    ----------
    Battery Data Format, kinds of step; other words are common practice, no source.

    Examples
    --------
    >>> flow_of("CC DChg"), flow_of("CHRG"), flow_of("Pause"), flow_of("CCCV_CHG")
    (<Flow.DISCHARGE: 'discharge'>, <Flow.CHARGE: 'charge'>, <Flow.REST: 'rest'>, <Flow.CHARGE: 'charge'>)
    """
    text = words.strip().lower()
    if any(word in text for word in ("dch", "dis", "entlad")) or text == "d":
        return Flow.DISCHARGE
    if any(word in text for word in ("rest", "pause", "ocv", "open", "idle")) or text == "p":
        return Flow.REST
    if any(word in text for word in ("chg", "charge", "chrg", "chr", "lad")) or text == "c":
        return Flow.CHARGE
    return None


def settle_sign(trace: Trace) -> Trace:
    """Count charge positive.

    Raises
    ------
    TraceRefused
        The current has no sign and nothing gives it one, or voltage answers it the wrong way round.

    References
    ----------
    Ohm's law: the voltage rises with a current that charges.
    """
    sign = trace.layout.sign
    current = trace.current
    largest = trace.largest_current
    if largest == 0.0:
        return trace
    one_sided = bool(current.min() >= -DEAD_BAND * largest)
    if sign is CurrentSign.UNSIGNED or (one_sided and _both_ways(trace)):
        return _from_elsewhere(trace)
    return _as_answered(trace, _answer(trace))


def _as_answered(trace: Trace, answer: float) -> Trace:
    sign = trace.layout.sign
    if sign is CurrentSign.FIND:
        if abs(answer) < CLEAR:
            return trace.noting((Remark(Problem.SIGN_UNKNOWN, Verdict.WARNED),))
        which = "charge" if answer > 0 else "discharge"
        verdict = Verdict.WARNED if answer > 0 else Verdict.REPAIRED
        remark = Remark(Problem.SIGN_FROM_VOLTAGE, verdict, f"{which} is counted positive in the file")
        return trace.noting((remark,)) if answer > 0 else trace.with_column(Role.CURRENT, -trace.current, remark)
    stated = 1.0 if sign is CurrentSign.CHARGE_POSITIVE else -1.0
    if stated * answer < -CLEAR:
        raise TraceRefused(Problem.SIGN_REVERSED, f"the layout says {sign.value.replace('_', ' ')}")
    return trace if stated > 0 else trace.with_column(Role.CURRENT, -trace.current)


def _answer(trace: Trace) -> float:
    """From -1 to 1: how clearly the voltage rises with the current. Ohm's law makes it 1 where charge is positive."""
    current, voltage = trace.current, trace.voltage
    least = STEP_SHARE * trace.largest_current
    jumps = rows_where(lambda amps: np.abs(amps[1:] - amps[:-1]) > least, current)
    # Across a gap the voltage has moved by charge, not by resistance.
    usual = float(trace.time[-1] - trace.time[0]) / (len(trace) - 1)
    jumps = jumps[trace.time[jumps + 1] - trace.time[jumps] <= GAP_TIMES * usual]
    products = (current[jumps + 1] - current[jumps]) * (voltage[jumps + 1] - voltage[jumps])
    if not np.abs(products).sum() > 0:
        products = current[1:] * np.diff(voltage)
    total = float(np.abs(products).sum())
    return float(products.sum()) / total if total > 0 else 0.0


def flows(current: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return first and last row of each stretch in which current flows.

    Current [A].

    References
    ----------
    Derived here: current above a dead band of this room's own.
    """
    flowing = np.abs(current) > DEAD_BAND * float(np.abs(current).max())
    edges = np.flatnonzero(np.diff(flowing))
    starts = np.concatenate([[0] if flowing[0] else [], edges[~flowing[edges]] + 1]).astype(np.intp)
    ends = np.concatenate([edges[flowing[edges]], [len(current) - 1] if flowing[-1] else []]).astype(np.intp)
    return starts, ends


def _both_ways(trace: Trace) -> bool:
    """Tell whether a current that is never negative drives the voltage up at times and down at others."""
    starts, ends = flows(trace.current)
    long = ends - starts >= 2
    moves = trace.voltage[ends[long]] - trace.voltage[starts[long]]
    return bool((moves > LEAST_MOVE).any() and (moves < -LEAST_MOVE).any())


def _from_elsewhere(trace: Trace) -> Trace:
    size = np.abs(trace.current)
    if trace.has(Role.STEP_TYPE):
        signs, known = _by_words(trace)
        if known[size > DEAD_BAND * size.max()].all():
            remark = Remark(Problem.SIGN_FROM_STEP, Verdict.REPAIRED)
            return trace.with_column(Role.CURRENT, size * signs, remark)
    if trace.has(Role.CHARGE_CAPACITY) and trace.has(Role.DISCHARGE_CAPACITY):
        gained = np.diff(trace.floats(Role.CHARGE_CAPACITY), prepend=np.nan)
        given = np.diff(trace.floats(Role.DISCHARGE_CAPACITY), prepend=np.nan)
        signs = _carried(np.where(gained > 0, 1.0, np.where(given > 0, -1.0, 0.0)), size)
        return trace.with_column(Role.CURRENT, size * signs, Remark(Problem.SIGN_FROM_COUNTERS, Verdict.REPAIRED))
    raise TraceRefused(Problem.SIGN_MISSING)


def _by_words(trace: Trace) -> tuple[Floats, NDArray[np.bool_]]:
    words = trace.frame[Role.STEP_TYPE.value].fill_null("")
    signs = {Flow.CHARGE: 1.0, Flow.DISCHARGE: -1.0, Flow.REST: 1.0, None: np.nan}
    table = {word: signs[flow_of(word)] for word in words.unique().to_list()}
    values = words.replace_strict(table, default=np.nan).to_numpy().astype(np.float64)
    return np.nan_to_num(values, nan=1.0), np.isfinite(values)


def _carried(signs: Floats, size: Floats) -> Floats:
    """Give rows of a flow whose counter has not moved yet the sign of the rest of that flow."""
    starts, ends = flows(size)
    done = np.ones_like(signs)
    for start, end in zip(starts, ends, strict=True):
        part = signs[start : end + 1]
        moved = part[part != 0]
        if not len(moved):
            raise TraceRefused(Problem.SIGN_MISSING, f"rows {start + 1} to {end + 1}")
        done[start : end + 1] = np.where(part != 0, part, moved[0])
    return done
