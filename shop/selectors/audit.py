"""Where everything is, recomputed from the movement history alone, and every difference to what the tables say."""

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterator

from packs.terms import DocumentKind, Place, Stage
from shop.models import (
    Cell,
    ConditionChange,
    IssuedDocument,
    Item,
    Job,
    Movement,
    NumberSeries,
    PlanPosition,
    StepOutcome,
    cells_due_out,
)
from shop.operations.documents import content_hash

from . import audit_waste


def differences() -> Iterator[str]:
    """Yield one sentence for each thing that does not add up."""
    yield from _places()
    yield from _chains()
    yield from _positions()
    yield from _conditions()
    yield from _removed()
    yield from audit_waste.differences()
    yield from _numbers()
    yield from _documents()


def _places() -> Iterator[str]:
    """Every cell and item stands where its last movement put it."""
    for kind, model in (("cell", Cell), ("item", Item)):
        last = {
            row[0]: row[1:]
            for row in Movement.objects.filter(**{f"{kind}__isnull": False})
            .order_by("pk")
            .values_list(f"{kind}_id", "to_place", "container_id")
        }
        for pk, name, place, container in model.objects.order_by("pk").values_list(
            "pk", "code" if kind == "cell" else "description", "place", "container_id"
        ):
            if pk not in last:
                yield f"{kind} {name} has no movement at all"
            elif last[pk] != (place, container):
                yield f"{kind} {name} is shown in {place}, its last movement went to {last[pk][0]}"


def _chains() -> Iterator[str]:
    """Every movement starts where the one before it ended, and the first one starts outside."""
    at: dict[tuple[int | None, int | None], str] = {}
    rows = Movement.objects.order_by("pk").values_list("pk", "cell_id", "item_id", "from_place", "to_place")
    for pk, cell, item, came_from, to in rows.iterator():
        stood = at.get((cell, item), "")
        if stood != came_from:
            yield f"movement {pk} starts in {came_from or 'nowhere'}, the thing stood in {stood or 'nowhere'}"
        at[cell, item] = to


def _positions() -> Iterator[str]:
    """A placed cell of an open plan is in that job's pack, one not placed yet in stock; no other is in a pack."""
    for position in PlanPosition.objects.filter(open=True).select_related("cell", "plan__job"):
        due = Place.PACK if position.placed_at else Place.STOCK
        if position.cell.place != due:
            yield f"cell {position.cell} of {position.plan} should be in {due}, it is in {position.cell.place}"
        if position.placed_at and position.cell.job_id != position.plan.job_id:
            yield f"cell {position.cell} is placed in {position.plan} but belongs to another job"
    held = PlanPosition.objects.filter(open=True).values("cell")
    for cell in Cell.objects.filter(place=Place.PACK.value).exclude(pk__in=held):
        yield f"cell {cell} is in a pack, but holds no position there"


def _conditions() -> Iterator[str]:
    """A cell has the condition to which its last change brought it, and each change starts where the one before ended."""
    ended: dict[str, str] = {}
    rows = ConditionChange.objects.order_by("pk").values_list("pk", "cell__code", "before", "after", "cell__condition")
    now: dict[str, str] = {}
    for pk, code, before, after, condition in rows.iterator():
        if ended.get(code, before) != before:
            yield f"change of condition {pk} of cell {code} starts at {before}, the one before ended at {ended[code]}"
        ended[code], now[code] = after, condition
    for code, after in ended.items():
        if now[code] != after:
            yield f"cell {code} is shown as {now[code]}, its last change made it {after}"


def _removed() -> Iterator[str]:
    """What came out of a pack is what was counted in it, or in the groups of it that are replaced."""
    back = Movement.objects.filter(cell__isnull=False, to_place=Place.BENCH.value, from_place=Place.CUSTOMER.value)
    removed: Counter[int | None] = Counter(
        Cell.objects.filter(lot__donor_job__isnull=False).values_list("lot__donor_job_id", flat=True)
    )
    removed.update(back.values_list("job_id", flat=True))
    opened = Job.objects.filter(steps__stage=Stage.DISMANTLE.value, steps__outcome=StepOutcome.DONE.value)
    for job in opened.select_related("as_found").order_by("number"):
        if removed[job.pk] != (due := cells_due_out(job)):
            yield f"job {job.code}: {removed[job.pk]} cells came out where {due} were due"


def _numbers() -> Iterator[str]:
    """Documents of a kind are numbered 1, 2, 3 ... and the series stands one above the last."""
    papers = NumberSeries.objects.filter(kind__in=[kind.value for kind in DocumentKind])
    given_out = dict(papers.values_list("kind", "next_number"))
    used = defaultdict(list)
    for kind, number in IssuedDocument.objects.order_by("number").values_list("kind", "number"):
        used[kind].append(number)
    for kind in sorted(given_out | used):
        last = given_out.get(kind, 1) - 1
        if used[kind] != list(range(1, last + 1)):
            due = f"1 to {last}" if last else "none"
            yield f"{kind}: numbers {used[kind]} where {due} were given out"


def _documents() -> Iterator[str]:
    """Content and stored bytes of documents have the hashes that were noted with them."""
    for document in IssuedDocument.objects.order_by("pk").iterator():
        if content_hash(document.content) != document.content_sha256:
            yield f"document {document.code} says something else than when it was issued"
        if document.pdf is not None and hashlib.sha256(bytes(document.pdf)).hexdigest() != document.pdf_sha256:
            yield f"document {document.code} is not the one that was stored"
