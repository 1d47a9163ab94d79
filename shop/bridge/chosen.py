"""The cells that a plan holds, group by group, by their newest readings."""

from dataclasses import dataclass
from decimal import Decimal

from packs.network import group_resistance
from packs.terms import Measure
from packs.units import Quantity, of
from shop.models import Plan

from . import figures, standing


@dataclass(frozen=True)
class ChosenGroup:
    """One group: its cells with what is known of each, and what they add up to where all of it is known."""

    number: int
    cells: tuple[tuple[str, figures.Figures], ...]
    capacity: Quantity | None
    resistance: Quantity | None
    weakest: bool


@dataclass(frozen=True)
class Chosen:
    """The groups of a plan, the weakest of them, and what no weakest group could exceed as far as was proven."""

    groups: tuple[ChosenGroup, ...]
    weakest: Quantity | None
    most: Quantity | None

    @property
    def codes(self) -> dict[tuple[int, int], str]:
        """Code of the cell at each group and place."""
        return {
            (group.number, place): code for group in self.groups for place, (code, _) in enumerate(group.cells, start=1)
        }

    @property
    def weakest_groups(self) -> list[int]:
        """Numbers of the weakest groups; none where all hold the same, or it is not known."""
        return [group.number for group in self.groups if group.weakest]


def of_plan(plan: Plan) -> Chosen:
    """Return the groups that are built anew with the cells chosen for them."""
    positions = list(plan.positions.select_related("cell").order_by("group", "place"))
    known = figures.of_cells([position.cell for position in positions])
    cells = {
        number: tuple((one.cell.code, known.get(one.cell_id, {})) for one in positions if one.group == number)
        for number in plan.open_groups
    }
    held = {number: _sum([read.get(Measure.CAPACITY) for _, read in own]) for number, own in cells.items()}
    limits = standing.weakest(held)
    groups = tuple(
        ChosenGroup(
            number,
            own,
            None if (mah := held[number]) is None else of(Measure.CAPACITY, mah),
            _parallel([read.get(Measure.DC_RESISTANCE) for _, read in own]),
            limits is not None and number in limits.groups,
        )
        for number, own in cells.items()
    )
    most = None if plan.limits is None or plan.standing_groups else plan.limits.get("most_mah")
    return Chosen(
        groups,
        None if limits is None else of(Measure.CAPACITY, limits.capacity_mah),
        None if most is None else of(Measure.CAPACITY, Decimal(most)),
    )


def _sum(values: list[Decimal | None]) -> Decimal | None:
    known = [value for value in values if value is not None]
    return sum(known, Decimal()) if known and len(known) == len(values) else None


def _parallel(ohms: list[Decimal | None]) -> Quantity | None:
    known = [of(Measure.DC_RESISTANCE, value) for value in ohms if value]
    return group_resistance(known) if known and len(known) == len(ohms) else None
