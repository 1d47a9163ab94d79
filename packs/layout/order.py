"""The order in which a pack is joined, so that nothing laid down ever bridges two groups."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from packs.errors import ImpossibleValue
from packs.layout.clearance import smallest_clearance
from packs.layout.cutting import Piece, StripSection, pieces
from packs.layout.feeds import Feeds
from packs.layout.measures import Geometry
from packs.layout.model import Layout
from packs.terms import Face
from packs.units import Quantity


@dataclass(frozen=True)
class WorkStep:
    """One step of joining: pieces that lie on one face and on one strip.

    Attributes
    ----------
    number : int
        From 1.
    face : Face
        Which face lies up.
    turn_first : bool
        Whether the pack is turned over before this step.
    strip : int
        Number of the strip that the pieces are part of.
    groups : tuple of int
        The one group whose cells are joined, or the two that become one chain.
    pieces : tuple of Piece
        What is laid and joined.
    keep_covered : tuple of int
        Numbers of the other strips on this face: covered before a piece or a tool comes near.
    groups_in_reach : int
        Groups in series of the longest chain after the step: so many group voltages are in reach.
    """

    number: int
    face: Face
    turn_first: bool
    strip: int
    groups: tuple[int, ...]
    pieces: tuple[Piece, ...]
    keep_covered: tuple[int, ...]
    groups_in_reach: int


def order_of_work(
    measured: Geometry,
    section: StripSection,
    *,
    tab: Quantity,
    overhang: Quantity | None = None,
    feeds: Feeds | None = None,
    one_group_at_a_time: bool = False,
) -> tuple[WorkStep, ...]:
    """Return the steps in which the pieces of a pack are laid and joined.

    First the cells of every group are joined among themselves, group by group, on the one face and then on the other:
    until that is done no piece touches two groups. Then the links from group to group follow, on the face that lies
    up, and after turning the pack on the other one. A link lies on one strip only, so on one potential. Pieces with
    their lengths [length].

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    section, tab, overhang, feeds
        As ``pieces``.
    one_group_at_a_time : bool
        Links in the order of the strips' numbers instead, so that each adds a single group to the voltage in
        reach; the pack is then turned over for every link.

    Returns
    -------
    tuple of WorkStep
        Every piece in exactly one step.

    Raises
    ------
    ImpossibleValue
        The strip is so wide, or overhangs so far, that two strips of one face would touch.

    References
    ----------
    Common practice, no source.
    """
    room = smallest_clearance(measured, section, overhang=overhang)
    if room is not None and room.magnitude <= 0:
        raise ImpossibleValue("Two strips of one face would touch: take a narrower strip or a wider holder.")
    cut = pieces(measured, section, tab=tab, overhang=overhang, feeds=feeds)
    within, between = _batches(measured.layout, cut)
    ordered = sorted(within, key=lambda step: (step.face is Face.BOTTOM, step.groups))
    up = ordered[-1].face if ordered else Face.TOP
    if one_group_at_a_time:
        ordered += sorted(between, key=lambda step: step.strip)
    else:
        ordered += sorted(between, key=lambda step: (step.face is not up, step.strip))
    return tuple(_numbered(ordered))


def _batches(layout: Layout, cut: Sequence[Piece]) -> tuple[list[WorkStep], list[WorkStep]]:
    """Pieces that are laid together: those along one group on one strip, and those between the same two groups."""
    batches: dict[tuple[int, tuple[int, ...]], list[Piece]] = defaultdict(list)
    for piece in cut:
        groups = sorted({layout.joints[joint].group for joint in piece.joints})
        batches[piece.strip, tuple(groups)].append(piece)
    steps = [_step(layout, strip, groups, batch) for (strip, groups), batch in batches.items()]
    return [step for step in steps if len(step.groups) == 1], [step for step in steps if len(step.groups) == 2]


def _step(layout: Layout, number: int, groups: tuple[int, ...], batch: list[Piece]) -> WorkStep:
    face = layout.strips[number - 1].face
    others = tuple(strip.number for strip in layout.strips_on(face) if strip.number != number)
    return WorkStep(0, face, False, number, groups, tuple(batch), others, 0)


def _numbered(ordered: Sequence[WorkStep]) -> Iterator[WorkStep]:
    up, linked = ordered[0].face, set[int]()
    for number, step in enumerate(ordered, start=1):
        linked.update(step.groups[:-1])
        yield replace(step, number=number, turn_first=step.face is not up, groups_in_reach=_longest_chain(linked))
        up = step.face


def _longest_chain(linked: set[int]) -> int:
    """Groups in the longest chain, where each number stands for the link from that group to the next."""
    longest = chain = 1
    for group in sorted(linked):
        chain = chain + 1 if group - 1 in linked else 2
        longest = max(longest, chain)
    return longest
