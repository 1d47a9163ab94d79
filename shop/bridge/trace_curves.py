"""The series of a tester file as curves of so many points that a page can carry, its extremes among them."""

from io import BytesIO

import numpy as np
from numpy.typing import NDArray

from packs.traces import Role, Trace

Floats = NDArray[np.float64]
Points = tuple[list[float], list[float]]
POINTS = 2000
CURVES = {
    "voltage": (Role.VOLTAGE, "V"),
    "current": (Role.CURRENT, "A"),
    "temperature": (Role.TEMPERATURE, "°C"),
}


def thinned(hours: Floats, values: Floats, points: int = POINTS) -> tuple[Floats, Floats]:
    """Return at most so many points of a curve: the lowest and the highest of each stretch, and both ends."""
    known = np.isfinite(values)
    hours, values = np.ascontiguousarray(hours[known]), np.ascontiguousarray(values[known])
    if len(values) <= points:
        return hours, values
    from tsdownsample import MinMaxDownsampler

    # the library's constructor carries no types
    chosen = MinMaxDownsampler().downsample(values, n_out=points - 2)  # type: ignore[no-untyped-call]
    chosen = np.unique(np.concatenate([[0], chosen, [len(values) - 1]]).astype(np.intp))
    return hours[chosen], values[chosen]


def _points(hours: Floats, values: Floats) -> Points:
    hours, values = thinned(hours, values)
    return hours.tolist(), values.tolist()


def of_trace(trace: Trace, curve: str) -> Points | None:
    """Return hours and values of one curve, or nothing where the file has no such column."""
    role = CURVES[curve][0]
    return _points(trace.time / 3600, trace.floats(role)) if trace.has(role) else None


def of_series(parquet: bytes, curve: str) -> Points | None:
    """Return hours and values of one curve of a kept series, or nothing where it has no such column."""
    import polars as pl

    name = CURVES[curve][0].value
    held = pl.read_parquet_schema(BytesIO(parquet))
    if name not in held:
        return None
    frame = pl.read_parquet(BytesIO(parquet), columns=[Role.TIME.value, name])
    return _points(frame[Role.TIME.value].to_numpy() / 3600, frame[name].to_numpy())


def curves_of(trace: Trace) -> list[str]:
    """Return which curves a series has."""
    return [curve for curve, (role, _) in CURVES.items() if trace.has(role)]
