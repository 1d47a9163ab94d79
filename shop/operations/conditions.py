"""Conditions of cells: a rest voltage can reject one, a person can lower one, and every change says why."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from packs.terms import Condition, Measure, Place
from shop.bridge import figures, rules
from shop.errors import ShopError
from shop.models import Cell, ConditionChange, Reading, User

from . import log
from .base import BENCH, moment, save, verb

GETTING_WORSE = (Condition.INTACT, Condition.DAMAGED, Condition.REACTIVE)
JUDGED_AT = frozenset({Place.BENCH, Place.STOCK})
"""Where a person decides on a cell's condition. In a pack the rules of its step decide, elsewhere it is not ours."""
REJECTED_AT = JUDGED_AT | {Place.PACK}
"""Where a voltage rejects a cell: for good, also one that is placed already."""


@verb(*BENCH)
def lower_condition(
    *, cell: Cell, condition: Condition, reason: str, by: User, now: datetime | None = None
) -> ConditionChange:
    """A cell on the bench or in stock that turns out worse than it was written down is told so, with the reason."""
    at = moment(now)
    cell = Cell.objects.select_for_update().get(pk=cell.pk)
    if not reason.strip():
        raise ShopError("reason_missing", "Say what was seen.", field="reason")
    if Place(cell.place) not in JUDGED_AT:
        raise ShopError("not_here", f"Cell {cell.code} is {Place(cell.place).label}; its condition stays as it left.")
    require_free(cell)
    if GETTING_WORSE.index(condition) <= GETTING_WORSE.index(Condition(cell.condition)):
        raise ShopError(
            "not_lower",
            f"Cell {cell.code} is {Condition(cell.condition).label}, and a condition only gets worse. A reading that "
            "was a typing error is corrected instead.",
            field="condition",
        )
    changed = change(cell, condition, reason.strip(), by=by, at=at)
    facts = {"cell": cell.code, "before": changed.before, "after": changed.after, "reason": changed.reason}
    log.record("condition lowered", by=by, at=at, job=cell.job, **facts)
    return changed


def change(
    cell: Cell, condition: Condition, reason: str, *, by: User, at: datetime, reading: Reading | None = None
) -> ConditionChange:
    """Give a cell another condition, and write down why."""
    row = ConditionChange(
        cell=cell, before=cell.condition, after=condition.value, reason=reason, reading=reading, at=at, by=by
    )
    cell.condition = condition.value
    save(cell)
    return save(row)


def lower_to(cell: Cell, condition: Condition, reason: str, *, by: User, at: datetime) -> None:
    """Lower a cell to a condition; one that is as bad or worse already stays as it is."""
    if GETTING_WORSE.index(condition) > GETTING_WORSE.index(Condition(cell.condition)):
        change(cell, condition, reason, by=by, at=at)


def require_free(cell: Cell) -> None:
    """Refuse a cell that an open plan holds: it is released, or its build given up, first."""
    position = cell.positions.filter(open=True).select_related("plan__job").first()
    if position is not None:
        raise ShopError(
            "in_a_plan",
            f"Cell {cell.code} is held for position {position.name} of job {position.plan.job.code}. Replace "
            "it there first, or give that plan up, or the build once a cell is placed.",
            cell=cell.code,
            job=position.plan.job.code,
        )


def follow(reading: Reading, *, by: User, at: datetime, in_force: rules.RuleSet | None = None) -> None:
    """A whole cell that rests below what its chemistry may fall to is rejected: it counts as damaged or defective."""
    cell = reading.cell
    if cell is None or reading.measure != Measure.REST_VOLTAGE or Place(cell.place) not in REJECTED_AT:
        return
    if cell.condition == Condition.INTACT and (why := rules.rejection(cell.lot.cell_model, reading.value, in_force)):
        change(cell, Condition.DAMAGED, why, by=by, at=at, reading=reading)


def follow_correction(right: Reading, *, by: User, at: datetime) -> None:
    """What a typing error rejected is as it was before, once the right value does not reject it."""
    cell = right.cell
    last = cell.condition_changes.last() if cell else None
    if cell is None or last is None or last.reading is None or not _corrects(right, last.reading):
        return follow(right, by=by, at=at)
    if Place(cell.place) in REJECTED_AT and not rules.rejection(cell.lot.cell_model, right.value):
        change(cell, Condition(last.before), f"rest voltage corrected: {right.reason}"[:300], by=by, at=at)
    return None


def follow_withdrawal(withdrawn: Reading, reason: str, *, by: User, at: datetime) -> None:
    """A cell that only a withdrawn rest voltage rejected is as it was before; the one that counts again decides."""
    cell = withdrawn.cell
    if cell is None or withdrawn.measure != Measure.REST_VOLTAGE or Place(cell.place) not in REJECTED_AT:
        return
    last = cell.condition_changes.last()
    if last is not None and last.reading is not None and last.reading.pk in (withdrawn.pk, *_older(withdrawn)):
        change(cell, Condition(last.before), f"rest voltage withdrawn: {reason}"[:300], by=by, at=at)
    follow_newest(cell, by=by, at=at)


def follow_newest(cell: Cell, *, by: User, at: datetime) -> None:
    """Judge a cell by the rest voltage that stands, when it comes to where that decides."""
    known = Reading.objects.still_telling().filter(cell=cell, measure=Measure.REST_VOLTAGE.value).last()
    if known is not None:
        follow(known, by=by, at=at)


def require_measured(cells: Iterable[Cell]) -> None:
    """Refuse a cell whose rest voltage nobody measured, and one whose voltage rejects it."""
    cells = list(cells)
    known, in_force = figures.of_cells(cells), rules.in_force()
    for cell in cells:
        voltage = known.get(cell.pk, {}).get(Measure.REST_VOLTAGE)
        if voltage is None:
            raise ShopError(
                "not_measured",
                f"Cell {cell.code} is not measured: write its rest voltage on its page first. Until then it can go "
                "into a container or to its owner.",
                cell=cell.code,
            )
        if why := rules.rejection(cell.lot.cell_model, voltage, in_force):
            raise ShopError("rejected", f"Cell {cell.code} is {why[0].lower()}{why[1:]}", cell=cell.code)


def _corrects(right: Reading, wrong: Reading) -> bool:
    """Whether a reading corrects another one, over however many corrections."""
    return wrong.pk in _older(right)


def _older(reading: Reading) -> Iterator[int]:
    """Yield which readings a correction stands for, the newest first."""
    older: Reading | None = reading.corrects
    while older is not None:
        yield older.pk
        older = older.corrects
