"""Kirchhoff's laws for a whole pack, as one sparse system of node voltages.

A cell and its two joints carry one current, so they enter as one branch; what lies between them follows by Ohm's
law. So do tabs and leads, which carry the current of the pack. That halves the system, and joints of hardly any
resistance cost no digits.
"""

from typing import TYPE_CHECKING

import numpy as np

from packs.network.circuit import Bools, Floats, Ints, PackCircuit

if TYPE_CHECKING:
    from scipy.sparse import csc_array

NO_OHM = 1e-9  # strip between two joints that resists less counts as none: beside a cell it would cost digits


def strip_voltages(circuit: PackCircuit, cell_ohm: Floats, cell_volt: Floats) -> Floats:
    """Return the voltage of the strip under each joint [V]: at rest, and per ampere drawn with all cells at 0 V.

    G·v = i, with G the conductances of the branches and i what the cells, as Norton's equivalents, drive into the
    nodes. Joints between which the strip does not resist are one node.

    Parameters
    ----------
    circuit : PackCircuit
        What joins the cells.
    cell_ohm, cell_volt : array of float, shape (cells,)
        Resistance [Ω], above zero, and rest voltage [V] of each cell.

    Returns
    -------
    array of float, shape (2, joints)
        [V] and [V/A], against the joint at which the negative lead is attached.

    References
    ----------
    Kirchhoff's laws; Norton's equivalent; nodal analysis.
    """
    from scipy.sparse.linalg import splu

    links = circuit.measured.layout.links
    solid = circuit.link_ohm > NO_OHM
    node = _merged(circuit, solid)
    tails = node[np.concatenate([circuit.minus, links.first[solid]])]
    heads = node[np.concatenate([circuit.plus, links.second[solid]])]
    branch_ohm = cell_ohm + circuit.joint_ohm[circuit.minus] + circuit.joint_ohm[circuit.plus]
    siemens = 1.0 / np.concatenate([branch_ohm, circuit.link_ohm[solid]])
    negative, positive = node[list(circuit.feeds)]
    matrix = _conductances(tails, heads, siemens, int(node.max()) + 1, int(negative))
    driven = np.zeros((matrix.shape[0], 2))
    np.add.at(driven[:, 0], heads[: circuit.cells], cell_volt / branch_ohm)
    np.subtract.at(driven[:, 0], tails[: circuit.cells], cell_volt / branch_ohm)
    driven[negative, 1] += 1.0
    driven[positive, 1] -= 1.0
    # Columns have few entries, so panels of several columns only cost time.
    factors = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, panel_size=1, options={"SymmetricMode": True}
    )
    volts = factors.solve(driven)
    return (volts - volts[negative])[node].T


def _merged(circuit: PackCircuit, solid: Bools) -> Ints:
    """Number of the node of each joint once joints between which nothing resists are one."""
    joints = len(circuit.joint_ohm)
    if solid.all():
        return np.arange(joints)
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = circuit.measured.layout.links
    ends = links.first[~solid], links.second[~solid]
    joined = coo_array((np.ones(len(ends[0])), ends), shape=(joints, joints))
    return connected_components(joined, directed=False)[1].astype(np.int64)


def _conductances(tails: Ints, heads: Ints, siemens: Floats, nodes: int, reference: int) -> "csc_array":
    from scipy.sparse import coo_array

    diagonal = np.bincount(tails, siemens, nodes) + np.bincount(heads, siemens, nodes)
    # Ties the reference down by a conductance that carries nothing: what is drawn at one end returns at the other.
    diagonal[reference] *= 2.0
    here = np.arange(nodes)
    rows, columns = np.concatenate([here, tails, heads]), np.concatenate([here, heads, tails])
    return coo_array((np.concatenate([diagonal, -siemens, -siemens]), (rows, columns)), shape=(nodes, nodes)).tocsc()
