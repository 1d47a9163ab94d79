"""What a reading across part of the stack would show: a sum over sound and faulty parts, by Kirchhoff's laws."""

from dataclasses import dataclass

import numpy as np

from packs.faultfinding.candidates import (
    DROP,
    DROP_OF,
    LEVEL,
    LOSS_OF,
    REST_OF,
    UNKNOWNS,
    Candidates,
    Flags,
    Floats,
    Numbers,
)
from packs.faultfinding.model import Figures
from packs.faultfinding.readings import Circumstance

LOADED = frozenset({Circumstance.LOAD, Circumstance.OUTLET_LOAD})


@dataclass(frozen=True)
class Sum:
    """Σ factor · unknown + rest of every row, for the span between two nodes.

    Attributes
    ----------
    factors : array of shape (8, rows)
        [dimensionless]
    rest : array of shape (2, rows)
        Least and largest of what sound parts differ by [V].
    floats : array of rows
        Whether the span contains something open, so that the meter reads nothing that belongs to it.
    doubtful : array of rows
        Whether the span contains something that may make the reading unsteady.
    """

    factors: Floats
    rest: Floats
    floats: Flags
    doubtful: Flags


def span_sum(rows: Candidates, figures: Figures, span: tuple[int, int], circumstance: Circumstance) -> Sum:
    """Return the voltage [V] between two nodes of the stack as a sum over its parts, for every candidate.

    References
    ----------
    Kirchhoff's voltage law.
    """
    first, last = span
    inside = (rows.element >= first) & (rows.element < last)
    faulty_groups = (inside & rows.group).sum(axis=0)
    groups = last // 2 - first // 2 - faulty_groups
    joints, leads = _sound_links(rows, figures, span)
    current = np.where(rows.broken.any(axis=0), 0.0, float(circumstance in LOADED))
    factors = np.zeros((UNKNOWNS, len(rows)))
    factors[LEVEL] = groups
    factors[DROP] = -groups * current
    for side in (0, 1):
        factors[REST_OF[side]] = inside[side]
        factors[DROP_OF[side]] = -1.0 * inside[side] * current
        factors[LOSS_OF[side]] = -1.0 * inside[side] * (circumstance is Circumstance.NEXT_DAY)
    strays = groups * (figures.spread + current * figures.drop_spread * rows.box[1, DROP])
    ages = groups * figures.ageing * (circumstance is Circumstance.NEXT_DAY)
    linked = current * (joints * figures.joint_drop + leads * figures.lead_drop)
    rest = np.stack([-strays - linked - ages, strays])
    floats, doubtful = inside & rows.broken, inside & rows.doubtful
    return Sum(factors, rest, floats[0] | floats[1], doubtful[0] | doubtful[1])


def _sound_links(rows: Candidates, figures: Figures, span: tuple[int, int]) -> tuple[Numbers, Numbers]:
    """How many sound joints and how many sound leads lie within the span, row by row."""
    first, last = span
    all_leads = (first == 0) + (last > figures.upper_lead)
    all_joints = (last - first) - (last // 2 - first // 2) - all_leads
    faulty = (rows.element >= first) & (rows.element < last) & ~rows.group
    lead = (rows.element == 0) | (rows.element == figures.upper_lead)
    return all_joints - (faulty & ~lead).sum(axis=0), all_leads - (faulty & lead).sum(axis=0)


def parts_of(found: Sum, box: Floats) -> Floats:
    """Return least and largest of every term of a sum [V]: array of shape (2, 8, rows).

    References
    ----------
    Arithmetic.
    """
    ends = found.factors * box
    return np.stack([ends.min(axis=0), ends.max(axis=0)])


def bounds(found: Sum, box: Floats) -> Floats:
    """Return least and largest voltage of the span [V]: array of shape (2, rows).

    References
    ----------
    Arithmetic.
    """
    return parts_of(found, box).sum(axis=1) + found.rest
