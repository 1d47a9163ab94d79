"""What is wrong with a pack: the pack stated, what is still possible, and the next measurement with its fields."""

from collections.abc import Sequence
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.errors import PacksError
from packs.terms import Stage
from shop.bridge import cautions, faultfinding
from shop.models import Job
from shop.operations import fault_finding
from shop.operations.base import BENCH
from shop.operations.intake import stands_whole
from shop.selectors import faults as search
from shop.selectors import sheet
from shop.web.forms.base import QuantityField
from shop.web.forms.faults import STATED, AnewForm, FaultPackForm, ProbesForm, TakeBackForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.prefill import typed

MEASURE, SECOND = "measure", "second"
"""What an address may ask for: one set-up by its sign, and to go on looking for a second fault."""


@page(*BENCH)
def faults(request: HttpRequest, number: int) -> HttpResponse:
    """What is still possible, and what to measure next; sent, the readings of one set-up."""
    job = get_job(number)
    found = search.of_job(job)
    form = _form(request, found)
    sent = request.method == "POST" and form is not None and form.is_valid()
    if sent and form and (answer := submit(request, form, lambda: _recorded(request, job, form))):
        return answer
    return show(
        request,
        "faults/page.html",
        job=job,
        found=found,
        form=form,
        going_on=_going_on(request),
        open=_open(job),
        action=sheet.next_action(job),
        at_load=_at_load(job, form),
        cautions=cautions.for_stage(Stage.EXAMINE, highest_mv=job.device.rated_voltage_mv or 0),
    )


@page(*BENCH)
def fault_pack(request: HttpRequest, number: int) -> HttpResponse:
    """The pack as the meter meets it; what is not known stays empty and gets a default."""
    job = get_job(number)
    form = FaultPackForm(request.POST or None, numbers=numbers(request))
    form.initial = _known(request, job, form)
    if search.as_found(job):
        form.fields["load_ma"].help_text = f"where none is stated: {faultfinding.SHARES}"
    if not search.examined(job):
        form.fields["examined_as"].widget = form.fields["examined_as"].hidden_widget()

    def do() -> str:
        fault_finding.state_pack(
            job=job, pack=form.pack(), sure=form.said_true(), by=person(request), version=version(request)
        )
        return reverse("faults", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "faults/pack.html", job=job, form=form, open=_open(job), action=sheet.next_action(job))


@page(*BENCH)
def search_anew(request: HttpRequest, number: int) -> HttpResponse:
    """Begin the search anew after a repair, and say what was repaired."""
    job = get_job(number)
    form = AnewForm(request.POST or None)

    def do() -> str:
        fault_finding.search_anew(job=job, by=person(request), version=version(request), **form.values())
        say(request, "The search begins anew. What was read before stays in the book and counts no more.")
        return reverse("faults", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "faults/anew.html", job=job, form=form, found=search.of_job(job), open=_open(job))


@page(*BENCH)
def take_back_probe(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Take one reading back, and say why."""
    job = get_job(number)
    probe = get_object_or_404(job.probes.standing().select_related("by"), pk=pk)
    form = TakeBackForm(request.POST or None)

    def do() -> str:
        fault_finding.take_back_probe(job=job, probe=probe, by=person(request), **form.values("reason"))
        say(request, "Taken back. The reading stays in the book and counts no more.")
        return _to_read_again(job, faultfinding.probed(probe))

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "faults/take_back.html", job=job, form=form, taken=faultfinding.probed(probe))


def _to_read_again(job: Job, taken: faultfinding.Taken) -> str:
    """Return the address at which a reading is taken again; that of the page where it is not offered now."""
    address = reverse("faults", args=[job.number])
    found = search.of_job(job)
    again = next((one for one in found.standing.offered if one.reads(taken.reading)), None) if found else None
    return f"{address}?{urlencode({MEASURE: again.sign})}" if again else address


def _form(request: HttpRequest, found: search.Search | None) -> ProbesForm | None:
    """Return the fields of the set-up that was sent, asked for, or is proposed."""
    if found is None:
        return None
    chosen = _chosen(request, found.standing)
    return ProbesForm(request.POST or None, chosen=chosen, numbers=numbers(request)) if chosen else None


def _at_load(job: Job, form: ProbesForm | None) -> Sequence[object]:
    """Return what to say before the load of a set-up is drawn; nothing where none is."""
    if form is None or not form.chosen.loaded:
        return ()
    return cautions.at_a_search(highest_mv=job.device.rated_voltage_mv or 0, charger=form.chosen.on_charger)


def _chosen(request: HttpRequest, standing: faultfinding.Standing) -> faultfinding.SetUp | None:
    try:
        if request.method == "POST":
            return faultfinding.set_up(request.POST.get("set_up", ""))
        if asked := request.GET.get(MEASURE):
            return next((one for one in standing.offered if one.sign == asked), standing.next)
    except PacksError:
        return None
    return standing.next


def _recorded(request: HttpRequest, job: Job, form: ProbesForm) -> str:
    kept = fault_finding.record_probes(
        job=job,
        circumstance=form.chosen.circumstance,
        probes=form.probes(),
        instrument=form.cleaned_data["instrument"],
        by=person(request),
    )
    say(request, f"{len(kept)} {'reading is' if len(kept) == 1 else 'readings are'} in the book.")
    again = "?second=1" if SECOND in request.GET else ""
    return f"{reverse('faults', args=[job.number])}{again}"


def _going_on(request: HttpRequest) -> bool:
    """Whether measuring goes on though one fault explains everything: a second one is looked for, or one asked to measure."""
    return request.method == "POST" or SECOND in request.GET or MEASURE in request.GET


def _known(request: HttpRequest, job: Job, form: FaultPackForm) -> dict[str, object]:
    found = search.of_job(job)
    known = faultfinding.known(job, search.as_found(job))
    stated = dict(known) if found is None else {name: getattr(found.row, name) for name in STATED}
    quantities = {name: field for name, field in form.fields.items() if isinstance(field, QuantityField)}
    return stated | {
        name: typed(quantities[name], value, locale=locale(request))
        for name, value in stated.items()
        if name in quantities
    }


def _open(job: Job) -> bool:
    """Whether readings can be added: the pack is in the shop, whole, and at the bench."""
    at_bench = job.closed_at is None and not job.held and Stage(job.stage) in fault_finding.WHILE_WHOLE
    return at_bench and stands_whole(job)


urlpatterns = [
    path("jobs/<int:number>/faults/", faults, name="faults"),
    path("jobs/<int:number>/faults/pack/", fault_pack, name="fault_pack"),
    path("jobs/<int:number>/faults/anew/", search_anew, name="search_anew"),
    path("jobs/<int:number>/faults/<int:pk>/take-back/", take_back_probe, name="take_back_probe"),
]
