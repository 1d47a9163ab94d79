"""What can be measured: probe points, circumstance, and what it takes at the bench."""

from dataclasses import dataclass
from itertools import pairwise

from packs.faultfinding.prediction import Pair
from packs.faultfinding.readings import Circumstance, Place, Point
from packs.terms import Term


class Access(Term):
    """What has to be done before the probes are held, safest and cheapest first."""

    SHUT = "shut", "case shut"
    OPEN = "open", "case open"
    UNDER_LOAD = "under_load", "case open, under load"
    CHARGING = "charging", "with the charger, supervised"
    WAITING = "waiting", "a day later"


# Effort and risk of one measurement, to weigh what it tells against: common practice, no source.
EFFORT = {Access.SHUT: 1.0, Access.OPEN: 1.3, Access.UNDER_LOAD: 1.6, Access.CHARGING: 2.0, Access.WAITING: 2.5}
OPENING = 6.0  # of the case, once: screws, clips or glue take longer than any reading
PAIR_MORE = 0.1  # of each further pair of points in the same set-up


@dataclass(frozen=True)
class Measurement:
    """One measurement: one set-up of the pack, and the pairs of points that are read in it one after another."""

    pairs: tuple[Pair, ...]
    circumstance: Circumstance
    access: Access
    opens: bool = False  # the case is still shut and has to be opened for it

    @property
    def effort(self) -> float:
        """Effort and risk, for weighing alone: common practice, no source [dimensionless]."""
        return EFFORT[self.access] + PAIR_MORE * (len(self.pairs) - 1) + OPENING * self.opens

    def __str__(self) -> str:
        low, high = self.pairs[0]
        more = f" and {len(self.pairs) - 1} more" if len(self.pairs) > 1 else ""
        where = f"{low} to {high}{more}"
        return f"{where}, {self.circumstance.label} ({self.access.label})"


def tap_pairs(series: int) -> tuple[Pair, ...]:
    """Return what a plug shows as groups: each from the positive end of the group below to its own.

    So a joint reads together with the group above it [V].

    References
    ----------
    Kirchhoff's voltage law.
    """
    taps = [Point(Place.GROUP, False, 1), *(Point(Place.GROUP, True, number) for number in range(1, series + 1))]
    return tuple(pairwise(taps))


def ends(place: Place, number: int = 0) -> Pair:
    """Return both contacts of one place, negative first: read in [V], the sensor in [Ω].

    References
    ----------
    Common practice, no source.
    """
    return Point(place, False, number), Point(place, True, number)


def group_pairs(series: int) -> tuple[Pair, ...]:
    """Return the terminals of every group, so that no joint lies between the probes [V].

    References
    ----------
    Common practice, no source.
    """
    return tuple(ends(Place.GROUP, number) for number in range(1, series + 1))


def path_pairs(series: int) -> tuple[Pair, ...]:
    """Return both ends of every part along the stack: lead, group, joint, group ... lead [V].

    References
    ----------
    Common practice, no source.
    """
    low, high = ends(Place.BOARD_INPUT)
    points = [low, *(point for pair in group_pairs(series) for point in pair), high]
    return tuple(pairwise(points))
