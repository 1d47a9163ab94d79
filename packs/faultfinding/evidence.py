"""What speaks for a set of faults and what against it, reading by reading."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue
from packs.faultfinding.diagnosis import STANDS, Diagnosis
from packs.faultfinding.faults import Fault
from packs.faultfinding.readings import Reading
from packs.faultfinding.sags import Sag, sag_grounds


@dataclass(frozen=True)
class Grounds:
    """Readings that speak for a set of faults, and the one that contradicts it.

    Attributes
    ----------
    supporting : tuple of (Reading, int)
        Readings it explains that contradicted rivals with no more faults, the strongest first; each with how many single
        faults it struck out, a sound pack among them: the same number wherever that reading is told.
    against : Reading or None
        The reading that struck it out, with those read before; None where it stands.
    sags : tuple of (Sag, bool)
        What groups lose under load, where it speaks for the set or against it [V].
    """

    supporting: tuple[tuple[Reading, int], ...]
    against: Reading | None
    sags: tuple[tuple[Sag, bool], ...] = ()


def evidence(found: Diagnosis, faults: Collection[Fault]) -> Grounds:
    """Return what speaks for and against one set of faults; readings in [V], at the sensor [Ω].

    Raises
    ------
    ImpossibleValue
        The set is not among the candidates.

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95.
    """
    wanted = set(faults)
    row = next((row for row, one in enumerate(found.every.faults) if set(one) == wanted), None)
    if row is None:
        raise ImpossibleValue("No candidate has these faults.")
    by = int(found.struck_by[row])
    sagging = tuple(sag_grounds(found.model, found.readings, faults))
    if by != STANDS:
        return Grounds((), found.readings[by], sagging)
    told, among_rivals = _struck(found, 1), _struck(found, max(len(wanted), 1))
    order = sorted(range(len(found.readings)), key=lambda number: -among_rivals[number])
    return Grounds(tuple((found.readings[n], told[n]) for n in order if among_rivals[n]), None, sagging)


def _struck(found: Diagnosis, most: int) -> list[int]:
    """How many sets of so many faults at most each reading struck out."""
    rows = np.array([len(one) <= most for one in found.every.faults]) & (found.struck_by != STANDS)
    counted: list[int] = np.bincount(found.struck_by[rows], minlength=len(found.readings)).tolist()
    return counted
