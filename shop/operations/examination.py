"""At the bench: the pack as found."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from packs.terms import JobKind, JointMethod, Measure, Place, Protects, Stage, Unpowered
from shop.bridge import rules
from shop.bridge.possible import MOST_CELLS
from shop.errors import ShopError
from shop.models import CellModel, CountBasis, Instrument, Item, ItemKind, Job, PackAsFound, PlanState, User

from . import book, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .possible import require_arrangement
from .readings import of_groups, require_pack_possible, require_possible, write_all
from .steps import begin, passed
from .stock import require_usable


@verb(*BENCH)
def examine(
    *,
    job: Job,
    cell_model: CellModel,
    series: int,
    parallel: int,
    by: User,
    joint_method: JointMethod | None = None,
    counts: Sequence[int] = (),
    housing: str = "",
    board: str = "",
    protects: Sequence[Protects] = (),
    unpowered: Unpowered = Unpowered.UNKNOWN,
    note: str = "",
    pack_voltage_mv: Decimal | None = None,
    group_voltages_mv: Sequence[Decimal] = (),
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> PackAsFound:
    """What the opened pack shows is written down before anything is cut: cells, arrangement, joints, voltages."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.EXAMINE)
    if joint_method is None and job.kind != JobKind.TEST_ONLY:
        raise ShopError("joint_missing", "Say how the cells are joined.", field="joint_method")
    uneven = _uneven(job, series, parallel, counts)
    parallel = min(uneven, default=parallel)
    _require_possible(cell_model, series, parallel, pack_voltage_mv, group_voltages_mv)
    if job.part_stays and not group_voltages_mv:
        words = "A repair of a group rests on what every group shows: measure each of them."
        raise ShopError("groups_not_measured", words, field="group_voltages")
    if job.returns is not None:
        _require_same_pack(job.returns, cell_model, series, parallel)
    else:
        require_usable(cell_model)
    found = save(
        PackAsFound(
            job=job,
            cell_model=cell_model,
            series=series,
            parallel=parallel,
            counts=uneven,
            joint_method=joint_method.value if joint_method else "",
            housing=housing,
            board=board,
            protects=[one.value for one in Protects if one in protects],
            unpowered=unpowered.value,
            note=note,
            examined_at=at,
            examined_by=by,
        )
    )
    _measured(found, pack_voltage_mv, group_voltages_mv, instrument, by, at, measured_at)
    _to_the_bench(job, found, by, at)
    advance(job, job.after(Stage.EXAMINE))
    log.record("examined", by=by, at=at, job=job, arrangement=found.arrangement, cells=cell_model.name)
    return found


def _measured(
    found: PackAsFound,
    pack_mv: Decimal | None,
    groups_mv: Sequence[Decimal],
    instrument: Instrument | None,
    by: User,
    at: datetime,
    measured_at: datetime | None,
) -> None:
    """Keep what was measured, with what the rules find of it."""
    taken = [*of_groups(Measure.REST_VOLTAGE, groups_mv), ("pack", Measure.REST_VOLTAGE, pack_mv)]
    step = begin(found.job, Stage.EXAMINE, by=by, at=at, measured_at=measured_at)
    write_all(taken, step=step, by=by, at=at, instrument=instrument)
    agreement = rules.examined(found, pack_rest_mv=pack_mv, groups_mv=groups_mv, instrument=instrument)
    passed(step, [*rules.to_the_bench(found.job), *agreement], at=at)


def _require_same_pack(returned: Job, cell_model: CellModel, series: int, parallel: int) -> None:
    """A pack that came back is the one that left, as far as cells and arrangement show; another one is another job."""
    built = returned.plans.get(state=PlanState.BUILT.value)
    if (built.cell_model_id, built.series, built.parallel) != (cell_model.pk, series, parallel):
        raise ShopError(
            "another_pack",
            f"Job {returned.code} built {built.series}s{built.parallel}p of {built.cell_model}. If this is another "
            "pack, return it unopened and take it in as a rebuild.",
            field="arrangement",
        )


def _uneven(job: Job, series: int, parallel: int, counts: Sequence[int]) -> list[int]:
    """Return the cells of each group where they differ; none where every group has as many as the arrangement says."""
    if not counts or (set(counts) == {parallel} and len(counts) == series):
        return []
    if len(counts) != series:
        words = f"{series} groups in series have {series} counts, {len(counts)} are given."
        raise ShopError("wrong_count", words, field="counts")
    if min(counts) < 1 or sum(counts) > MOST_CELLS:
        words = f"Every group has at least one cell, and a pack up to {MOST_CELLS}."
        raise ShopError("impossible_value", words, field="counts")
    if max(counts) != parallel:
        words = (
            f"{series}s{parallel}p means up to {parallel} cells in a group, and the fullest that is counted has "
            f"{max(counts)}. Put one of the two right."
        )
        raise ShopError("counts_disagree", words, field="counts")
    if job.part_stays:
        words = "A repair of a group reckons with groups alike. Unequal ones are a rebuild: take it in for one."
        raise ShopError("uneven_repair", words, field="counts")
    return list(counts)


def _by_group(group_voltages_mv: Sequence[Decimal]) -> dict[str, Decimal]:
    return {f"group {n}": mv for n, mv in enumerate(group_voltages_mv, start=1)}


def _require_possible(
    model: CellModel, series: int, parallel: int, pack_mv: Decimal | None, groups_mv: Sequence[Decimal]
) -> None:
    """Voltages fit the arrangement: one for each group or none, and no more over all than its cells can have."""
    require_arrangement(series, parallel)
    if len(groups_mv) not in (0, series):
        words = f"{series}s{parallel}p has {series} groups, {len(groups_mv)} voltages are given."
        raise ShopError("wrong_count", words, field="group_voltages")
    require_possible(_by_group(groups_mv), model)
    require_pack_possible({"pack_voltage": pack_mv}, model, series)


def _to_the_bench(job: Job, found: PackAsFound, by: User, at: datetime) -> None:
    for item in Item.objects.filter(job=job, kind=ItemKind.DEVICE.value):
        item.cell_count, item.count_basis = found.cell_count, CountBasis.KNOWN.value
        book.move(item, Place.BENCH, by=by, at=at, job=job)
