"""Pages of the steps that join the pack: measure, join, check the taps."""

from collections.abc import Collection, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from packs.errors import PacksError
from packs.terms import JointMethod, Measure, Outcome, Peeled, Stage
from packs.units import Kind, measure_unit, of, ureg
from packs.units import show as shown
from shop.bridge import figures, layouts, levelling, rules, standing, strips
from shop.bridge.to_level import of_chosen
from shop.models import Incident, Job, PeelSample, Plan, Step, StepOutcome
from shop.operations import rebuild, welding
from shop.operations.steps import StepResult
from shop.selectors import bench, sheet
from shop.web.forms.building import JoinForm, PeelSampleForm, Position, RestVoltagesForm, TapsForm
from shop.web.http import locale, numbers, page, person, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import (
    between,
    codes,
    frozen,
    frozen_machines,
    get_plan,
    get_step,
    is_next,
    last_meter,
    record,
    step_page,
    step_url,
    taken,
    typed,
    typed_points,
    words,
)


def measure(request: HttpRequest, job: Job) -> HttpResponse:
    """One rest voltage per cell, and what joining them would do."""
    plan, step = get_plan(job), get_step(job, Stage.MEASURE)
    form = _rest_form(request, job, plan, step)

    def conclude() -> StepResult:
        return rebuild.measure_before_joining(
            job=job,
            rest_voltages_mv=form.voltages(),
            equal_charge=form.equal_charge(),
            since=form.told_since(),
            **taken(request, form),
        )

    told = _told_once(step.findings, _unread(job, plan)) if step else []
    window, apart = rules.rest_before_joining(plan), rules.groups_apart_rule(plan)
    return record(request, job, form, conclude) or step_page(
        request,
        job,
        step,
        form,
        "steps/measure.html",
        of=Stage.MEASURE,
        plan=plan,
        limit=between(request, *window) if window is not None else "",
        groups_apart=words(request, rules.own_limit(apart)) if apart else "",
        groups=_by_group(form, told),
        findings=told,
        to_level=levelling.to_level(plan) if step and step.outcome == StepOutcome.STOPPED else (),
        **_standing(request, plan),
    )


def _rest_form(request: HttpRequest, job: Job, plan: Plan, step: Step | None) -> RestVoltagesForm:
    places = [Position(spot.name, spot.group, spot.cell.code) for spot in bench.positions(plan)]
    places += [Position(standing.point_of(number), number, standing.STAYS) for number in plan.standing_groups]
    places.sort(key=lambda place: place.group)
    known = figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)
    texts = typed_points(request, Measure.REST_VOLTAGE, known)
    return RestVoltagesForm(
        request.POST or None,
        positions=places,
        by_charge=standing.by_charge(plan),
        ask_since=bool(rules.to_be_told(step)),
        initial={place.key: texts.get(place.name.replace(" ", "_"), "") for place in places} | last_meter(job),
        numbers=numbers(request),
    )


def _standing(request: HttpRequest, plan: Plan) -> dict[str, Any]:
    """Return what is levelled still, and of groups that stay what they last showed and how near a new one has to come."""
    apart_yet = {"apart_yet": of_chosen(plan)}
    if not plan.standing_groups:
        return apart_yet
    read = {group.number: group.last_mv for group in standing.groups(plan)}
    return apart_yet | {
        "stay": plan.standing_groups,
        "apart": words(request, rules.own_limit("final.group_spread")),
        "last_read": [(number, mv) for number, mv in read.items() if mv is not None],
        "flat": standing.by_charge(plan),
    }


def _unread(job: Job, plan: Plan) -> list[str]:
    """Return the positions of which the last try has no voltage."""
    read = figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)
    return [spot.name for spot in bench.positions(plan) if spot.name not in read]


def _told_once(findings: Sequence[dict[str, Any]], unread: Sequence[str]) -> list[dict[str, Any]]:
    """Say of a position without a voltage that it is missing, and not everything that is not known for that reason."""
    if not unread:
        return list(findings)
    groups = {int(name.partition(".")[0]) for name in unread}
    told = []
    for found in findings:
        if found["rule_id"] == "measure.all_measured":
            s, are = ("", "is") if len(unread) == 1 else ("s", "are")
            told.append(found | {"where": f"position{s} {', '.join(unread)} {are} missing"})
        elif found["outcome"] != Outcome.UNKNOWN or not _for_want_of(found, unread, groups):
            told.append(found)
    return told


def _for_want_of(found: dict[str, Any], unread: Sequence[str], groups: Collection[int]) -> bool:
    """Whether a finding is of a position that was not read, of its group, or of all groups together."""
    own = found["where"] in {f"position {name}" for name in unread} | {f"group {group}" for group in groups}
    return own or found["rule_id"] in {"measure.groups_apart", "measure.groups_apart_flat"}


def _by_group(form: RestVoltagesForm, findings: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the fields group by group, each with what stops there."""
    stops = rules.stored_stops(findings)
    return [
        {
            "number": number,
            "rows": rows,
            "stops": [found for found in stops if _concerns(found["where"], number)],
        }
        for number, rows in form.groups().items()
    ]


def _concerns(where: str, group: int) -> bool:
    return where == f"group {group}" or where.startswith(f"position {group}.")


def join(request: HttpRequest, job: Job) -> HttpResponse:
    """Strip by strip and face by face; a strip lies on one potential, so none bridges two groups."""
    plan, step = get_plan(job), get_step(job, Stage.JOIN)
    form = JoinForm(
        request.POST or None,
        strips={strip.number: _named(plan, strip) for strip in layouts.working_order(plan)},
        method=JointMethod(plan.joint_method),
        welds=_welds(plan),
        initial=_joined_already(request, plan, step),
        numbers=numbers(request),
    )
    if answer := record(request, job, form, lambda: _joined(request, job, form)):
        return answer
    return step_page(
        request,
        job,
        step,
        form,
        "steps/join.html",
        plan=plan,
        most_tries=rules.MOST_TRIES,
        made_again=any(done.failed for done in bench.strips_done(plan).values()),
        to_sample=form.welded and not form.welds,
        to_measure=bool(rules.stopping(rules.measured_lately(plan, timezone.now()))),
        measure_url=step_url(job, Stage.MEASURE) if rebuild.to_be_joined(job) else "",
        joints=layouts.joints_to_make(plan),
        strips=len(layouts.to_join(plan)),
        bolts=_bolt_limits(request, plan) if form.bolted else "",
        picture=layouts.picture(plan, codes(bench.positions(plan))),
        laying=_laying(plan),
    )


def _laying(plan: Plan) -> tuple[strips.Laid, ...]:
    """Return the order in which the pieces are laid, where it is known how far the cells lie apart."""
    try:
        return strips.laying(plan)
    except PacksError:
        return ()


def _bolt_limits(request: HttpRequest, plan: Plan) -> str:
    """Say what the bolts of every bar are held to, in the units in which they are typed."""
    window = rules.torque_window(plan)
    torque = "torque: not on the data sheet"
    if window is not None:
        low, high = (words(request, end, Kind.TORQUE) for end in window)
        torque = f"torque {low} to {high}"
    symbol = measure_unit(Measure.CONTACT_RESISTANCE)
    contact = shown(rules.own_limit("join.contact_resistance"), symbol=symbol, locale=locale(request))
    return f"{torque}, contact at most {contact}"


def _named(plan: Plan, strip: layouts.Strip) -> str:
    word = JointMethod(plan.joint_method).conductor.capitalize()
    return f"{word} {strip.number}, {strip.face.label}: {len(strip.joints)} joints"


def _joined(request: HttpRequest, job: Job, form: JoinForm) -> StepResult:
    return rebuild.join(
        job=job,
        strips=form.joined(),
        weld=form.chosen_weld(),
        clean_faces=form.confirmed("clean_faces"),
        second_look=bool(form.confirmed("second_look")),
        second_look_by=form.cleaned_data["second_look_by"],
        pause_min=form.cleaned_data["pause_min"],
        again=form.again(),
        measured_at=form.cleaned_data.get("measured_at"),
        by=person(request),
        version=version(request),
    )


def _joined_already(request: HttpRequest, plan: Plan, step: Step | None) -> dict[str, Any]:
    initial: dict[str, Any] = dict(step.confirmed) if step else {}
    initial["second_look_by"] = rules.looked_by(initial)
    initial["tries"] = rules.made_again_kept(initial).tries
    for number, done in bench.strips_done(plan).items():
        initial |= {f"done_{number}": True, f"spots_{number}": done.spots, f"failed_{number}": done.failed}
    for measure, name in ((Measure.TORQUE, "torque"), (Measure.CONTACT_RESISTANCE, "contact")):
        for bar, value in figures.of_points(plan.job, Stage.JOIN, measure).items():
            initial[f"{name}_{bar.removeprefix('bar ')}"] = typed(request, measure, value)
    return initial


def _welds(plan: Plan) -> dict[rules.Weld, str]:
    """Return the settings that were tried today on the strip of the plan, the newest first, with what speaks against each."""
    now = timezone.now()
    samples = reversed(rules.todays_samples(plan, now))
    tried = (rules.Weld(machine=one.machine, schedule=one.schedule, pulse=one.pulse) for one in samples)
    return {weld: rules.doubts(plan, weld, now) for weld in tried}


@page(*sheet.BENCH)
def peel_samples(request: HttpRequest, number: int) -> HttpResponse:
    """Write down a peel sample of the job's strip, with those of today below."""
    job = get_job(number)
    plan = sheet.standing_plan(job)
    if plan is None or Stage(job.stage) not in welding.SAMPLED_AT or plan.joint_method != JointMethod.SPOT_WELD:
        return redirect("job", number=job.number)
    last = PeelSample.objects.last()
    if last and Incident.objects.naming(last.machine, "welder"):
        last = None  # what an incident froze is never proposed
    known = {name: getattr(last, name) for name in ("machine", "schedule", "pulse", "specimen")} if last else {}
    if last:
        known["pulse"] = f"{last.pulse.normalize():f}"
    form = PeelSampleForm(request.POST or None, initial=known, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            welding.record_samples(
                job=job,
                weld=form.weld(),
                specimen=form.cleaned_data["specimen"],
                peeled=form.peeled(),
                by=person(request),
            )
            return step_url(job, Stage.JOIN) if is_next(job, Stage.JOIN) else reverse("job", args=[job.number])

        if answer := submit(request, form, do, done=_sampled(form)):
            return answer
    today = rules.todays_samples(plan, timezone.now())
    width, thickness = (ureg.Quantity(um, "um") for um in (plan.strip_width_um, plan.strip_thickness_um))
    return show(
        request,
        "steps/peel_samples.html",
        job=job,
        plan=plan,
        form=form,
        today=today,
        width=width,
        thickness=thickness,
        frozen_machines=frozen_machines("welder"),
        **frozen(request, job),
    )


def _sampled(form: PeelSampleForm) -> str:
    """Return what follows from the samples that were just written down."""
    kept = "The peel sample is in the book."
    outcomes = set(form.peeled().values())
    if Peeled.BURNT in outcomes:
        return f"{kept} It burnt through: weld with less, after another sample that holds."
    if Peeled.LOOSE in outcomes:
        return f"{kept} It did not hold: weld with more, after another sample that holds."
    return kept


def taps(request: HttpRequest, job: Job) -> HttpResponse:
    """Every tap from the negative end, with what it must show beside the field."""
    plan, step = get_plan(job), get_step(job, Stage.LADDER)
    known = figures.of_points(job, Stage.LADDER, Measure.VOLTAGE)
    due = rules.expected_taps_mv(plan)
    form = TapsForm(
        request.POST or None,
        limits=[
            f"{words(request, of(Measure.VOLTAGE, mv))} ± {words(request, apart)}"
            for mv, apart in zip(due, rules.agreement_limits(rules.in_force(job), due), strict=True)
        ],
        trips=_trip_limits(request, plan),
        ask_since=bool(rules.to_be_told(step) or rules.board_before(plan) or rules.board_before(plan, another=True)),
        initial=typed_points(request, Measure.VOLTAGE, known) | last_meter(job) | _suits(step),
        numbers=numbers(request),
    )

    def conclude() -> StepResult:
        taps_mv = form.point_values()
        return rebuild.check_taps(
            job=job, taps_mv=taps_mv, board=form.board(), since=form.told_since(), **taken(request, form)
        )

    return record(request, job, form, conclude) or step_page(request, job, step, form, "steps/taps.html", plan=plan)


def _trip_limits(request: HttpRequest, plan: Plan) -> list[str]:
    """Return what the trips of a board are held to; nothing where no such board belongs to the cells."""
    trips = rules.trips(plan)
    if trips is None:
        return []
    high, low = (words(request, trip) for trip in trips)
    return [f"at most {high}", f"at least {low}"]


def _suits(step: Step | None) -> dict[str, bool]:
    ticks = {"suits": rules.BOARD_SUITS, "another": rules.ANOTHER_BOARD}
    return {name: bool(step and step.confirmed.get(kept)) for name, kept in ticks.items()}
