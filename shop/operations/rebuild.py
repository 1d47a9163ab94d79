"""The steps of the job card up to the joined pack: dismantle, place, measure, join, check the taps."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from packs.terms import Area, Condition, LotOrigin, Measure, Owner, Place, Stage
from shop.bridge import figures, likely, rules
from shop.bridge.standing import point_of
from shop.errors import Held, ShopError
from shop.models import (
    Cell,
    Instrument,
    Job,
    Joint,
    JointState,
    Lot,
    Plan,
    PlanPosition,
    PlanState,
    User,
    cells_due_out,
)

from . import areas, book, conditions, consent, goods_in, incidents, joints, log, opening_pack, welding
from .base import BENCH, lock_job, moment, require_stage, save, standing_plan, verb
from .joints import StripJoined
from .possible import ask
from .readings import Taken, require_count, require_possible, write, write_all
from .since import require_same_board, require_told
from .steps import StepResult, back_to, begin, conclude

NOT_TRIED, NOT_AGAIN = rules.BoardTried(), rules.MadeAgain()


@verb(*BENCH)
def record_removed(
    *,
    job: Job,
    condition: Condition,
    by: User,
    rest_voltage_mv: Decimal | None = None,
    count: int = 1,
    code: str = "",
    recorded: int | None = None,
    sure: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> list[Cell]:
    """Every cell goes into the book the moment it leaves the old pack; one that rests too low is rejected at once.

    One that was placed here before is known by its code. ``recorded`` is how many were in the book when this one was
    begun, so that two who take the same pack apart do not enter one cell twice.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.DISMANTLE)
    in_the_book = Cell.objects.removed_from_pack_of(job).count()
    _require_as_many(in_the_book, recorded)
    left = cells_due_out(job) - in_the_book
    if not 1 <= count <= left:
        where = "groups that are replaced" if job.part_stays else "old pack"
        raise ShopError("too_many_cells", f"{left} cells are left in the {where}.", field="count", left=left)
    require_possible({"rest_voltage": rest_voltage_mv}, job.as_found.cell_model)
    ask({"rest_voltage": likely.removed_doubt(job, rest_voltage_mv)}, sure=sure or condition is Condition.REACTIVE)
    held = opening_pack.require_prepared(job)
    step = begin(job, Stage.DISMANTLE, by=by, at=at)
    first = not Cell.objects.removed_from_pack_of(job).exists()
    cells = _out_of_the_pack(job, code.strip(), count, condition, by, at)
    if first:  # once it is open it comes apart, room or not
        areas.require_room(Area.HALF_BUILT)
    opening_pack.keep_findings(step, held)
    if rest_voltage_mv is not None:
        for cell in cells:
            read = write(
                job=job,
                cell=cell,
                stage=Stage.DISMANTLE,
                step=step,
                point=cell.code,
                measure=Measure.REST_VOLTAGE,
                value=rest_voltage_mv,
                by=by,
                at=at,
                conditions=f"one reading for {len(cells)} cells alike" if len(cells) > 1 else "",
            )
            conditions.follow(read, by=by, at=at)
    condition = Condition(cells[0].condition)
    log.record("cells removed", by=by, at=at, job=job, cells=[cell.code for cell in cells], condition=condition.value)
    return cells


@verb(*BENCH)
def finish_dismantling(*, job: Job, by: User, version: int | None = None, now: datetime | None = None) -> StepResult:
    """The old pack is taken apart when as many cells are in the book as were counted in it."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.DISMANTLE)
    recorded = Cell.objects.removed_from_pack_of(job).count()
    step = begin(job, Stage.DISMANTLE, by=by, at=at)
    before = [found for found in step.findings if found["rule_id"] not in rules.OF_THE_BOOK]
    findings = rules.dismantled(job.as_found, recorded, cells_due_out(job))
    return conclude(step, findings, by=by, at=at, confirmed=step.confirmed, before=before)


@verb(*BENCH)
def place_cell(
    *, job: Job, code: str, by: User, version: int | None = None, now: datetime | None = None
) -> PlanPosition:
    """A cell goes into its position by its own code, typed or scanned; any other cell is refused."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.PLACE)
    plan = standing_plan(job)
    cell = Cell.objects.filter(positions__plan=plan).coded(code)
    position = plan.positions.select_related("cell__lot__cell_model").filter(cell=cell).first() if cell else None
    if rules.stopping(rules.right_cell(position)) or position is None:
        raise ShopError("wrong_cell", _stranger(plan, code.strip()), field="code", cell=code)
    if position.placed_at is not None:
        raise ShopError("placed_already", f"Cell {position.cell} is in position {position.name} already.", field="code")
    goods_in.require_not_held([position.cell], field="code")
    if stops := rules.stopping(rules.placed(plan, position.cell)):
        raise Held(stops)
    step = begin(job, Stage.PLACE, by=by, at=at)
    position.placed_at, position.placed_by = at, by
    save(position)
    book.move(position.cell, Place.PACK, by=by, at=at, job=job, note=f"position {position.name}")
    if not plan.positions.filter(placed_at__isnull=False).exclude(pk=position.pk).exists():
        areas.require_room(Area.HALF_BUILT, more=areas.still_to_place(plan))
    log.record("cell placed", by=by, at=at, job=job, cell=position.cell.code, position=position.name)
    if not plan.positions.filter(placed_at__isnull=True).exists():
        conclude(step, rules.all_placed(plan), by=by, at=at)
    return position


def _stranger(plan: Plan, code: str) -> str:
    """Say of a cell that is not part of a plan whose it is instead, and which one is due."""
    said = [f"Cell {code} is not part of this plan."]
    cell = Cell.objects.all().coded(code)
    if cell is None:
        said.append("No cell in the book has this code.")
    else:
        others = PlanPosition.objects.filter(cell=cell, open=True, plan__state=PlanState.ACCEPTED.value)
        if other := others.exclude(plan=plan).select_related("plan__job").first():
            said.append(f"It is reserved for job {other.plan.job.code}, position {other.name}.")
    if due := plan.positions.select_related("cell").filter(placed_at__isnull=True).first():
        said.append(f"Due is cell {due.cell} at {due.name}.")
    return " ".join(said)


@verb(*BENCH)
def measure_before_joining(
    *,
    job: Job,
    rest_voltages_mv: Mapping[str, Decimal],
    by: User,
    equal_charge: bool | None = None,
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    since: str = "",
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """Every cell is measured before any is joined; nobody joins cells that would push too much current through one.

    While nothing is joined yet they can be measured again, and have to be where that was too long ago.
    Groups that stay are measured again as "group 1", "group 2" ...: the new ones have to be level with them.
    Where the voltage says too little of the charge, ``equal_charge`` says that all were brought to the same.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.MEASURE, *((Stage.JOIN,) if to_be_joined(job) else ()))
    if job.stage != Stage.MEASURE:
        back_to(job, Stage.MEASURE)
    plan = standing_plan(job)
    goods_in.require_not_held(Cell.objects.filter(positions__plan=plan).select_related("lot"))
    positions = {position.name: position for position in plan.positions.select_related("cell__lot__cell_model")}
    standing = [point_of(number) for number in plan.standing_groups]
    if unknown := [name for name in rest_voltages_mv if name not in positions and name not in standing]:
        raise ShopError("no_such_position", f"There is no position {', '.join(unknown)}.")
    require_possible(rest_voltages_mv, plan.cell_model)
    require_told(job, Stage.MEASURE, since)
    step = begin(job, Stage.MEASURE, by=by, at=at, measured_at=measured_at)
    reads = [
        write(
            job=job,
            cell=positions[name].cell if name in positions else None,
            stage=Stage.MEASURE,
            step=step,
            point=name,
            measure=Measure.REST_VOLTAGE,
            value=value,
            by=by,
            at=at,
            instrument=instrument,
        )
        for name, value in rest_voltages_mv.items()
    ]
    voltages = {name: rest_voltages_mv.get(name) for name in (*positions, *standing)}
    findings = rules.before_joining(plan, voltages, equal_charge=equal_charge)
    in_force = rules.in_force()
    for read in reads:  # what rests too low is rejected for good, and charged up it is asked for its condition
        conditions.follow(read, by=by, at=at, in_force=in_force)
    confirmed = {} if equal_charge is None else {rules.EQUAL_CHARGE: equal_charge}
    return conclude(step, findings, by=by, at=at, confirmed=confirmed, since=since)


def to_be_joined(job: Job) -> bool:
    """Whether a job stands before its joints and none is on, so that its cells can be measured again."""
    if Stage(job.stage) is not Stage.JOIN or job.closed_at is not None:
        return False
    plans = job.plans.exclude(state=PlanState.ABANDONED.value)
    return not Joint.objects.filter(position__plan__in=plans).exclude(state=JointState.UNDONE.value).exists()


@verb(*BENCH)
def join(
    *,
    job: Job,
    strips: Sequence[StripJoined],
    second_look: bool,
    by: User,
    weld: rules.Weld | None = None,
    second_look_by: str = "",
    pause_min: int | None = None,
    clean_faces: bool | None = None,
    again: rules.MadeAgain = NOT_AGAIN,
    measured_at: datetime | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """Strips go on in their order, each try names all that are on; every cell end becomes one joint with its spots.

    What has to come first - voltages of today, cells that may serve, peel sample, second look - refuses the joints.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.JOIN)
    plan = standing_plan(job)
    joints.require_strips(plan, strips)
    joints.require_no_fewer(plan, strips)
    again = _no_fewer_tries(job, again)
    if weld is not None:
        incidents.require_released(weld.machine, "welder", by=by, field="weld")
    cells = [position.cell for position in plan.positions.select_related("cell__lot")]
    goods_in.require_not_held(cells, field="strips")
    look = welding.second_look(second_look, second_look_by, pause_min, by)
    first = rules.before_the_joints(plan, cells, look=look, samples=rules.sampled(plan, weld, at), at=measured_at or at)
    if stops := rules.stopping(first):
        raise Held(stops)
    step = begin(job, Stage.JOIN, by=by, at=at, measured_at=measured_at)
    if undone := joints.state(plan, strips, by=by, at=at):
        log.record("strips undone", by=by, at=at, job=job, strips=undone)
    write_all(joints.bolted(strips), step=step, by=by, at=at)
    findings = first + rules.joined(
        plan,
        made=joints.made(plan).count(),
        failed=joints.failed(plan).count(),
        again=again,
        clean_faces=clean_faces,
        bolts=_bolts(job),
    )
    given = {"second_look": second_look} | ({} if clean_faces is None else {"clean_faces": clean_faces})
    if again.cooled is not None:
        given[rules.COOLED] = again.cooled
    said = ([rules.look_told(look, second_look_by)] if second_look else []) + ([f"welded with {weld}"] if weld else [])
    said += [] if again.tries is None else [rules.tries_told(again.tries)]
    return conclude(step, findings, by=by, at=at, confirmed=given | dict.fromkeys(said, True))


@verb(*BENCH)
def check_taps(
    *,
    job: Job,
    taps_mv: Sequence[Decimal | None],
    by: User,
    board: rules.BoardTried = NOT_TRIED,
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    since: str = "",
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """Before the board is connected every tap is measured in order from the negative end, and the board was tried."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.LADDER)
    plan = standing_plan(job)
    if board.another:
        consent.require_board_offered(job)
    require_count(plan.series, taps_mv, what="taps")
    read: list[Taken] = [(f"tap {tap}", Measure.VOLTAGE, mv) for tap, mv in enumerate(taps_mv, start=1)]
    read += [
        (rules.OVERCHARGE_TRIP, Measure.VOLTAGE, board.overcharge_mv),
        (rules.UNDERVOLTAGE_TRIP, Measure.VOLTAGE, board.undervoltage_mv),
    ]
    require_told(job, Stage.LADDER, since)
    require_same_board(plan, board, since)
    step = begin(job, Stage.LADDER, by=by, at=at, measured_at=measured_at)
    write_all(read, step=step, by=by, at=at, instrument=instrument)
    findings = [*rules.ladder(plan, list(taps_mv), instrument), *rules.board_tried(plan, board)]
    confirmed = {} if board.suits is None else {rules.BOARD_SUITS: board.suits}
    another = {rules.ANOTHER_BOARD: True} if board.another else {}
    return conclude(step, findings, by=by, at=at, confirmed=confirmed | another, since=since)


def _require_as_many(in_the_book: int, recorded: int | None) -> None:
    """Somebody else put cells into the book since this page was opened: this one may be among them."""
    came = in_the_book - (in_the_book if recorded is None else recorded)
    if came:
        cells = "1 cell" if abs(came) == 1 else f"{abs(came)} cells"
        way = "came into the book" if came > 0 else "left the book"
        raise ShopError(
            "recorded_since",
            f"{cells} {way} since this page was opened; {in_the_book} are in it now. See below whether this one is among "
            "them; what you typed is still here, send it once more if not.",
            recorded=in_the_book,
        )


def _out_of_the_pack(job: Job, code: str, count: int, condition: Condition, by: User, at: datetime) -> list[Cell]:
    """Take cells out: those placed here before are known by code, the others come into the book now, and first."""
    returned = job.returns
    if returned is None:
        return _out_of_old_pack(job, count, condition, by, at)
    placed = PlanPosition.objects.filter(plan__job=returned, plan__state=PlanState.BUILT.value).count()
    strangers = job.as_found.cell_count - placed - Cell.objects.filter(lot__donor_job=job).count()
    new = 0 if code else min(count, strangers)
    cells = _out_of_old_pack(job, new, condition, by, at) if new else []
    return cells if new == count else [*cells, *_back_on_the_bench(job, returned, code, count - new, condition, by, at)]


def _back_on_the_bench(
    job: Job, returned: Job, code: str, count: int, condition: Condition, by: User, at: datetime
) -> list[Cell]:
    """Take cells that were placed here out of their pack: the one with the code, or the next in working order."""
    inside = Cell.objects.select_for_update().still_in_pack_of(returned)
    named = inside.coded(code) if code else None
    cells = [named] if named else [] if code else list(inside[:count])
    if not cells:
        raise ShopError("wrong_cell", f"No cell {code} is left in this pack.".replace("  ", " "), field="code")
    for cell in cells:
        book.move(cell, Place.BENCH, by=by, at=at, job=job, note="left the pack that came back")
        if cell.condition != condition:
            conditions.change(cell, condition, "as it looked when it left the pack", by=by, at=at)
    return cells


def _out_of_old_pack(job: Job, count: int, condition: Condition, by: User, at: datetime) -> list[Cell]:
    lot = _donor_lot(job, at)
    known = lot.cells.count()
    return [_take_out(job, lot, known + n, condition, by, at) for n in range(1, count + 1)]


def _donor_lot(job: Job, at: datetime) -> Lot:
    lot = Lot.objects.filter(donor_job=job).first()
    if lot is not None:
        return lot
    shops = job.removed_owner == Owner.SHOP
    return save(
        Lot(
            code=f"{job.code}-R",
            cell_model=job.as_found.cell_model,
            origin=LotOrigin.DONOR.value,
            owner=job.removed_owner,
            customer=None if shops else job.device.customer,
            donor_job=job,
            received_on=timezone.localdate(at),
        )
    )


def _take_out(job: Job, lot: Lot, number: int, condition: Condition, by: User, at: datetime) -> Cell:
    cell = save(
        Cell(
            code=f"{lot.code}{number:02d}",
            lot=lot,
            condition=condition.value,
            place=Place.BENCH.value,
            job=job,
        )
    )
    book.bring_in(cell, by=by, at=at, job=job, note="left the old pack")
    return cell


def _no_fewer_tries(job: Job, again: rules.MadeAgain) -> rules.MadeAgain:
    """Tries that were written down happened: their number does not fall until a cell was replaced."""
    before = rules.tries_before(job)
    if again.tries is not None and again.tries < before:
        raise ShopError(
            "tries_fell",
            f"{before} tries at one joint were written down before, {again.tries} now: a try does not go away. Replace "
            f"the cell; where {before} was typed wrongly, a lead accepts it in writing.",
            field="tries",
            before=before,
        )
    return again if again.tries is not None or not before else replace(again, tries=before)


def _bolts(job: Job) -> rules.Bolts:
    return {
        measure: figures.of_points(job, Stage.JOIN, measure) for measure in (Measure.TORQUE, Measure.CONTACT_RESISTANCE)
    }
