"""The way of the current through a target pack: what its parts carry and stand, and its fuse."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from packs import conductors
from packs.conductors import Fuse, FuseCheck, Load, PartResult, PathKind, PathPlan, PathSheet, StripChoice, WireChoice
from packs.conductors.plan import JOINT, TAB
from packs.errors import ImpossibleValue, MissingFact
from packs.layout import StripSection
from packs.terms import JointMethod, Measure, Outcome, Packing, StripMaterial
from packs.units import Quantity, of, ureg
from shop.models import Plan

from . import cells
from .plan_cells import PlanCells
from .spacing import spacing

__all__ = [
    "Clears",
    "FuseCheck",
    "PartLine",
    "PathFigures",
    "Points",
    "current_path",
    "curve_doubt",
    "gauge_word",
    "strip_section",
    "tab_length",
    "trip_share",
]

LEAD_LENGTH = ureg.Quantity(200.0, "millimeter")
"""Of a lead whose length is not stated; common practice, no source."""
STRIP_DAMAGED_AT = ureg.Quantity(100.0, "degC")
"""At which wrap and sleeves under a strip soften; common practice, no source."""
LEAD_DAMAGED_AT = ureg.Quantity(160.0, "degC")
"""Of PVC insulation in a short circuit (IEC 60724; from memory)."""
NOTHING = ureg.Quantity(0.0, "dimensionless")
Points = Sequence[Sequence[int]]
"""Of the curve of a fuse, each a current in mA and a time in µs."""
GAUGES = range(40, -4, -1)


@dataclass(frozen=True)
class PartLine:
    """One kind of part: how many, current of the one that carries most, loss of one, rise and share both ways.

    Shares are percentages of what the part stands. ``runs_away``: by its surface alone it never comes to rest.
    """

    name: str
    count: int
    length: Quantity | None
    current: Quantity
    loss: Quantity | None
    rise_by_surface: Quantity | None
    rise_by_ends: Quantity | None
    peak_rise: Quantity | None
    runs_away: bool
    share_by_surface: Quantity | None
    share_by_ends: Quantity | None

    @property
    def share(self) -> Quantity | None:
        """By the kinder of the two models; beyond it the part is too small however it is cooled."""
        return min((share for share in (self.share_by_surface, self.share_by_ends) if share is not None), default=None)


@dataclass(frozen=True)
class Clears:
    """The tightest case of a fuse: its longest clearing as a share of what the part stands, and which part."""

    share: Quantity
    where: str


@dataclass(frozen=True)
class PathFigures:
    """What a page says of the way of the current; ``choices`` are advice, ``lead_assumed`` that none was stated.

    ``estimated``: the cells that stay are taken to be like those of the model that were measured.
    """

    parts: tuple[PartLine, ...]
    weakest: PartLine
    weakest_by_ends: PartLine
    loss: Quantity
    pack_resistance: Quantity | None
    short_circuit_current: Quantity | None
    strip_choice: StripChoice | None
    strip_choice_by_ends: StripChoice | None
    width_choice: StripChoice | None
    gauge_choice: WireChoice | None
    wire_choice: WireChoice | None
    lead: str | Quantity
    lead_length: Quantity
    lead_assumed: bool
    permitted_rise: Quantity
    ambient: Quantity
    joint: Quantity
    estimated: bool
    fuse: tuple[FuseCheck, ...]

    @property
    def conductors(self) -> tuple[PartLine, ...]:
        """Strips or bars, and a lead where one is stated."""
        lines = (line for line in self.parts if line.length is not None)
        return tuple(line for line in lines if not (self.lead_assumed and line.name == PathKind.LEAD))

    @property
    def hardest_by_surface(self) -> PartLine | None:
        """Of strips or bars the one that carries most of what it stands by its surface alone."""
        strips = (line for line in self.conductors if line.name != PathKind.LEAD)
        known = [(float(share.magnitude), line) for line in strips if (share := line.share_by_surface) is not None]
        return max(known, key=lambda case: case[0])[1] if known else None

    @property
    def clears(self) -> Clears | None:
        """How the stated fuse clears; None where that is not known."""
        return _clears(self.fuse[-1]) if self.fuse else None

    @property
    def gauge(self) -> str | None:
        """The thinnest lead by gauge, as the trade writes it."""
        return None if self.gauge_choice is None else _written(self.gauge_choice.gauge)


def current_path(plan: Plan, of_cells: PlanCells) -> PathFigures:
    """Return what the parts of a plan's pack do under its load; the plan may be unsaved.

    Raises
    ------
    packs.errors.MissingFact
        The cells' spacing is not known, or of no part it is known what it stands.
    packs.errors.ImpossibleValue
        Strip, lead or load cannot be.
    """
    asked = _asked(plan, of_cells.resistance)
    sheet = conductors.path_sheet(asked)
    lines = {
        id(result): _line(plan, result, by_ends)
        for result, by_ends in zip(sheet.results, sheet.results_by_ends, strict=True)
    }
    by_ends_lines = dict(zip(map(id, sheet.results_by_ends), lines.values(), strict=True))
    stated = plan.lead_area_um2 is not None
    return PathFigures(
        parts=tuple(lines.values()),
        weakest=lines[id(_weakest(sheet.results, lead=stated))],
        weakest_by_ends=by_ends_lines[id(_weakest(sheet.results_by_ends, lead=stated))],
        loss=sum(sheet.losses.values(), start=ureg.Quantity(0.0, "watt")),
        pack_resistance=sheet.pack_resistance,
        short_circuit_current=sheet.short_circuit_current,
        strip_choice=sheet.strip_choice,
        strip_choice_by_ends=sheet.strip_choice_by_ends,
        width_choice=sheet.width_choice,
        gauge_choice=sheet.gauge_choice,
        wire_choice=sheet.wire_choice,
        lead=_lead_word(asked.lead_area),
        lead_length=asked.lead_length,
        lead_assumed=not stated,
        permitted_rise=asked.permitted_rise,
        ambient=asked.ambient,
        joint=JOINT,
        estimated=of_cells.estimate is not None,
        fuse=_fuse(plan, sheet),
    )


def gauge_word(area_um2: int) -> str | None:
    """Return the wire gauge that a stored section was typed as, such as "AWG 14"; None for another section."""
    return next((_written(gauge) for gauge in GAUGES if round(_gauge_area_mm2(gauge) * 1e6) == area_um2), None)


def _gauge_area_mm2(gauge: int) -> float:
    return float(conductors.awg_area(gauge).to("millimeter**2").magnitude)


def _written(gauge: int | None) -> str | None:
    if gauge is None:
        return None
    return f"AWG {gauge}" if gauge >= 0 else f"AWG {1 - gauge}/0"


def _lead_word(area: Quantity) -> str | Quantity:
    return gauge_word(round(float(area.to("micrometer**2").magnitude))) or area


def strip_section(plan: Plan) -> StripSection:
    """Return width and thickness of one layer of a plan's strip."""
    return StripSection(_micrometres(plan.strip_width_um), _micrometres(plan.strip_thickness_um))


def tab_length(plan: Plan) -> Quantity:
    """Return the length of the tabs that leads are soldered to; to a bar a lead is bolted."""
    return ureg.Quantity(0.0, "millimeter") if plan.joint_method == JointMethod.BOLTED else TAB


def _micrometres(value: int) -> Quantity:
    length: Quantity = ureg.Quantity(value / 1000, "millimeter")
    return length


def _asked(plan: Plan, resistance: Quantity | None) -> PathPlan:
    continuous = of(Measure.CURRENT, plan.continuous_current_ma)
    peak = continuous if plan.peak_current_ma is None else of(Measure.CURRENT, plan.peak_current_ma)
    peak_time = ureg.Quantity((plan.peak_time_ms or 0) / 1000, "second")
    return PathPlan(
        arrangement=cells.arrangement(plan),
        model=cells.model(plan.cell_model),
        material=StripMaterial(plan.strip_material),
        section=strip_section(plan),
        layers=plan.strip_layers or 1,
        packing=Packing(plan.packing),
        lead_area=_lead_area(plan, Load(continuous, peak, peak_time)),
        lead_length=LEAD_LENGTH if plan.lead_length_um is None else _micrometres(plan.lead_length_um),
        continuous=continuous,
        peak=peak,
        peak_time=peak_time,
        cell_resistance=resistance,
        tab_length=tab_length(plan),
        spacing=spacing(plan.cell_model),
    )


def _lead_area(plan: Plan, load: Load) -> Quantity:
    """Return the section of a lead; the thinnest that carries the load where none is stated."""
    if plan.lead_area_um2 is not None:
        return ureg.Quantity(plan.lead_area_um2 / 1e6, "millimeter**2")
    choice = conductors.smallest_gauge(load)
    if choice is None:
        raise MissingFact("No usual lead carries this current; state the section of the leads.")
    return choice.area


def _weakest(results: tuple[PartResult, ...], *, lead: bool) -> PartResult:
    """A lead that nobody stated is no part of the pack yet."""
    return conductors.weakest_result(result for result in results if lead or result.part.name != PathKind.LEAD)


def _line(plan: Plan, by_surface: PartResult, by_ends: PartResult) -> PartLine:
    part, steady = by_surface.part, by_surface.steady
    return PartLine(
        name=part.name.replace("strip", plan.conductor),
        count=part.count,
        length=None if part.conductor is None else part.conductor.length,
        current=part.load.continuous,
        loss=by_surface.loss,
        rise_by_surface=None if steady is None else steady.by_surface,
        rise_by_ends=steady.by_ends if steady and part.between_cells else None,
        peak_rise=by_surface.peak_rise if part.load.peak_time.magnitude else None,
        runs_away=steady is not None and steady.by_surface is None,
        share_by_surface=_percent(by_surface.use),
        share_by_ends=_percent(by_ends.use),
    )


def _percent(share: Quantity | None) -> Quantity | None:
    return None if share is None else share.to("percent")


def _fuse(plan: Plan, sheet: PathSheet) -> tuple[FuseCheck, ...]:
    if plan.fuse_current_ma is None:
        return ()
    return conductors.check_fuse(_of_plan(plan), sheet.duty, sheet.protected(STRIP_DAMAGED_AT, LEAD_DAMAGED_AT))


def _of_plan(plan: Plan) -> Fuse:
    return Fuse(
        rated_current=of(Measure.CURRENT, plan.fuse_current_ma or 0),
        dc_voltage=_or_none(Measure.VOLTAGE, plan.fuse_voltage_mv),
        breaking_capacity=_or_none(Measure.CURRENT, plan.fuse_breaking_ma),
        melting=_curve(plan.fuse_melting),
        clearing=_curve(plan.fuse_clearing),
    )


def _curve(points: Points | None) -> tuple[tuple[Quantity, Quantity], ...]:
    return tuple((of(Measure.CURRENT, ma), ureg.Quantity(us / 1_000_000, "second")) for ma, us in points or ())


def curve_doubt(points: Points) -> str:
    """Say why points of a current and a time are no curve of a fuse; nothing where they are."""
    try:
        Fuse(rated_current=ureg.Quantity(1.0, "ampere"), clearing=_curve(points))
    except ImpossibleValue as error:
        return str(error)
    return ""


def _clears(check: FuseCheck) -> Clears | None:
    """Where every part stands every current of the curve there is nothing to spare, and so nothing too slow."""
    if check.outcome is Outcome.UNKNOWN:
        return None
    if check.value is None or check.limit is None:
        return Clears(NOTHING, "")
    return Clears((check.value / check.limit).to("dimensionless"), check.where)


def trip_share(plan: Plan) -> Quantity | None:
    """Return how long the board takes to trip, of the shortest time in which the fuse melts at that current.

    None where that is not known; nothing where the fuse carries that current without end.
    """
    if plan.fuse_current_ma is None or plan.board_trip_ma is None or plan.board_trip_us is None:
        return None
    if plan.board_trip_ma <= plan.fuse_current_ma:
        return NOTHING
    melts = conductors.melting_time(_of_plan(plan), of(Measure.CURRENT, plan.board_trip_ma))
    return None if melts is None else (ureg.Quantity(plan.board_trip_us / 1_000_000, "second") / melts).to("")


def _or_none(measure: Measure, value: int | Decimal | None) -> Quantity | None:
    return None if value is None else of(measure, value)
