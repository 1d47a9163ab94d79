"""A cell of an accepted or half-built plan turned out unusable: others go into its stead, as little as can be changes."""

from collections.abc import Mapping
from datetime import datetime

from packs.terms import Condition, Place, Stage
from shop.bridge import rules
from shop.bridge.replacing import joined_cells
from shop.errors import Held, ShopError
from shop.models import Cell, Job, Plan, PlanPosition, User

from . import book, conditions, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, standing_plan, verb
from .breached import begin_again

REPLACE_AT = (Stage.DISMANTLE, Stage.PLACE, Stage.MEASURE, Stage.JOIN)
JOINED = "{} is joined, and joints that are made stay. A can that was pierced is replaced on its own page."


@verb(*BENCH)
def replace_cell(
    *,
    job: Job,
    code: str,
    goes_in: Mapping[str, str],
    reason: str,
    by: User,
    condition: Condition = Condition.INTACT,
    version: int | None = None,
    now: datetime | None = None,
) -> Plan:
    """A cell of the plan that is not fit is replaced before it is joined; positions that change are placed anew.

    ``goes_in`` names the cell that goes into each position that changes, such as ``{"1.2": "C017"}``.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *REPLACE_AT)
    plan = standing_plan(job)
    if not reason.strip():
        raise ShopError("reason_missing", "Say what is wrong with the cell.", field="reason")
    spots = _spots(plan, code.strip(), goes_in)
    entering = _entering(plan, spots, goes_in)
    if stops := rules.stopping(rules.matched(plan, [cell for cell in entering.values() if cell.place == Place.STOCK])):
        raise Held(stops)
    was = {name: spot.cell for name, spot in spots.items()}
    for cell in was.values():
        _take_out(cell, job, by, at)
        if cell.code == code.strip() and condition is not Condition.INTACT:
            conditions.lower_to(cell, condition, reason.strip()[:300], by=by, at=at)
    _fill(spots, {name: entering[into] for name, into in goes_in.items()})
    plan.version += 1
    save(plan)
    placing = Stage(job.stage) is not Stage.DISMANTLE
    if placing:
        begin_again(job)
    advance(job, Stage.PLACE if placing else Stage.DISMANTLE)
    changes = [[name, was[name].code, goes_in[name]] for name in sorted(goes_in)]
    log.record("cell replaced", by=by, at=at, job=job, cell=code.strip(), changes=changes, reason=reason.strip())
    return plan


def _spots(plan: Plan, code: str, goes_in: Mapping[str, str]) -> dict[str, PlanPosition]:
    """Return the positions that change; one whose cell is joined does not."""
    rows = plan.positions.select_related("cell__lot__cell_model").select_for_update(of=("self",)).filter(open=True)
    by_name = {position.name: position for position in rows}
    if code not in {position.cell.code for position in by_name.values()}:
        raise ShopError("wrong_cell", f"Cell {code} is not part of this plan.", field="code", cell=code)
    if strange := sorted(set(goes_in) - set(by_name)):
        raise ShopError("no_such_position", f"There is no position {', '.join(strange)}.")
    spots = {name: by_name[name] for name in goes_in}
    leaving = {position.cell.code for position in spots.values()}
    if code not in leaving or code in goes_in.values():
        raise ShopError("wrong_cell", f"Cell {code} would stay where it is.", field="code", cell=code)
    if joined := sorted(leaving & joined_cells(plan)):
        raise ShopError("joined", JOINED.format(f"Cell {joined[0]}"), field="code", cell=joined[0])
    return spots


def _entering(plan: Plan, spots: Mapping[str, PlanPosition], goes_in: Mapping[str, str]) -> dict[str, Cell]:
    """Return the cells that go in by code: free ones of the model, or ones that left another position."""
    wanted = list(goes_in.values())
    moving = {position.cell.code: position.cell for position in spots.values()}
    # Held until this is done: who wants one of them at the same moment finds it gone afterwards.
    list(Cell.objects.select_for_update().filter(code__in=wanted).order_by("pk"))
    free = Cell.objects.free(plan.job).select_related("lot__cell_model").filter(lot__cell_model_id=plan.cell_model_id)
    cells = {cell.code: cell for cell in free.filter(code__in=wanted)} | moving
    gone = [one for one in wanted if one not in cells or wanted.count(one) > 1]
    if gone:
        message = f"{', '.join(dict.fromkeys(gone))}: no free cell of this model. Look again what fits."
        raise ShopError("cells_gone", message, cells=gone)
    return {one: cells[one] for one in wanted}


def _take_out(cell: Cell, job: Job, by: User, at: datetime) -> None:
    """A cell that was placed comes back to the bench; one that was only reserved stays where it stands."""
    if Place(cell.place) is Place.PACK:
        book.move(cell, Place.BENCH, by=by, at=at, job=job, note="taken out before it was joined")
        conditions.follow_newest(cell, by=by, at=at)


def _fill(spots: Mapping[str, PlanPosition], cells: Mapping[str, Cell]) -> None:
    """Put other cells into positions; none holds two of them on the way."""
    PlanPosition.objects.filter(pk__in=[spot.pk for spot in spots.values()]).update(open=False)
    for name, spot in spots.items():
        spot.cell, spot.open, spot.placed_at, spot.placed_by = cells[name], True, None, None
        save(spot)
