"""The job's own sheet."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from packs.terms import STEPS, DangerLevel, DeviceClass, DocumentKind, JobKind, Measure, QuoteState, Stage
from packs.units import of, show_money
from shop.bridge import cells, figures, layouts, rules, standing
from shop.bridge.documents import way_stated
from shop.models import Cell, Job, PackAsFound, Plan, PlanPosition, Quote
from shop.operations import (
    breached,
    completing,
    danger_at_work,
    fault_finding,
    giving_up,
    intake,
    pack_notes,
    parking,
    quoting,
    replacing,
    returns,
)
from shop.operations.base import LEADS
from shop.operations.intake import DECLINABLE
from shop.selectors import bench, details, due, exceptions, faults, joblog, photographs, quotes, sheet, story
from shop.selectors import pack_notes as told_notes
from shop.web.forms.completing import MoreKnownForm
from shop.web.http import locale, numbers, page, person, show
from shop.web.jobs import get_job
from shop.web.stepping import action_url, codes, frozen, stage_url, words

from .completing import more_known

LOG_SHOWN = 8
BEFORE_QUOTE = (Stage.TAKE_IN, Stage.EXAMINE)
STOPPED = "The last try was stopped."


@page()
def job(request: HttpRequest, number: int) -> HttpResponse:
    """One job from top to bottom, with what must be done next lying on top."""
    row = get_job(number)
    plan = sheet.standing_plan(row)
    positions = bench.positions(plan) if plan else []
    first = due.of_job(row)
    lines = story.story(row, locale=locale(request))
    log = joblog.lines(row, locale=locale(request))
    return show(
        request,
        "jobs/sheet.html",
        job=row,
        next=_next(request, row, lines, first),
        story=_with_quote(row, [(line.stage, _told(row, line)) for line in lines], locale(request)),
        found=PackAsFound.objects.filter(job=row).first(),
        details=_details(request, row),
        fault=faults.found(row),
        may_search=person(request).holds(*sheet.BENCH),
        facility_order=row.facility_orders.last() if row.device.device_class == DeviceClass.MEDICAL else None,
        photographed=photographs.of_job(row),
        exceptions=exceptions.standing(row),
        notes=told_notes.of_device(row.device),
        plan=plan,
        **(_pack(request, plan, positions) if plan else {}),
        documents=row.documents.select_related("issued_by", "voiding").defer("pdf", "content"),
        log=log[:LOG_SHOWN],
        older_log=log[LOG_SHOWN:],
        more_known=_more_known(request, row),
        returned_as=row.returned_as.order_by("number"),
        **frozen(request, row),
        pack_outside=danger_at_work.outside(row),
        otherwise=_otherwise(request, row, plan, positions, card_due=first is due.CARD),
    )


def _details(request: HttpRequest, row: Job) -> list[details.Told]:
    stated = details.of_job(row)
    return details.lines(stated, locale=locale(request)) if stated else []


def _more_known(request: HttpRequest, row: Job) -> MoreKnownForm | None:
    """Return the form for what was not known at the counter or was misread; nothing where all is settled."""
    asked = completing.open_questions(row) or completing.correctable(row)
    return more_known(row, None, numbers(request), locale(request)) if asked else None


def _next(request: HttpRequest, row: Job, lines: list[story.StoryLine], first: due.Due | None) -> dict[str, Any] | None:
    """Return what lies on top of the sheet: the next action, or the job card where it is not printed yet."""
    action = sheet.next_action(row)
    if action is None:
        return None
    if first and not first.card:
        to_the_quote = reverse("quote", args=[row.number])
        return {"do": first.label, "why": first.why, "button": first.button, "url": to_the_quote}
    if not person(request).holds(*action.roles):
        return {"do": action.label, "button": action.button, "stopped_by": action.who}
    if first:
        card = reverse("issue", args=[row.number, DocumentKind.JOB_CARD.value])
        return {"do": first.label, "why": first.why, "button": first.button, "url": card, "post": True}
    stopped = any(line.state == "fail" for line in lines)
    why = f"{STOPPED} {action.why}" if stopped else action.why
    return {"do": action.label, "why": why, "button": action.button, "url": action_url(row, action)}


def _may_release(row: Job, positions: list[PlanPosition]) -> bool:
    untouched = bool(positions) and not any(position.placed_at for position in positions)
    return untouched and row.closed_at is None and Stage(row.stage) in (Stage.DISMANTLE, Stage.PLACE)


def _pack(request: HttpRequest, plan: Plan, positions: list[PlanPosition]) -> dict[str, Any]:
    """Return the target pack in figures, and its drawing with the cells and what was measured on them."""
    measure, readings = _readings(plan, positions)
    weakest = rules.weakest_groups(plan) if positions else None
    return {
        "figures": cells.pack_figures(plan),
        "way": way_stated(plan),
        "weakest": None if plan.replaced else weakest,
        "mixed": standing.mixed(plan, rules.group_capacities(plan)),
        "picture": layouts.picture(
            plan,
            codes(positions),
            {spot: words(request, of(measure, value)) for spot, value in readings.items()},
            links={
                (position.group, position.place): reverse("cell", args=[position.cell.code]) for position in positions
            },
            weakest=weakest[0] if weakest else (),
        ),
        "caption": CAPTIONS[measure] if readings else "",
    }


CAPTIONS = {
    Measure.REST_VOLTAGE: "Under each code: rest voltage before joining. Touch a cell to open it.",
    Measure.CAPACITY: "Under each code: capacity as tested. Touch a cell to open it.",
}


def _readings(plan: Plan, positions: list[PlanPosition]) -> tuple[Measure, dict[tuple[int, int], Any]]:
    """Return what is written into the cells: their voltage before joining, until then their tested capacity."""
    rest = figures.of_points(plan.job, Stage.MEASURE, Measure.REST_VOLTAGE)
    if rest:
        return Measure.REST_VOLTAGE, {
            (spot.group, spot.place): rest[spot.name] for spot in positions if spot.name in rest
        }
    known = figures.of_cells([position.cell for position in positions])
    tested = {(spot.group, spot.place): known.get(spot.cell_id, {}).get(Measure.CAPACITY) for spot in positions}
    return Measure.CAPACITY, {spot: value for spot, value in tested.items() if value is not None}


def _told(row: Job, line: story.StoryLine) -> dict[str, object]:
    """Return a line of the story as the page prints it."""
    return {
        "label": row.label_of(line.stage),
        "state": line.state,
        "url": stage_url(row, line.stage, line.state),
        "when": line.at,
        "by": line.by,
        "said": line.facts,
        "remarks": line.remarks,
    }


QUOTE_STATES = {QuoteState.WAITING: "wait", QuoteState.APPROVED: "done", QuoteState.DECLINED: "none"}


def _with_quote(row: Job, told: list[tuple[Stage, dict[str, object]]], number_locale: str) -> list[dict[str, object]]:
    """Return the story with the quote that counts after the examination it rests on; without one as it is."""
    lines = [line for _, line in told]
    quote = quotes.standing(row)
    if quote is None:
        return lines
    after = max((number for number, (stage, _) in enumerate(told, start=1) if stage in BEFORE_QUOTE), default=0)
    return [*lines[:after], _quoted(row, quote, number_locale), *lines[after:]]


def _quoted(row: Job, quote: Quote, number_locale: str) -> dict[str, object]:
    state = QuoteState(quote.state)
    issued = quote.document.issued_at if quote.document else None
    pays = show_money(quote.total, quote.currency, locale=number_locale)
    offered = (
        f"{quote.arrangement} of {quote.cell_model} for {pays} with tax; recommended: {quote.get_verdict_display()}"
    )
    answered = f", by {quote.answered_by}, {quote.get_heard_display()}" if quote.answered_by else ""
    return {
        "label": f"Quote {quote.code}",
        "state": QUOTE_STATES[state],
        "word": state.label,
        "url": reverse("quote", args=[row.number]),
        "when": quote.answered_at or issued,
        "by": str(quote.recorded_by or (quote.document.issued_by if quote.document else "")),
        "said": f"{offered}. {state.label.capitalize()}{answered}.",
        "remarks": (),
    }


def _otherwise(
    request: HttpRequest, row: Job, plan: Plan | None, positions: list[PlanPosition], *, card_due: bool
) -> dict[str, bool]:
    """Return what else can be done on an open job."""
    if row.closed_at is not None:
        return {"returned": True} if returns.returnable(row) else {}
    stage, clear = Stage(row.stage), row.danger_level != DangerLevel.RED
    whole = clear and intake.stands_whole(row)
    at_the_bench = person(request).holds(*sheet.BENCH)
    ways = {
        "danger": clear and danger_at_work.outside(row) is None,
        "decline": whole and not row.held and stage in DECLINABLE,
        "faults": at_the_bench and whole and not row.held and stage in fault_finding.WHILE_WHOLE,
        "pack_notes": at_the_bench and clear and not row.held and row.kind != JobKind.FOR_STOCK,
        "labour_time": at_the_bench
        and clear
        and not row.goes_back_from
        and stage in pack_notes.AT_THE_END
        and row.kind in quoting.QUOTED,
        "quote": row.kind in quoting.QUOTED and not row.held and not row.given_up and stage in quoting.WHILE_OPEN,
        "exceptions": person(request).holds(*LEADS) and clear and not row.held and not row.unopened,
        "removed": at_the_bench and stage in STEPS and Cell.objects.on_bench_of(row).exists(),
        "replace": at_the_bench
        and clear
        and not row.held
        and not row.parked
        and bool(positions)
        and stage in replacing.REPLACE_AT,
        "breached": at_the_bench and clear and not row.held and not row.parked and stage in breached.BREACHED_AT,
        "park": at_the_bench and clear and parking.possible(row),
        "give_up": at_the_bench and clear and giving_up.possible(row),
        "release": at_the_bench and _may_release(row, positions),
        "card": at_the_bench and plan is not None and plan.accepted_at is not None and not card_due,
    }
    return {way: True for way, open_to in ways.items() if open_to}
