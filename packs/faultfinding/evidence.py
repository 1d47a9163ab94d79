"""What speaks for a set of faults and what against it, reading by reading."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue
from packs.faultfinding.diagnosis import STANDS, Diagnosis
from packs.faultfinding.faults import Fault
from packs.faultfinding.readings import Reading


@dataclass(frozen=True)
class Grounds:
    """Readings that speak for a set of faults, and the one that contradicts it.

    Attributes
    ----------
    supporting : tuple of (Reading, int)
        Readings it explains that contradicted rivals with no more faults, and how many each; the strongest first.
    against : Reading or None
        The reading that struck it out, with those read before; None where it stands.
    """

    supporting: tuple[tuple[Reading, int], ...]
    against: Reading | None


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
    if by != STANDS:
        return Grounds((), found.readings[by])
    rivals = np.array([len(one) <= max(len(wanted), 1) for one in found.every.faults])
    struck = np.bincount(found.struck_by[rivals & (found.struck_by != STANDS)], minlength=len(found.readings))
    ranked = sorted(((one, int(count)) for one, count in zip(found.readings, struck, strict=True)), key=lambda x: -x[1])
    return Grounds(tuple((one, count) for one, count in ranked if count), None)
