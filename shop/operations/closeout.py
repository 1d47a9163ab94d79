"""The hand-over: papers out, everything accounted for, the device with its owner again."""

from datetime import datetime

from packs.terms import DocumentKind, FeeState, Place, Stage, Travels
from shop.bridge import fees, outdated, rules
from shop.errors import Held, ShopError
from shop.models import Cell, Consignment, Job, PlanState, User

from . import book, disposal, log, pack_notes
from .base import EVERYONE, lock_job, moment, require_stage, save, standing_plan, verb

REPORTS = {Stage.FINAL_TEST: DocumentKind.TEST_REPORT, Stage.TEST_PACK: DocumentKind.HEALTH_REPORT}
"""The report that proves a stage."""


@verb(*EVERYONE)
def hand_over(
    *,
    job: Job,
    received_by: str,
    by: User,
    travels: Travels = Travels.TAKEN,
    transport_tests: str = "",
    fee: FeeState | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """A job closes with its papers issued, every removed item gone its way, and a name for who took the device.

    Of a device that goes back without a rebuild it says what became of the fee for its examination.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.HAND_OVER)
    given_back = job.items.to_give_back().exists()
    if given_back and not received_by.strip():
        raise ShopError("receiver_missing", "Write down who takes the device.", field="received_by")
    due = fees.of_examination(job) if given_back else None
    if due and fee is None:
        raise ShopError("fee_missing", f"Say what became of the fee for the examination, {due}.", field="fee")
    built = report_due(job) is DocumentKind.TEST_REPORT
    way = rules.travelling(standing_plan(job), travels) if built else []
    if stops := rules.stopping([*hold_points(job), *way]):
        raise Held(stops)
    leaves = _leaves(job, travels, transport_tests.strip()) if built else {}
    if built:
        _hand_over_pack(job, by, at)
    if built or job.goes_back_from:
        pack_notes.learn(job, by=by, at=at)
    for item in job.items.to_give_back():
        book.move(item, Place.CUSTOMER, by=by, at=at, job=job, note=_given_back_as(job))
    job.closed_at = at
    job.version += 1
    save(job)
    if given_back:
        paid = {"fee": str(due), "fee_is": fee.value} if due and fee else {}
        log.record("handed over", by=by, at=at, job=job, to=received_by.strip(), **leaves, **paid)
    else:
        _record_closed(job, by, at)
    return job


def _record_closed(job: Job, by: User, at: datetime) -> None:
    """Nobody is handed anything: write down where an unopened pack is, in a container or out of the shop."""
    gone = list(job.items.gone().select_related("container"))
    if not gone:
        log.record("closed", by=by, at=at, job=job)
        return
    containers = sorted({item.container.code for item in gone if item.container and item.place == Place.CONTAINER})
    log.record("closed by disposal", by=by, at=at, job=job, containers=containers)


def _leaves(job: Job, travels: Travels, transport_tests: str) -> dict[str, object]:
    """Return how the pack travels, who wrote that its transport tests hold, and the most charge by its final test."""
    if travels is not Travels.TAKEN and not transport_tests:
        raise ShopError(
            "transport_tests_missing",
            "A pack that was built here is collected in person. To send it, write down who judged in writing that its "
            "transport tests hold (UN 38.3), and where that is kept.",
            field="transport_tests",
        )
    return {
        "travels": travels.value,
        "tests": transport_tests,
        "charge": rules.charge_told(standing_plan(job)),
    }


def hold_points(job: Job) -> list[rules.Finding]:
    """What still stands between a job and its end."""
    return rules.hand_over(
        job,
        waiting=disposal.waiting(job),
        report=report_due(job),
        issued=_up_to_date(job),
        note_due=note_due(job),
        note_issued=_note_covers_all(job),
    )


def _up_to_date(job: Job) -> set[str]:
    """Return the kinds of paper that count and say what came of the last try of every step."""
    counting = job.documents.counting().select_related("job").defer("pdf")
    return {document.kind for document in counting if not outdated.why(document)}


def note_due(job: Job) -> bool:
    """Whether anything of the job went into a container or out with a carrier."""
    return Cell.objects.disposed_of_by(job).exists() or job.items.gone().exists()


def note_behind(job: Job) -> bool:
    """Whether something of the job left the shop after its last disposal note was issued."""
    into = {"containers__movements__job": job, "containers__movements__to_place": Place.CONTAINER.value}
    last = Consignment.objects.filter(**into).order_by("left_at").last()
    notes = job.documents.counting().filter(kind=DocumentKind.DISPOSAL_NOTE.value)
    return last is not None and not notes.filter(issued_at__gte=last.left_at).exists()


def report_due(job: Job) -> DocumentKind | None:
    """Return the report without which a job does not end; none where nothing was built or tested to its end."""
    return next((REPORTS[stage] for stage in job.route if stage in REPORTS), None)


def _note_covers_all(job: Job) -> bool:
    """Whether a disposal note was issued after the last thing of the job had gone its way."""
    notes = job.documents.counting().filter(kind=DocumentKind.DISPOSAL_NOTE.value)
    last = job.movements.filter(to_place__in=[Place.CONTAINER.value, Place.CONSIGNED.value]).last()
    return notes.exists() if last is None else notes.filter(issued_at__gte=last.at).exists()


def _given_back_as(job: Job) -> str:
    done = "repaired" if job.part_stays else "rebuilt"
    return f"handed over, not {done}" if job.given_up or job.goes_back_from else "handed over"


def _hand_over_pack(job: Job, by: User, at: datetime) -> None:
    plan = standing_plan(job)
    for position in plan.positions.select_related("cell"):
        book.move(
            position.cell,
            Place.CUSTOMER,
            by=by,
            at=at,
            job=job,
            note="in the repaired pack" if plan.replaced else "in the rebuilt pack",
        )
    plan.positions.update(open=False)
    plan.state = PlanState.BUILT.value
    save(plan)
