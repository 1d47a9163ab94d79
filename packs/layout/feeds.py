"""Where the leads of a pack are attached to its terminal strips."""

from dataclasses import dataclass

import numpy as np

from packs.layout.links import Ints
from packs.layout.model import Layout
from packs.terms import Feed


@dataclass(frozen=True)
class Feeds:
    """Where the lead is attached on the negative and on the positive terminal strip."""

    negative: Feed = Feed.LAST_END
    positive: Feed = Feed.LAST_END


def feed_joint(layout: Layout, node: int, feed: Feed) -> int:
    """Return the joint at which a lead meets a terminal strip, as its number in ``layout.joints``.

    It lies on the outer line of the strip: the column or row of joints farthest from the neighbouring group. A count
    [dimensionless].

    Parameters
    ----------
    layout : Layout
        Cells and strips.
    node : int
        0 for the negative end of the pack, the number of groups for the positive.
    feed : Feed
        Which joint of the outer line.

    Returns
    -------
    int
        From 0.

    References
    ----------
    Common practice, no source: leads leave a pack at its outer edge.
    """
    line = outer_line(layout, node)
    place = {Feed.FIRST_END: 0, Feed.MIDDLE: (len(line) - 1) // 2, Feed.LAST_END: -1}[feed]
    return int(line[place])


def outer_line(layout: Layout, node: int) -> Ints:
    """Return the joints of a terminal strip on the outer edge, from the top or from the left, shape (joints,).

    Counts [dimensionless].

    Parameters
    ----------
    layout : Layout
        Cells and strips.
    node : int
        0 for the negative end of the pack, the number of groups for the positive.

    Returns
    -------
    array of int
        Numbers in ``layout.joints``.

    References
    ----------
    Common practice, no source.
    """
    links, (across, down) = layout.links, outward(layout, node)
    outside, along = (links.line, links.row) if across else (links.row, links.line)
    own = np.flatnonzero(links.strip == node)
    outermost = outside[own].min() if across + down < 0 else outside[own].max()
    edge = own[outside[own] == outermost]
    return edge[np.argsort(along[edge], kind="stable")]


def outward(layout: Layout, node: int) -> tuple[int, int]:
    """Return the direction in which a terminal strip looks out of the pack, away from the neighbouring group.

    Parameters
    ----------
    layout : Layout
        Cells and strips.
    node : int
        0 for the negative end of the pack, the number of groups for the positive.

    Returns
    -------
    tuple of int
        Across and down, seen from the top face: one of them -1 or 1, the other 0.

    References
    ----------
    Common practice, no source.
    """
    links = layout.links
    own = links.strip == node
    other = links.group == _neighbour(layout, node)
    if not other.any():
        return (-1 if node == 0 else 1), 0
    beside = bool(set(links.row[own].tolist()) & set(links.row[other].tolist()))
    outside = links.line if beside else links.row
    away = -1 if outside[other].mean() > outside[own].mean() else 1
    return (away, 0) if beside else (0, away)


def _neighbour(layout: Layout, node: int) -> int:
    """Return the group beside the one at an end of the pack; 0 where there is none."""
    series = layout.arrangement.series
    if series == 1:
        return 0
    return 2 if node == 0 else series - 1
