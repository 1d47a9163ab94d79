"""The groups that stay in a pack of which others are replaced: what is known of them, and which group limits the pack."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from packs import levelling, topology
from packs.terms import FLAT_AT_REST, Chemistry, Measure, Stage
from packs.units import amount, of, to
from shop.models import Plan

from . import figures

STAYS = "stays"
"""What a drawing or a field says of a group that stays as it is."""


@dataclass(frozen=True)
class StandingGroup:
    """One group that stays: its rest voltage [mV] as found, before cutting and before joining, its capacity [mAh]."""

    number: int
    found_mv: Decimal | None
    rest_mv: Decimal | None
    capacity_mah: Decimal | None
    cut_mv: Decimal | None = None
    resistance_uohm: Decimal | None = None
    """DC resistance of the whole group, where somebody measured it."""

    @property
    def last_mv(self) -> Decimal | None:
        """What it rested at when it was last read [mV]."""
        return next((mv for mv in (self.rest_mv, self.cut_mv, self.found_mv) if mv is not None), None)


@dataclass(frozen=True)
class Limits:
    """What limits the pack: numbers and capacity [mAh] of the weakest groups; no number where all hold the same."""

    groups: tuple[int, ...]
    capacity_mah: Decimal


@dataclass(frozen=True)
class Mixed:
    """A pack of old and new groups as pages and papers tell it; ``limits`` is None where that is not known."""

    replaced: tuple[int, ...]
    groups: tuple[StandingGroup, ...]
    limits: Limits | None

    @property
    def stay(self) -> tuple[int, ...]:
        """Numbers of the groups that stay."""
        return tuple(group.number for group in self.groups)

    @property
    def limiting(self) -> tuple[int, ...]:
        """Numbers of the weakest groups; none where all hold the same, or it is not known."""
        return self.limits.groups if self.limits else ()

    @property
    def limit_mah(self) -> Decimal | None:
        """What the weakest group holds [mAh], and so the pack; None where it is not known."""
        return self.limits.capacity_mah if self.limits else None

    @property
    def unmeasured(self) -> tuple[int, ...]:
        """Numbers of the groups that stay whose capacity nobody measured."""
        return tuple(group.number for group in self.groups if group.capacity_mah is None)

    @property
    def least_mah(self) -> Decimal | None:
        """The least measured capacity of a group that stays [mAh]: what a new group holds, so as not to limit."""
        return _least(self.groups)


Capacities = Mapping[int, Decimal | None]


def groups(plan: Plan) -> tuple[StandingGroup, ...]:
    """Return the groups of a plan that stay, from the negative end; none of a pack that is rebuilt."""
    if not plan.standing_groups:
        return ()
    found, cut, rest = (
        figures.of_points(plan.job, stage, Measure.REST_VOLTAGE)
        for stage in (Stage.EXAMINE, Stage.DISMANTLE, Stage.MEASURE)
    )
    capacities = figures.of_points(plan.job, Stage.TARGET, Measure.CAPACITY)
    ohms = figures.of_points(plan.job, None, Measure.DC_RESISTANCE)
    return tuple(
        StandingGroup(number, found.get(point), rest.get(point), capacities.get(point), cut.get(point), ohms.get(point))
        for number, point in ((number, point_of(number)) for number in plan.standing_groups)
    )


def mixed(plan: Plan, new: Capacities) -> Mixed | None:
    """Return a pack of old and new groups with the capacities of the new ones; None where no group stays."""
    stay = groups(plan)
    if not stay:
        return None
    old = {group.number: group.capacity_mah for group in stay}
    return Mixed(plan.open_groups, stay, weakest({**old, **{number: new.get(number) for number in plan.open_groups}}))


def least_mah(plan: Plan) -> Decimal | None:
    """Return the least measured capacity of a group that stays [mAh]; None where nobody measured one."""
    return _least(groups(plan))


def _least(stay: Iterable[StandingGroup]) -> Decimal | None:
    return min((group.capacity_mah for group in stay if group.capacity_mah is not None), default=None)


def unknown(plan: Plan) -> bool:
    """Whether a group stays whose capacity nobody measured."""
    if not plan.standing_groups:
        return False
    known = figures.of_points(plan.job, Stage.TARGET, Measure.CAPACITY)
    return any(point_of(number) not in known for number in plan.standing_groups)


def weakest(capacities: Capacities) -> Limits | None:
    """Return what limits a pack of groups [mAh]; None where the capacity of one is not known."""
    known = {number: mah for number, mah in sorted(capacities.items()) if mah is not None}
    if not known or len(known) < len(capacities):
        return None
    found = topology.weakest_groups([of(Measure.CAPACITY, mah) for mah in known.values()])
    numbers = list(known)
    return Limits(tuple(numbers[index] for index in found.group_indexes), to(Measure.CAPACITY, found.capacity))


def by_charge(plan: Plan) -> bool:
    """Whether groups are brought to equal charge, since their rest voltage says too little about it."""
    return Chemistry(plan.cell_model.chemistry) in FLAT_AT_REST


def level_mv(rest_mv: Mapping[int, Decimal | None]) -> Decimal | None:
    """Return the rest voltage that a new group is brought to [mV]: the middle of those that stay; None where one is missing."""
    known = [value for value in rest_mv.values() if value is not None]
    if not known or len(known) < len(rest_mv):
        return None
    return amount(levelling.middle([of(Measure.REST_VOLTAGE, value) for value in known]), "mV")


def point_of(number: int) -> str:
    """Return how a whole group is named where something of it was read."""
    return f"group {number}"


def named(numbers: Iterable[int]) -> str:
    """Return groups as a sentence names them: "group 2", "groups 1, 3 and 4"."""
    words = [str(number) for number in numbers]
    if len(words) == 1:
        return f"group {words[0]}"
    return f"groups {', '.join(words[:-1])} and {words[-1]}"
