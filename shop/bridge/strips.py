"""The strip of a target pack: the pieces to cut, and the order in which they are laid."""

from collections import Counter
from dataclasses import dataclass

from packs.layout import (
    CutList,
    WorkStep,
    cut_list,
    order_of_work,
    smallest_clearance,
)
from packs.materials import metal
from packs.terms import Face, Measure, StripMaterial
from packs.units import Quantity, of, ureg
from shop.models import Plan

from .conductors import strip_section, tab_length
from .spacing import measured

SMALLEST_CLEARANCE = ureg.Quantity(0.0, "millimeter")


@dataclass(frozen=True)
class Cutting:
    """Strip to cut, every layer counted; ``clearance`` is the smallest room between two strips of one face."""

    pieces: tuple[tuple[Quantity, int, int], ...]
    total_length: Quantity
    mass: Quantity
    clearance: Quantity | None
    width: Quantity
    thickness: Quantity
    tab: Quantity

    @property
    def touches(self) -> bool:
        """Whether two strips of one face would touch."""
        return self.clearance is not None and bool(self.clearance <= SMALLEST_CLEARANCE)


@dataclass(frozen=True)
class Laid:
    """One step of joining: pieces on one face and one strip, what is covered before, and the voltage in reach after it.

    ``groups`` is the one whose cells are joined, or the two that become one chain; ``in_reach`` is that of the longest
    chain, fully charged.
    """

    number: int
    face: Face
    turn_first: bool
    strip: int
    groups: tuple[int, ...]
    pieces: tuple[tuple[Quantity, int], ...]
    keep_covered: tuple[int, ...]
    in_reach: Quantity


def cutting(plan: Plan) -> Cutting:
    """Return the strip to be cut for a plan's pack; of a repair the pieces that touch a group that is replaced.

    Raises
    ------
    packs.errors.MissingFact
        The cells' spacing is not known.
    """
    section, layers = strip_section(plan), plan.strip_layers or 1
    placed = measured(plan)
    density = metal(StripMaterial(plan.strip_material)).density
    tab = tab_length(plan)
    listed: CutList = cut_list(placed, section, density, tab=tab, groups=plan.replaced)
    return Cutting(
        pieces=tuple((cut.length, cut.count * layers, cut.tabs * layers) for cut in listed.cuts),
        total_length=listed.total_length * layers,
        mass=listed.mass * layers,
        clearance=smallest_clearance(placed, section),
        width=section.width,
        thickness=section.thickness,
        tab=tab,
    )


def laying(plan: Plan) -> tuple[Laid, ...]:
    """Return the steps in which the pieces of a pack are laid.

    There are none where two strips of one face would touch, and none of a repair: its other groups hang together
    already, so that their whole voltage is in reach from the first piece on.

    Raises
    ------
    packs.errors.MissingFact
        The cells' spacing is not known.
    """
    if plan.replaced or cutting(plan).touches:
        return ()
    steps = order_of_work(measured(plan), strip_section(plan), tab=tab_length(plan))
    full = of(Measure.VOLTAGE, plan.cell_model.charge_limit_mv)
    return tuple(_laid(step, full * step.groups_in_reach, plan.strip_layers or 1) for step in steps)


def _laid(step: WorkStep, in_reach: Quantity, layers: int) -> Laid:
    lengths = Counter(round(float(piece.length.to("millimeter").magnitude), 1) for piece in step.pieces)
    return Laid(
        number=step.number,
        face=step.face,
        turn_first=step.turn_first,
        strip=step.strip,
        groups=step.groups,
        pieces=tuple((ureg.Quantity(mm, "millimeter"), count * layers) for mm, count in sorted(lengths.items())),
        keep_covered=step.keep_covered,
        in_reach=in_reach,
    )
