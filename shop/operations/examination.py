"""At the bench: the pack as found."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from packs.terms import JointMethod, Measure, Place, Stage
from shop.errors import ShopError
from shop.models import CellModel, CountBasis, Item, ItemKind, Job, PackAsFound, PlanState, User

from . import book, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .readings import require_possible, write


@verb(*BENCH)
def examine(
    *,
    job: Job,
    cell_model: CellModel,
    series: int,
    parallel: int,
    joint_method: JointMethod,
    by: User,
    housing: str = "",
    board: str = "",
    note: str = "",
    pack_voltage_mv: Decimal | None = None,
    group_voltages_mv: Sequence[Decimal] = (),
    version: int | None = None,
    now: datetime | None = None,
) -> PackAsFound:
    """What the opened pack shows is written down before anything is cut: cells, arrangement, joints, voltages."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.EXAMINE)
    if job.returns is not None:
        _require_same_pack(job.returns, cell_model, series, parallel)
    found = save(
        PackAsFound(
            job=job,
            cell_model=cell_model,
            series=series,
            parallel=parallel,
            joint_method=joint_method.value,
            housing=housing,
            board=board,
            note=note,
            examined_at=at,
            examined_by=by,
        )
    )
    voltages = {f"group {n}": mv for n, mv in enumerate(group_voltages_mv, start=1)}
    require_possible(voltages, cell_model)
    if pack_voltage_mv is not None:
        voltages["pack"] = pack_voltage_mv
    for point, mv in voltages.items():
        write(job=job, stage=Stage.EXAMINE, point=point, measure=Measure.REST_VOLTAGE, value=mv, by=by, at=at)
    _to_the_bench(job, found, by, at)
    advance(job, job.after(Stage.EXAMINE))
    log.record("examined", by=by, at=at, job=job, arrangement=f"{series}s{parallel}p", cells=cell_model.name)
    return found


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


def _to_the_bench(job: Job, found: PackAsFound, by: User, at: datetime) -> None:
    for item in Item.objects.filter(job=job, kind=ItemKind.DEVICE.value):
        item.cell_count, item.count_basis = found.cell_count, CountBasis.KNOWN.value
        book.move(item, Place.BENCH, by=by, at=at, job=job)
