"""What nobody knew at the counter: who to call, what the nameplate says, whether it is recalled."""

from django.http import HttpRequest, HttpResponse, QueryDict
from django.urls import path, reverse

from packs.terms import DangerLevel
from packs.units import NumberFormat
from shop.bridge import possible
from shop.models import Job
from shop.operations import completing
from shop.operations.base import EVERYONE
from shop.web.forms.completing import MoreKnownForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job


def more_known(job: Job, sent: QueryDict | None, written: NumberFormat, language: str) -> MoreKnownForm:
    """Return the form of what is still open on a job, and of the figures of its nameplate that may be corrected."""
    stand = {
        name: possible.STATED[name].shown(getattr(job.device, name), locale=language)
        for name in completing.correctable(job)
    }
    return MoreKnownForm(sent, questions=completing.open_questions(job), corrects=stand, numbers=written)


@page(*EVERYONE)
def complete_intake(request: HttpRequest, number: int) -> HttpResponse:
    """What nobody knew at the counter, once it is known."""
    job = get_job(number)
    form = more_known(job, request.POST or None, numbers(request), locale(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            after = completing.complete_intake(job=job, by=person(request), version=version(request), **form.given())
            say(request, "Written down.")
            red = after.danger_level == DangerLevel.RED and job.danger_level != DangerLevel.RED
            return reverse("danger" if red else "job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return show(request, "take_in/complete.html", job=job, more_known=form)


urlpatterns = [path("jobs/<int:number>/complete/", complete_intake, name="complete_intake")]
