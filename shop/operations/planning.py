"""The target pack, and the cells that are to fill it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import STEPS, CellFormat, ChargerRead, Chemistry, JointMethod, Packing, Port, Stage, StripMaterial
from shop.bridge import accepting, conductors, rules
from shop.bridge.accepting import Shown
from shop.errors import Held, ShopError
from shop.models import Cell, CellModel, Job, Plan, PlanPosition, PlanState, StepOutcome, User

from . import log
from .base import BENCH, advance, lock_job, moment, require_stage, save, standing_plan, verb
from .consent import Offered, offered, require_consent, require_quoted_capacity
from .part_of_pack import NOTHING, measured_groups, require_groups
from .possible import refuse, require_arrangement, require_stated
from .stock import require_usable

ONLY_ROUND = "Only round cells are nested; flat ones stand side by side."


@dataclass(frozen=True, kw_only=True)
class Target:
    """The pack that is to be built. ``replaced`` names the groups that a repair builds anew, none where all are."""

    cell_model: CellModel
    series: int
    parallel: int
    joint_method: JointMethod
    strip_material: StripMaterial
    strip_width_um: int
    strip_thickness_um: int
    continuous_current_ma: int
    charger_voltage_mv: int
    packing: Packing = Packing.ROWS
    charger_read: ChargerRead = ChargerRead.NO_LOAD
    charger_tolerance_mv: int | None = None
    board_groups: int | None = None
    board_chemistry: Chemistry | str = ""
    board_overcharge_mv: int | None = None
    board_tolerance_mv: int | None = None
    board_undervoltage_mv: int | None = None
    outlet_voltage_mv: int | None = None
    outlet_port: Port | str = ""
    dropout_mv: int | None = None
    peak_current_ma: int | None = None
    peak_time_ms: int | None = None
    strip_layers: int | None = None
    lead_area_um2: int | None = None
    lead_length_um: int | None = None
    fuse_current_ma: int | None = None
    fuse_voltage_mv: int | None = None
    fuse_breaking_ma: int | None = None
    fuse_melting: Sequence[Sequence[int]] = ()
    fuse_clearing: Sequence[Sequence[int]] = ()
    board_trip_ma: int | None = None
    board_trip_us: int | None = None
    replaced: Sequence[int] = ()


@dataclass(frozen=True)
class Accepted:
    """One of several packs: its job, the cell codes of each group, the version of the job they were shown for, and how."""

    job: Job
    groups: Sequence[Sequence[str]]
    version: int | None = None
    shown: Shown | None = None


@verb(*BENCH)
def state_target(
    *,
    job: Job,
    target: Target,
    by: User,
    group_capacities_mah: Mapping[int, Decimal] = NOTHING,
    group_resistances_uohm: Mapping[int, Decimal] = NOTHING,
    version: int | None = None,
    now: datetime | None = None,
) -> Plan:
    """A target pack stands only if cells, charger and outlet can live with it; a repair says which groups it replaces.

    Capacities and DC resistances of groups that stay are written down where somebody measured them.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.TARGET, Stage.MATCH)
    _require_possible(target)
    require_usable(target.cell_model)
    _require_whole(target)
    require_groups(job, target.series, target.parallel, target.cell_model, target.replaced)
    replaced = sorted(target.replaced)
    require_consent(job, Offered(target.cell_model.pk, target.series, target.parallel, tuple(replaced)))
    Plan.objects.filter(job=job, state=PlanState.STATED.value).update(state=PlanState.ABANDONED.value)
    plan = Plan(job=job, stated_at=at, stated_by=by, **(vars(target) | {"replaced": replaced} | _curves(target)))
    measured_groups(plan, group_capacities_mah, group_resistances_uohm, by=by, at=at)
    findings = [*rules.target(plan), *rules.way_of_the_current(plan)]
    if stops := rules.stopping(findings):
        raise Held(stops)
    plan.findings = rules.as_json(findings)
    save(plan)
    advance(job, Stage.MATCH)
    arrangement = f"{plan.series}s{plan.parallel}p"
    log.record("target stated", by=by, at=at, job=job, arrangement=arrangement, replaced=replaced)
    return plan


@verb(*BENCH)
def accept(
    *,
    job: Job,
    groups: Sequence[Sequence[str]],
    by: User,
    shown: Shown | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Plan:
    """Accepting a proposal reserves its cells, one position each; from then on no other job can have them.

    Groups that were shown with figures and limits are accepted only while both still hold.
    """
    return _accept(Accepted(job, groups, version, shown), by=by, at=moment(now))


@verb(*BENCH)
def accept_together(*, packs: Sequence[Accepted], by: User, now: datetime | None = None) -> list[Plan]:
    """Several packs that share a stock get their cells together or none does."""
    at = moment(now)
    in_order = sorted(packs, key=lambda pack: pack.job.pk)
    return [_accept(pack, by=by, at=at) for pack in in_order]


def _accept(pack: Accepted, *, by: User, at: datetime) -> Plan:
    job, groups = lock_job(pack.job, pack.version), pack.groups
    require_stage(job, Stage.MATCH)
    plan = standing_plan(job)
    require_consent(job, offered(plan), reserving=True)
    cells = _free_cells(plan, groups)
    findings = [*rules.matched(plan, cells.values()), *rules.old_beside_new(plan)]
    if stops := rules.stopping(findings):
        raise Held(stops)
    if pack.shown is not None:
        _require_as_shown(plan, groups, pack.shown)
        plan.limits = pack.shown.kept()
    for group, codes in zip(plan.open_groups, groups, strict=True):
        for place, code in enumerate(codes, start=1):
            save(PlanPosition(plan=plan, group=group, place=place, cell=cells[code]))
    require_quoted_capacity(job, plan)
    plan.state, plan.accepted_at = PlanState.ACCEPTED.value, at
    plan.findings = [*plan.findings, *rules.as_json(findings)]
    plan.version += 1
    save(plan)
    advance(job, _first_open_step(job))
    broken = {"not_as_asked": pack.shown.broken} if pack.shown is not None and pack.shown.broken else {}
    log.record("cells accepted", by=by, at=at, job=job, groups=[list(codes) for codes in groups], **broken)
    return plan


def _require_as_shown(plan: Plan, groups: Sequence[Sequence[str]], shown: Shown) -> None:
    """The cells are held by now: what their readings say in this moment is what is accepted."""
    why = accepting.changed_since(plan, groups, shown)
    if why and not shown.read:
        raise ShopError("not_as_asked", f"These groups are not as asked: {why}.", field="groups")
    if why:
        raise ShopError("stock_changed", f"The stock changed since these groups were shown ({why}). Look again.")


@verb(*BENCH)
def release(*, job: Job, reason: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """Until the first cell is placed a plan can be given up; its cells are free again."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.DISMANTLE, Stage.PLACE)
    plan = standing_plan(job)
    if plan.positions.filter(placed_at__isnull=False).exists():
        raise ShopError("cells_placed", "Cells are placed already; this plan can no longer be given up.")
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the plan is given up.", field="reason")
    plan.positions.update(open=False)
    plan.state = PlanState.ABANDONED.value
    save(plan)
    save(Plan(**_stated_again(plan, by, at)))
    advance(job, Stage.MATCH)
    log.record("plan given up", by=by, at=at, job=job, reason=reason.strip())
    return job


def _require_possible(target: Target) -> None:
    require_arrangement(target.series, target.parallel)
    require_stated(vars(target))
    if target.packing == Packing.NESTED and target.cell_model.cell_format != CellFormat.ROUND:
        raise ShopError("not_nested", ONLY_ROUND, field="packing")
    if (target.outlet_voltage_mv is None) != (target.dropout_mv is None):
        name, words = ("dropout_mv", "dropout") if target.dropout_mv is None else ("outlet_voltage_mv", "voltage")
        message = f"An outlet is checked with its voltage and its dropout; the {words} is missing."
        raise ShopError("invalid", message, field=name)


def _curves(target: Target) -> dict[str, list[list[int]]]:
    """Return the curves of a fuse as they are kept."""
    both = {"fuse_melting": target.fuse_melting, "fuse_clearing": target.fuse_clearing}
    return {name: [list(point) for point in points] for name, points in both.items()}


def _require_whole(target: Target) -> None:
    """What comes in pairs is there as a pair, and no peak is below the current that lasts."""
    if (target.peak_current_ma is None) != (target.peak_time_ms is None):
        name = "peak_time_ms" if target.peak_time_ms is None else "peak_current_ma"
        raise ShopError("peak_incomplete", "A peak is stated with its current and how long it lasts.", field=name)
    if target.peak_current_ma is not None and target.peak_current_ma < target.continuous_current_ma:
        message = "The peak is at least the continuous current; leave it out where the device has none."
        raise ShopError("peak_too_low", message, field="peak_current_ma")
    curves = {"fuse_melting": target.fuse_melting, "fuse_clearing": target.fuse_clearing}
    refuse("impossible_value", {name: conductors.curve_doubt(points) for name, points in curves.items()})
    if target.fuse_current_ma is None and (target.fuse_voltage_mv or target.fuse_breaking_ma or any(curves.values())):
        raise ShopError("fuse_incomplete", "A fuse is given with its rated current.", field="fuse_current_ma")
    if (target.board_trip_ma is None) != (target.board_trip_us is None):
        name = "board_trip_us" if target.board_trip_us is None else "board_trip_ma"
        raise ShopError("trip_incomplete", "An overcurrent trip is stated with its current and its time.", field=name)


def _first_open_step(job: Job) -> Stage:
    """A job whose plan was given up after dismantling goes on where it was."""
    done = set(job.steps.filter(outcome=StepOutcome.DONE.value).values_list("stage", flat=True))
    return next(stage for stage in job.route if stage in STEPS and stage.value not in done)


def _stated_again(plan: Plan, by: User, at: datetime) -> dict[str, object]:
    kept = ("job", *Target.__dataclass_fields__)
    return {name: getattr(plan, name) for name in kept} | {"stated_at": at, "stated_by": by}


def _free_cells(plan: Plan, groups: Sequence[Sequence[str]]) -> dict[str, Cell]:
    codes = [code for group in groups for code in group]
    wanted = len(plan.open_groups)
    if [len(group) for group in groups] != [plan.parallel] * wanted or len(set(codes)) != len(codes):
        words = f"This plan takes {wanted} group{'s' * (wanted > 1)} of {plan.parallel} different cells."
        raise ShopError("wrong_shape", words, cells=codes)
    # Held until this is done: who wants one of them at the same moment finds it gone afterwards.
    list(Cell.objects.select_for_update().filter(code__in=codes).order_by("pk"))
    cells = {cell.code: cell for cell in Cell.objects.free(plan.job).select_related("lot").filter(code__in=codes)}
    if missing := [code for code in codes if code not in cells]:
        raise ShopError(
            "cells_gone",
            f"No longer free: {', '.join(missing)}. Match again with the cells that are left.",
            cells=missing,
        )
    if strange := [code for code, cell in cells.items() if cell.lot.cell_model_id != plan.cell_model_id]:
        raise ShopError("wrong_model", f"Not of the target pack's cell model: {', '.join(strange)}.", cells=strange)
    return cells
