"""How far apart the strips of one face lie: two of them never touch."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from packs.layout.cutting import Piece, StripSection, pieces
from packs.layout.measures import NO_LENGTH, Geometry, Millimetres, millimetres
from packs.terms import Face
from packs.units import Quantity, ureg


def smallest_clearance(
    measured: Geometry, section: StripSection, *, overhang: Quantity | None = None
) -> Quantity | None:
    """Return the smallest gap between two strips of one face, each taken as its pieces, flat rectangles.

    Solder tabs lead away from the pack and are left out.

    Parameters
    ----------
    measured : Geometry
        The pack in millimetres.
    section : StripSection
        Of the strip [length].
    overhang : Quantity, optional
        Strip beyond the middle of the outermost joint [length]; half the strip's width where not given.

    Returns
    -------
    Quantity or None
        [mm]; zero or less where strips touch, None where no face carries two strips.

    Raises
    ------
    ImpossibleValue
        The overhang is below zero.

    References
    ----------
    Plane geometry; separating axes of convex figures.
    """
    width = millimetres(section.width)
    over = width / 2 if overhang is None else millimetres(overhang)
    cut = pieces(measured, section, tab=NO_LENGTH, overhang=overhang)
    gaps = [gap for face in measured.layout.faces for gap in _gaps_on(measured, face, cut, over, width)]
    return ureg.Quantity(min(gaps), "millimeter") if gaps else None


def _gaps_on(measured: Geometry, face: Face, cut: list[Piece], over: float, width: float) -> Iterator[float]:
    numbers = {strip.number for strip in measured.layout.strips_on(face)}
    here = [piece for piece in cut if piece.strip in numbers]
    strips = np.array([piece.strip for piece in here])
    apart = strips[:, None] != strips
    if apart.any():
        yield float(_gaps(_rectangles(measured, here, over, width))[apart].min())


@dataclass(frozen=True, eq=False)
class _Rectangles:
    """Middles, shape (n, 2); the two unit vectors of each, (n, 2, 2); half of length and width, (n, 2)."""

    middle: Millimetres
    axes: Millimetres
    half: Millimetres

    @property
    def corners(self) -> Millimetres:
        """Shape (n, 4, 2)."""
        signs = np.array([(-1, -1), (-1, 1), (1, 1), (1, -1)])
        return self.middle[:, None] + np.einsum("nk,sk,nkd->nsd", self.half, signs, self.axes)


def _rectangles(measured: Geometry, cut: list[Piece], over: float, width: float) -> _Rectangles:
    joints = measured.joint_positions.to("millimeter").magnitude
    ends = joints[[(piece.joints[0], piece.joints[-1]) for piece in cut]]
    run = ends[:, 1] - ends[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    # A piece over one joint alone has no direction of its own and is taken to lie across.
    along = np.where(length[:, None] > 0, run / np.where(length > 0, length, 1.0)[:, None], (1.0, 0.0))
    axes = np.stack([along, np.stack([-along[:, 1], along[:, 0]], axis=1)], axis=1)
    half = np.stack([length / 2 + over, np.full_like(length, width / 2)], axis=1)
    return _Rectangles(ends.mean(axis=1), axes, half)


def _gaps(flat: _Rectangles) -> Millimetres:
    """Distance of each two rectangles, below zero by how far they lie over each other, shape (n, n)."""
    separation, distance = _separation(flat), _corner_distance(flat)
    separation, distance = np.maximum(separation, separation.T), np.minimum(distance, distance.T)
    return np.where(separation > 0, distance, separation)


def _separation(flat: _Rectangles) -> Millimetres:
    """Widest gap to the second of two along the axes of the first."""
    apart = np.einsum("nmd,nkd->nmk", flat.middle[None] - flat.middle[:, None], flat.axes)
    reach = np.einsum("nkd,mjd->nmkj", flat.axes, flat.axes)
    covered = flat.half[:, None] + np.einsum("nmkj,mj->nmk", abs(reach), flat.half)
    return (abs(apart) - covered).max(axis=2)


def _corner_distance(flat: _Rectangles) -> Millimetres:
    """Distance from the first of two to the nearest corner of the second."""
    away = flat.corners[None] - flat.middle[:, None, None]
    beyond = abs(np.einsum("nmsd,nkd->nmsk", away, flat.axes)) - flat.half[:, None, None]
    return np.linalg.norm(np.maximum(beyond, 0.0), axis=3).min(axis=2)
