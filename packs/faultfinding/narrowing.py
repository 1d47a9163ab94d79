"""Intervals made narrower by what was read: a value outside every choice of sizes strikes the row."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs.faultfinding.candidates import DROP, DROP_OF, LEVEL, REST_OF, Candidates, Flags, Floats, Numbers
from packs.faultfinding.circuit import Sum, parts_of
from packs.faultfinding.model import Figures

SLACK = 1e-9


def error_of(value: float, figures: Figures) -> float:
    """Return how far the truth may lie from a reading [V]: the meter's share, its offset and the contacts.

    References
    ----------
    Common practice, no source: the form in which data sheets of meters state their error.
    """
    return figures.share / (1.0 - figures.share) * abs(value) + figures.offset


def narrow(found: Sum, box: Floats, low: float, high: float, rows: Flags) -> Floats:
    """Return the box [V] after the sum was found between two values [V], for the rows it speaks of.

    Each unknown keeps only what the others leave it; nothing that can be true is ever cut off.

    References
    ----------
    Arithmetic.
    """
    parts = parts_of(found, box)
    whole = parts.sum(axis=1) + found.rest
    others = whole[:, None, :] - parts
    least, most = low - others[1], high - others[0]
    factors = found.factors
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = np.stack([least / factors, most / factors])
    cut = np.stack([np.fmax(box[0], ends.min(axis=0)), np.fmin(box[1], ends.max(axis=0))])
    cut = np.where(rows & (factors != 0), cut, box)
    fails = rows & ((whole[0] > high + SLACK) | (whole[1] < low - SLACK))
    cut[0, LEVEL] = np.where(fails, np.inf, cut[0, LEVEL])
    return cut


@dataclass(frozen=True)
class Relation:
    """An unknown lies between ``ratio`` · common + least and ``ratio`` · common + most, where it holds."""

    unknown: int
    common: int
    ratio: float
    least: float
    most: float
    rows: Flags


def relations(rows: Candidates, figures: Figures) -> list[Relation]:
    """Return how faulty groups stand to the sound ones: low ones below them, high ones above, weak ones beside [V].

    A high group sags no more than sound ones: one that was replaced sags less. A leaking group may stand beside the others on the first day, below them or anywhere between.

    References
    ----------
    Common practice, no source.
    """
    inf, found = float("inf"), []
    for side in (0, 1):
        found += [
            Relation(REST_OF[side], LEVEL, 1.0, -figures.spread, figures.spread, rows.weak[side]),
            Relation(REST_OF[side], LEVEL, 1.0, -inf, -figures.least_off, rows.low[side]),
            Relation(REST_OF[side], LEVEL, 1.0, figures.least_off, inf, rows.high[side]),
            Relation(REST_OF[side], LEVEL, 1.0, -inf, figures.spread, rows.leaking[side]),
            Relation(DROP_OF[side], DROP, 1.0 + figures.drop_spread, -inf, 0.0, rows.high[side]),
            Relation(DROP_OF[side], DROP, 1.0 + figures.drop_spread, 0.0, inf, rows.weak[side]),
        ]
    return found


def related(box: Floats, every: Sequence[Relation]) -> Floats:
    """Return the box [V] after all relations between two unknowns.

    References
    ----------
    Arithmetic.
    """
    cut = box.copy()
    for relation in every:
        rows = np.flatnonzero(relation.rows)
        if rows.size:
            _relate(cut, relation, rows)
    return cut


def _relate(cut: Floats, relation: Relation, rows: Numbers) -> None:
    one, other, ratio = relation.unknown, relation.common, relation.ratio
    (least, most), (low, high) = cut[:, one, rows], cut[:, other, rows]
    cut[0, one, rows] = np.maximum(least, ratio * low + relation.least)
    cut[1, one, rows] = np.minimum(most, ratio * high + relation.most)
    cut[0, other, rows] = np.maximum(low, (least - relation.most) / ratio)
    cut[1, other, rows] = np.minimum(high, (most - relation.least) / ratio)


def possible(box: Floats) -> Flags:
    """Whether a row's box [V] still holds anything.

    References
    ----------
    Arithmetic.
    """
    return np.asarray((box[0] <= box[1] + SLACK).all(axis=0))
