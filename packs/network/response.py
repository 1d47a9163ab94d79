"""A pack solved once for every current that may be drawn from it."""

from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue
from packs.network.circuit import Floats, PackCircuit
from packs.network.paths import CurrentPaths, Parts
from packs.network.solving import NO_OHM, strip_voltages
from packs.units import Quantity, ureg


@dataclass(frozen=True, eq=False)
class PackResponse:
    """A solved pack: how it stands at rest, and what each ampere changes. ``at`` adds the two up.

    Attributes
    ----------
    cell_amps, link_amps : array of float, shapes (2, cells), (2, links)
        At rest [A], and per ampere drawn [A/A].
    open_circuit_voltage : Quantity
        At the connector, nothing drawn [voltage].
    resistance : Quantity
        Of the pack, from connector to connector [resistance].
    group_resistances : Quantity, shape (series,)
        Share of each group, its cells and joints [resistance].
    strip_resistances : Quantity, shape (strips,)
        Share of each strip's links [resistance].
    feed_resistance : Quantity
        Share of tabs and leads [resistance]. A share is the heat at 1 A through equal rest voltages, so that all
        shares add up to the resistance of the pack.
    """

    circuit: PackCircuit
    rest_volts: Floats
    cell_ohm: Floats
    cell_amps: Floats
    link_amps: Floats
    open_circuit_voltage: Quantity
    resistance: Quantity
    group_resistances: Quantity
    strip_resistances: Quantity
    feed_resistance: Quantity

    @property
    def short_circuit_current(self) -> Quantity:
        """Prospective current of a short circuit at the connector [A]: open-circuit voltage / resistance.

        In its first milliseconds a cell resists less than its DC resistance says, so a fuse is chosen by this
        figure from the smallest resistance known, and with room. Kirchhoff's laws.
        """
        return (self.open_circuit_voltage / self.resistance).to("A")

    def at(self, current: Quantity) -> CurrentPaths:
        """Return the pack under a current drawn at the connector [current]; below zero it is charged.

        Raises
        ------
        ImpossibleValue
            The current is not a number.
        """
        amps = float(current.to("A").magnitude)
        if not np.isfinite(amps):
            raise ImpossibleValue("A current is a number.")
        circuit, both = self.circuit, np.full(2, amps)
        cells, links = (part[0] + amps * part[1] for part in (self.cell_amps, self.link_amps))
        joints = cells[circuit.measured.layout.links.cell]
        return CurrentPaths(
            current=ureg.Quantity(amps, "A"),
            terminal_voltage=self.open_circuit_voltage - self.resistance * ureg.Quantity(amps, "A"),
            cells=Parts(self.cell_ohm, cells),
            joints=Parts(circuit.joint_ohm, joints),
            links=Parts(circuit.link_ohm, links),
            tabs=Parts(np.full(2, circuit.tab_ohm), both),
            leads=Parts(np.full(2, circuit.lead_ohm), both),
            cell_voltages=ureg.Quantity(self.rest_volts - self.cell_ohm * cells, "V"),
            rest_volts=self.rest_volts,
        )


def solve_pack(circuit: PackCircuit, rest_voltages: Quantity, resistances: Quantity) -> PackResponse:
    """Solve a pack: each cell a source of its rest voltage behind its DC resistance, all else resistors.

    The model holds for the moment the current begins: rest voltages are taken as they were before.

    Parameters
    ----------
    circuit : PackCircuit
        What joins the cells.
    rest_voltages, resistances : Quantity
        Of the cells in the order of ``Layout.cells`` [voltage], [resistance]: shape (cells,), or one for all.

    Returns
    -------
    PackResponse
        [V], [A], [Ω]

    Raises
    ------
    ImpossibleValue
        There are not as many values as cells, a voltage is not a number, or a resistance is not above zero.

    References
    ----------
    Kirchhoff's laws, solved as nodal analysis; superposition.
    """
    cell_volt = _of_cells(circuit, rest_voltages, "V")
    cell_ohm = _of_cells(circuit, resistances, "ohm")
    if not (cell_ohm > 0).all():
        raise ImpossibleValue("The resistance of a cell lies above zero.")
    volts = strip_voltages(circuit, cell_ohm, cell_volt)
    cell_amps, link_amps = _amps(circuit, volts, cell_ohm, cell_volt)
    at_rest, per_ampere = volts[:, circuit.feeds[1]].tolist()
    feeding = 2 * (circuit.tab_ohm + circuit.lead_ohm)
    groups, strips = _shares(circuit, cell_ohm, cell_amps[1], link_amps[1])
    return PackResponse(
        circuit=circuit,
        rest_volts=cell_volt,
        cell_ohm=cell_ohm,
        cell_amps=cell_amps,
        link_amps=link_amps,
        open_circuit_voltage=ureg.Quantity(at_rest, "V"),
        resistance=ureg.Quantity(feeding - per_ampere, "ohm"),
        group_resistances=ureg.Quantity(groups, "ohm"),
        strip_resistances=ureg.Quantity(strips, "ohm"),
        feed_resistance=ureg.Quantity(feeding, "ohm"),
    )


def _of_cells(circuit: PackCircuit, given: Quantity, unit: str) -> Floats:
    numbers = np.asarray(given.to(unit).magnitude, dtype=np.float64)
    if numbers.shape not in {(), (circuit.cells,)}:
        raise ImpossibleValue(f"{numbers.size} values do not belong to {circuit.cells} cells.")
    if not np.isfinite(numbers).all():
        raise ImpossibleValue("A value of a cell is not a number.")
    return np.broadcast_to(numbers, (circuit.cells,))


def _amps(circuit: PackCircuit, volts: Floats, cell_ohm: Floats, cell_volt: Floats) -> tuple[Floats, Floats]:
    """Currents of cells and links at rest and per ampere, shapes (2, cells), (2, links)."""
    links = circuit.measured.layout.links
    over_cells = volts[:, circuit.minus] - volts[:, circuit.plus]
    over_cells[0] += cell_volt
    branch_ohm = cell_ohm + circuit.joint_ohm[circuit.minus] + circuit.joint_ohm[circuit.plus]
    link_ohm = np.where(circuit.link_ohm > NO_OHM, circuit.link_ohm, np.nan)
    return over_cells / branch_ohm, (volts[:, links.first] - volts[:, links.second]) / link_ohm


def _shares(circuit: PackCircuit, cell_ohm: Floats, cell_amps: Floats, link_amps: Floats) -> tuple[Floats, Floats]:
    """Heat of each group's cells and joints and of each strip's links at 1 A, shapes (series,), (strips,)."""
    layout, links = circuit.measured.layout, circuit.measured.layout.links
    cells, joints = Parts(cell_ohm, cell_amps).watts, Parts(circuit.joint_ohm, cell_amps[links.cell]).watts
    joints += (cells / 2)[links.cell]  # each cell has two joints
    groups = np.bincount(links.group - 1, joints, layout.arrangement.series)
    strips = np.bincount(links.strip[links.first], Parts(circuit.link_ohm, link_amps).watts, len(layout.strips))
    return groups.astype(np.float64), strips.astype(np.float64)
