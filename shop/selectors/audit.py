"""Where everything is, recomputed from the movement history alone, and every difference to what the tables say."""

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterator

from django.db.models import F

from packs.terms import DocumentKind, Place, Stage
from shop.bridge.documents import content_hash
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

from . import audit_chains, audit_waste

OF_LOT = "lot "
"""What the first movement of a cell that came in with a table notes, followed by the code of its lot."""


def differences() -> Iterator[str]:
    """Yield one sentence for each thing that does not add up."""
    yield from audit_chains.differences()
    yield from _places()
    yield from _chains()
    yield from _positions()
    yield from _conditions()
    yield from _removed()
    yield from audit_waste.differences()
    yield from _numbers()
    yield from _documents()


def _standing(kind: str) -> dict[int, tuple[str, int | None, int | None]]:
    """Where the movements alone say that each cell or item stands: place, container and job."""
    rows = Movement.objects.filter(**{f"{kind}__isnull": False}).order_by("pk")
    return {row[0]: row[1:] for row in rows.values_list(f"{kind}_id", "to_place", "container_id", "job_id").iterator()}


def _places() -> Iterator[str]:
    """Every cell and item stands where its last movement put it, and a cell belongs to the job that this one names."""
    for kind, model in (("cell", Cell), ("item", Item)):
        last = _standing(kind)
        name = "code" if kind == "cell" else "description"
        rows = model.objects.order_by("pk").values_list("pk", name, "place", "container_id", "job_id")
        for pk, called, place, container, job in rows.iterator():
            if pk not in last:
                yield f"{kind} {called} has no movement at all"
            elif last[pk][:2] != (place, container):
                yield f"{kind} {called} is shown in {place}, its last movement went to {last[pk][0]}"
            elif kind == "cell" and last[pk][2] != job:
                yield f"cell {called} is shown with another job than its last movement names"
    yield from _jobs_of_items()
    yield from _lots_of_cells()


def _jobs_of_items() -> Iterator[str]:
    """An item belongs to the job with which it came into the book."""
    first = Movement.objects.filter(item__isnull=False, from_place="").exclude(job=F("item__job"))
    for description in first.order_by("pk").values_list("item__description", flat=True):
        yield f"item {description} is shown with another job than the one with which it came in"


def _lots_of_cells() -> Iterator[str]:
    """A cell that came into stock is of the lot that its first movement names: a recall goes by it."""
    first = Movement.objects.filter(
        cell__isnull=False, from_place="", to_place=Place.STOCK.value, note__startswith=OF_LOT
    )
    for code, lot, note in first.order_by("pk").values_list("cell__code", "cell__lot__code", "note").iterator():
        if note != f"{OF_LOT}{lot}":
            yield f"cell {code} is shown in lot {lot}, it came in with {note}"


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
    standing = _standing("cell")
    held = set()
    for position in PlanPosition.objects.filter(open=True).select_related("cell", "plan__job"):
        held.add(position.cell_id)
        due = Place.PACK if position.placed_at else Place.STOCK
        place, _, job = standing.get(position.cell_id, ("nowhere", None, None))
        if place != due:
            yield f"cell {position.cell} of {position.plan} should be in {due}, it is in {place}"
        elif position.placed_at and job != position.plan.job_id:
            yield f"cell {position.cell} is placed in {position.plan} but belongs to another job"
    placed = [pk for pk, (place, _, _) in standing.items() if place == Place.PACK and pk not in held]
    for cell in Cell.objects.in_bulk(placed).values():
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
    out = Movement.objects.filter(cell__isnull=False, to_place=Place.BENCH.value)
    out = out.filter(from_place__in=["", Place.CUSTOMER.value])
    removed = Counter(out.values_list("job_id", flat=True))
    opened = Job.objects.filter(steps__stage=Stage.DISMANTLE.value, steps__outcome=StepOutcome.DONE.value)
    for job in opened.select_related("as_found").order_by("number"):
        if removed[job.pk] != (due := cells_due_out(job)):
            yield f"job {job.code}: {removed[job.pk]} cells came out where {due} were due"
    came = Movement.objects.filter(from_place="", cell__lot__donor_job__isnull=False)
    strange = came.exclude(job=F("cell__lot__donor_job"), to_place=Place.BENCH.value)
    for code, job_number in strange.order_by("pk").values_list("cell__code", "cell__lot__donor_job__number"):
        yield f"cell {code} is said to come out of the pack of job J{job_number:04d}, no movement shows it"


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
