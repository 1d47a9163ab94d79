"""What is to be cut: straight pieces of strip, their lengths, their mass."""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.layout.feeds import Feeds, feed_joint
from packs.layout.links import Links
from packs.layout.measures import Geometry, Millimetres, millimetres
from packs.layout.model import Layout
from packs.units import Quantity, ureg

Run: TypeAlias = tuple[int, ...]  # joints under one straight piece

_STRAIGHT = 1e-9  # largest cross product of two unit vectors that count as one direction


class PieceKind(StrEnum):
    """What a piece of strip does."""

    WITHIN = "along a group"
    BETWEEN = "from group to group"
    TAB = "solder tab alone"


@dataclass(frozen=True)
class StripSection:
    """Width and thickness of strip or bar [length].

    Raises
    ------
    ImpossibleValue
        One of them is not above zero.
    """

    width: Quantity
    thickness: Quantity

    def __post_init__(self) -> None:
        if min(millimetres(self.width), millimetres(self.thickness)) <= 0:
            raise ImpossibleValue("Strip has a width and a thickness.")

    @property
    def area(self) -> Quantity:
        """Cross-section [area]."""
        return (self.width * self.thickness).to("mm**2")


@dataclass(frozen=True)
class Piece:
    """One straight piece.

    Attributes
    ----------
    strip : int
        Number of the strip that it is part of.
    kind : PieceKind
        Along a group, from group to group, or a tab alone.
    joints : tuple of int
        Joints under it, numbers in ``Layout.joints``, from one end to the other.
    length : Quantity
        As it is cut, the tab included [length].
    tab : Quantity
        Solder tab beyond the cells [length]; zero for most.
    """

    strip: int
    kind: PieceKind
    joints: tuple[int, ...]
    length: Quantity
    tab: Quantity


@dataclass(frozen=True)
class Cut:
    """So many pieces of one length [length]; ``tabs`` of them end in a solder tab."""

    length: Quantity
    count: int
    tabs: int


@dataclass(frozen=True)
class CutList:
    """All pieces of a pack.

    Attributes
    ----------
    pieces : tuple of Piece
        Strip by strip.
    cuts : tuple of Cut
        The same by length to 0.1 mm, the longest first.
    total_length : Quantity
        Of all pieces, unrounded [length].
    mass : Quantity
        Of all pieces [mass].
    """

    pieces: tuple[Piece, ...]
    cuts: tuple[Cut, ...]
    total_length: Quantity
    mass: Quantity


def cut_list(
    measured: Geometry,
    section: StripSection,
    density: Quantity,
    *,
    tab: Quantity,
    overhang: Quantity | None = None,
    feeds: Feeds | None = None,
    groups: Collection[int] = (),
) -> CutList:
    """Return the pieces to be cut for a pack: length = distance of the outer joints + 2·overhang + tab.

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    section : StripSection
        Of the strip [length].
    density : Quantity
        Of its metal [mass/length³]; mass = length · width · thickness · density.
    tab, overhang, feeds
        As ``pieces``.
    groups : collection of int
        Only pieces that touch one of these groups are cut, where some are named: the others stay in an old pack.

    Returns
    -------
    CutList
        Lengths [mm] and mass [g].

    Raises
    ------
    ImpossibleValue
        As ``pieces``; or the density is not above zero.

    References
    ----------
    Geometry; definition of density.
    """
    heavy = float(density.to("g/mm**3").magnitude)
    if not heavy > 0:
        raise ImpossibleValue("A metal has a density above zero.")
    every = pieces(measured, section, tab=tab, overhang=overhang, feeds=feeds)
    cut = tuple(piece for piece in every if not groups or _touches(measured.layout, piece, groups))
    total = sum(millimetres(piece.length) for piece in cut)
    area = float(section.area.to("mm**2").magnitude)
    return CutList(cut, tuple(_cuts(cut)), ureg.Quantity(total, "millimeter"), ureg.Quantity(total * area * heavy, "g"))


def _touches(layout: Layout, piece: Piece, groups: Collection[int]) -> bool:
    return any(layout.joints[joint].group in groups for joint in piece.joints)


def _cuts(cut: tuple[Piece, ...]) -> Iterator[Cut]:
    lengths = [round(millimetres(piece.length), 1) for piece in cut]
    tabs = Counter(length for length, piece in zip(lengths, cut, strict=True) if piece.tab.magnitude)
    for length, count in sorted(Counter(lengths).items(), reverse=True):
        yield Cut(ureg.Quantity(length, "millimeter"), count, tabs[length])


def pieces(
    measured: Geometry,
    section: StripSection,
    *,
    tab: Quantity,
    overhang: Quantity | None = None,
    feeds: Feeds | None = None,
) -> list[Piece]:
    """Return the straight pieces of every strip.

    Along a group each straight run of joints is one piece; from group to group each link is a piece of its own, so
    that no piece has to be laid over two groups before each of them is joined. The pieces at the two ends of the
    pack are cut longer by a tab: the lead is soldered there, away from the cell, and the heat stays in the tab.

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    section : StripSection
        Of the strip [length].
    tab : Quantity
        Free length of the solder tab [length].
    overhang : Quantity, optional
        Strip beyond the middle of the outermost joint [length]; half the strip's width where not given.
    feeds : Feeds, optional
        Where the leads are attached; at the last cells of the outer lines where not given.

    Returns
    -------
    list of Piece
        Strip by strip, those along a group first. Lengths [mm].

    Raises
    ------
    ImpossibleValue
        A length is below zero or not a number.

    References
    ----------
    Common practice, no source: overhang of half a width, tab for the solder joint.
    """
    tab_mm = millimetres(tab)
    over_mm = millimetres(section.width) / 2 if overhang is None else millimetres(overhang)
    if min(tab_mm, over_mm) < 0:
        raise ImpossibleValue("Tab and overhang are lengths of zero or more.")
    runs = [*_straight_runs(measured), *_links_between(measured)]
    tabs = [_tab_run(measured.layout, runs, end) for end in _feed_joints(measured.layout, feeds or Feeds())]
    runs += [run for run in tabs if len(run) == 1]
    positions = measured.joint_positions.to("millimeter").magnitude
    links = measured.layout.links
    cut = [_piece(links, positions, run, over_mm, tab_mm if run in tabs else 0.0) for run in runs]
    return sorted(cut, key=lambda piece: (piece.strip, piece.kind is PieceKind.BETWEEN))


def _feed_joints(layout: Layout, feeds: Feeds) -> tuple[int, int]:
    series = layout.arrangement.series
    return feed_joint(layout, 0, feeds.negative), feed_joint(layout, series, feeds.positive)


def _tab_run(layout: Layout, runs: Sequence[Run], joint: int) -> Run:
    """Return the longest run that ends at a joint, or a piece over that joint alone."""
    within = [run for run in runs if joint in (run[0], run[-1]) and not layout.links.joins_groups(run)]
    return max(within, key=len, default=(joint,))


def _straight_runs(measured: Geometry) -> Iterator[Run]:
    """Chains of links within a group, cut where the direction changes."""
    links, positions = measured.layout.links, measured.joint_positions.to("millimeter").magnitude
    run: Run = ()
    for first, second in zip(*(ends[~links.between].tolist() for ends in (links.first, links.second)), strict=True):
        if run and run[-1] == first and _straight(positions, run[-2], first, second):
            run = (*run, second)
            continue
        if run:
            yield run
        run = (first, second)
    if run:
        yield run


def _straight(positions: Millimetres, before: int, here: int, there: int) -> bool:
    (x, y), (u, v) = positions[here] - positions[before], positions[there] - positions[here]
    return bool(abs(x * v - y * u) <= _STRAIGHT * np.hypot(x, y) * np.hypot(u, v) and x * u + y * v > 0)


def _links_between(measured: Geometry) -> Iterator[Run]:
    links = measured.layout.links
    yield from zip(*(ends[links.between].tolist() for ends in (links.first, links.second)), strict=True)


def _piece(links: Links, positions: Millimetres, run: Run, over_mm: float, tab_mm: float) -> Piece:
    span = float(np.hypot(*(positions[run[-1]] - positions[run[0]])))
    kind = PieceKind.TAB if len(run) == 1 else PieceKind.BETWEEN if links.joins_groups(run) else PieceKind.WITHIN
    length = ureg.Quantity(span + 2 * over_mm + tab_mm, "millimeter")
    return Piece(int(links.strip[run[0]]) + 1, kind, run, length, ureg.Quantity(tab_mm, "millimeter"))
