"""Everything a page shows about the way of the current through a target pack."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypedDict

import numpy as np

from packs.conductors.advice import (
    StripChoice,
    WireChoice,
    narrowest_strip,
    smallest_gauge,
    smallest_strip,
    smallest_wire,
)
from packs.conductors.conductor import Conductor, resistance, strip, wire
from packs.conductors.fuse import FuseDuty, Protected
from packs.conductors.heating import Surface
from packs.conductors.plan import PathKind, PathPlan
from packs.conductors.weakest import Cooling, Load, PartResult, PathPart, judge, weakest_result
from packs.errors import MissingFact
from packs.layout import Geometry, geometry, holder_spacing, layout
from packs.materials import ROOM, Metal, metal, resistivity_at
from packs.network import (
    CurrentPaths,
    PackResponse,
    Parts,
    PathResistances,
    pack_circuit,
    resistance_per_length,
    solve_pack,
)
from packs.units import Quantity, ureg

_EVEN = ureg.Quantity(1000.0, "ohm")  # beside it no strip counts, so that all cells of a group share alike


@dataclass(frozen=True, eq=False)
class PathSheet:
    """What the parts of a pack do under its load.

    Attributes
    ----------
    results : tuple of PartResult
        From cell to lead; of each kind and length the part that carries most.
    weakest : PartResult
        Nearest to what it stands.
    results_by_ends, weakest_by_ends
        The same, with the short links held to what they stand when their ends alone cool them. The truth lies
        between; what holds by the surface alone can be relied on sooner.
    losses : Mapping[PathKind, Quantity]
        Heat of all parts of a kind together at the continuous current [W]; without the cells where their
        resistance is not known.
    pack_resistance, highest_voltage, short_circuit_current : Quantity or None
        [Ω], [V], [A]; the last one prospective, fully charged, at 20 °C.
    strip_choice, width_choice : StripChoice or None
        The least metal at the planned width, and the narrowest strip at the planned thickness and layers, that carry
        the hardest link's load, cooled by their surface alone.
    strip_choice_by_ends : StripChoice or None
        The least metal at the planned width, cooled by its ends alone.
    gauge_choice, wire_choice : WireChoice or None
        The thinnest lead by gauge and by nominal section.
    """

    plan: PathPlan
    measured: Geometry
    results: tuple[PartResult, ...]
    weakest: PartResult
    results_by_ends: tuple[PartResult, ...]
    weakest_by_ends: PartResult
    losses: Mapping[PathKind, Quantity]
    pack_resistance: Quantity | None
    highest_voltage: Quantity | None
    short_circuit_current: Quantity | None
    strip_choice: StripChoice | None
    width_choice: StripChoice | None
    strip_choice_by_ends: StripChoice | None
    gauge_choice: WireChoice | None
    wire_choice: WireChoice | None

    @property
    def duty(self) -> FuseDuty:
        """What a fuse in the lead is asked [V], [A], [s]."""
        plan = self.plan
        return FuseDuty(self.highest_voltage, self.short_circuit_current, plan.continuous, plan.peak, plan.peak_time)

    def protected(self, strip_damaged_at: Quantity, lead_damaged_at: Quantity) -> tuple[Protected, ...]:
        """Return tab and lead, which carry the whole fault current [temperature], for ``check_fuse``.

        The links share the current; the tab is of the same strip and carries all of it.
        """
        at = {PathKind.TAB: strip_damaged_at, PathKind.LEAD: lead_damaged_at}
        return tuple(
            Protected(part.name, part.conductor, at[PathKind(part.name)], part.surface)
            for part in (result.part for result in self.results)
            if part.name in at and part.conductor is not None and part.surface is not None
        )


@lru_cache(maxsize=64)
def path_sheet(plan: PathPlan) -> PathSheet:
    """Return what every part of a target pack does under its load: [V], [W], [K], [A], [Ω].

    A plan's page, its rules and its job card ask for the same sheet within minutes; it is worked out once.

    Parameters
    ----------
    plan : PathPlan
        [length], [area], [current], [time], [resistance], [temperature]

    Raises
    ------
    MissingFact
        Round cells have no diameter on their sheet, or flat cells are given no spacing.
    ImpossibleValue
        As ``layout``, ``geometry``, ``pack_circuit`` and ``judge``.

    References
    ----------
    Kirchhoff's laws; Joule's law; Newton's law of cooling; Fourier's law of heat conduction; IEC 60949.
    """
    of, measured = metal(plan.material), _measured(plan)
    response = _solved(plan, measured, of)
    continuous, peak = response.at(plan.continuous), response.at(plan.peak)
    parts = tuple(_parts(plan, measured, of, continuous, peak))
    results, by_ends = (tuple(judge(part, cooling) for part in parts) for cooling in Cooling)
    known, charged = plan.cell_resistance is not None, plan.model.charge_limit is not None
    return PathSheet(
        plan=plan,
        measured=measured,
        results=results,
        weakest=weakest_result(results),
        results_by_ends=by_ends,
        weakest_by_ends=weakest_result(by_ends),
        losses=_losses(plan, measured, continuous),
        pack_resistance=response.resistance if known else None,
        highest_voltage=response.open_circuit_voltage if charged else None,
        short_circuit_current=response.short_circuit_current if known and charged else None,
        **_advice(plan, of, parts),
    )


class _Advice(TypedDict):
    strip_choice: StripChoice | None
    width_choice: StripChoice | None
    strip_choice_by_ends: StripChoice | None
    gauge_choice: WireChoice | None
    wire_choice: WireChoice | None


def _advice(plan: PathPlan, of: Metal, parts: Sequence[PathPart]) -> _Advice:
    """The hardest link counts; a pack of single cells with none has its tabs."""
    links = [part for part in parts if part.name in (PathKind.WITHIN, PathKind.BETWEEN)]
    hardest = max(links, key=lambda part: float(part.load.continuous.magnitude), default=parts[-1])
    load, surface = hardest.load, plan.strip_surface
    length = None if hardest.conductor is None else hardest.conductor.length
    whole = _load(plan, plan.continuous, plan.peak)
    return _Advice(
        strip_choice=smallest_strip(of, load, surface, plan.section.width),
        width_choice=narrowest_strip(of, load, surface, plan.section.thickness, plan.layers),
        strip_choice_by_ends=smallest_strip(of, load, surface, plan.section.width, between_cells=length),
        gauge_choice=smallest_gauge(whole, plan.lead_surface),
        wire_choice=smallest_wire(whole, plan.lead_surface),
    )


def _measured(plan: PathPlan) -> Geometry:
    model = plan.model
    placed = layout(plan.arrangement, model.format, model.terminals, packing=plan.packing)
    if plan.spacing is not None:
        return geometry(placed, plan.spacing)
    if model.diameter is None:
        raise MissingFact(
            "How far the cells lie apart is not known: give their diameter, or the spacing of flat cells."
        )
    return geometry(placed, holder_spacing(model.diameter, plan.gap))


def _solved(plan: PathPlan, measured: Geometry, of: Metal) -> PackResponse:
    """All cells alike and fully charged; 1 V each where the charge limit is not known, which moves no share."""
    resistances = PathResistances(
        strip=resistance_per_length(resistivity_at(of, ROOM), plan.section) / plan.layers,
        joint=plan.joint_resistance,
        lead=resistance(_lead(plan)),
        tab_length=plan.tab_length,
    )
    circuit = pack_circuit(measured, resistances, plan.feeds)
    full = plan.model.charge_limit
    return solve_pack(
        circuit,
        ureg.Quantity(1.0, "volt") if full is None else full,
        _EVEN if plan.cell_resistance is None else plan.cell_resistance,
    )


def _lead(plan: PathPlan) -> Conductor:
    return wire(plan.lead_area, plan.lead_length)


def _load(plan: PathPlan, continuous: Quantity, peak: Quantity) -> Load:
    return Load(continuous, peak, plan.peak_time, plan.permitted_rise, plan.ambient)


def _parts(
    plan: PathPlan, measured: Geometry, of: Metal, continuous: CurrentPaths, peak: CurrentPaths
) -> Iterator[PathPart]:
    yield _most_loaded(
        plan, PathKind.CELL, continuous.cells, peak.cells, plan.cell_resistance, plan.model.max_discharge_current
    )
    yield _most_loaded(plan, PathKind.JOINT, continuous.joints, peak.joints, plan.joint_resistance)
    yield from _links(plan, measured, of, continuous, peak)
    whole, tab = _load(plan, plan.continuous, plan.peak), plan.tab_length
    if tab.magnitude:
        conductor = strip(of, plan.section, tab, layers=plan.layers)
        yield _of_conductor(PathKind.TAB, whole, conductor, plan.strip_surface, 2)
    yield _of_conductor(PathKind.LEAD, whole, _lead(plan), plan.lead_surface, 2)


def _most_loaded(
    plan: PathPlan, kind: PathKind, continuous: Parts, peak: Parts, ohm: Quantity | None, rated: Quantity | None = None
) -> PathPart:
    load = _load(plan, *(ureg.Quantity(float(abs(parts.amps).max()), "ampere") for parts in (continuous, peak)))
    return PathPart(kind, load, ohm, rated_continuous=rated, count=len(continuous.amps))


def _links(
    plan: PathPlan, measured: Geometry, of: Metal, continuous: CurrentPaths, peak: CurrentPaths
) -> Iterator[PathPart]:
    """Of every kind and length of link the one that carries most."""
    between = measured.layout.links.between
    lengths = np.asarray(measured.link_lengths.to("millimeter").magnitude, dtype=np.float64).round(3)
    for kind, chosen in ((PathKind.WITHIN, ~between), (PathKind.BETWEEN, between)):
        for length in np.unique(lengths[chosen]).tolist():
            here = chosen & (lengths == length)
            amps = (float(abs(paths.links.amps[here]).max()) for paths in (continuous, peak))
            load = _load(plan, *(ureg.Quantity(most, "ampere") for most in amps))
            conductor = strip(of, plan.section, ureg.Quantity(length, "millimeter"), layers=plan.layers)
            yield _of_conductor(kind, load, conductor, plan.strip_surface, int(here.sum()))


def _of_conductor(kind: PathKind, load: Load, conductor: Conductor, surface: Surface, count: int) -> PathPart:
    short = kind is not PathKind.LEAD
    ohm = resistance(conductor, load.ambient)
    return PathPart(kind, load, ohm, conductor, surface, between_cells=short, count=count)


def _losses(plan: PathPlan, measured: Geometry, paths: CurrentPaths) -> dict[PathKind, Quantity]:
    between = measured.layout.links.between
    watts = {
        PathKind.JOINT: paths.joints.watts,
        PathKind.WITHIN: paths.links.watts[~between],
        PathKind.BETWEEN: paths.links.watts[between],
        PathKind.TAB: paths.tabs.watts,
        PathKind.LEAD: paths.leads.watts,
    }
    if plan.cell_resistance is not None:
        watts = {PathKind.CELL: paths.cells.watts, **watts}
    return {kind: ureg.Quantity(float(heat.sum()), "watt") for kind, heat in watts.items()}
