"""The shop's book per pack model: the notes of a job's nameplate, its labour time, and the whole book."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from shop.models import Job
from shop.operations import pack_notes as operations
from shop.operations.base import BENCH
from shop.selectors import pack_notes as told
from shop.selectors.faults import as_found
from shop.web.forms.pack_notes import PackNotesForm, TimeForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.prefill import typed


@page()
def pack_book(request: HttpRequest) -> HttpResponse:
    """Every pack model that the shop has notes of."""
    return show(request, "pack_notes/book.html", book=told.book())


@page(*BENCH)
def pack_notes(request: HttpRequest, number: int) -> HttpResponse:
    """What is known of this pack model; what is written here takes the place of what was there."""
    job = get_job(number)
    form = PackNotesForm(request.POST or None, numbers=numbers(request))
    form.initial = _known(request, job, form)

    def do() -> str:
        row = operations.write_notes(job=job, learnt=form.learnt(), by=person(request), version=version(request))
        say(request, f"The notes of {row} are in the book.")
        return reverse("job", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "pack_notes/page.html", job=job, form=form, notes=told.of_device(job.device))


@page(*BENCH)
def labour_time(request: HttpRequest, number: int) -> HttpResponse:
    """How long this job truly took, for the next quote."""
    job = get_job(number)
    form = TimeForm(request.POST or None)

    def do() -> str:
        operations.note_time(job=job, by=person(request), version=version(request), **form.values())
        say(request, "The labour time is in the pack notes.")
        return reverse("job", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "pack_notes/time.html", job=job, form=form, notes=told.of_device(job.device))


def _known(request: HttpRequest, job: Job, form: PackNotesForm) -> dict[str, object]:
    """Return what stands in the book, else what was found in this pack."""
    notes, found = told.of_device(job.device), as_found(job)
    if notes is not None:
        row = notes.row
        sensor = form.fields["sensor_ohm"]
        known = {name: getattr(row, name) for name in ("opens", "opening", "strips", "board", "usual_fault")}
        known |= {"arrangement": row.shape, "cell_model": row.cell_model_id}
        return known | {"sensor_ohm": typed(sensor, row.sensor_ohm, locale=locale(request))}  # type: ignore[arg-type]
    if found is None:
        return {}
    arrangement = f"{found.series}s{found.fullest}p"
    return {
        "arrangement": arrangement,
        "cell_model": found.cell_model_id,
        "opening": found.housing,
        "board": found.board,
    }


urlpatterns = [
    path("pack-notes/", pack_book, name="pack_book"),
    path("jobs/<int:number>/pack-notes/", pack_notes, name="pack_notes"),
    path("jobs/<int:number>/labour-time/", labour_time, name="labour_time"),
]
