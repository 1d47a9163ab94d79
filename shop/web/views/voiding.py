"""Papers that count no more: issued anew, or made void, with the reason."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from shop.bridge import outdated
from shop.models import IssuedDocument
from shop.operations import voiding as operations
from shop.operations.base import BENCH, LEADS
from shop.web.forms.papers import ReasonForm
from shop.web.http import page, person, say, show, submit
from shop.web.printed import print_document
from shop.web.views.documents import get_document


@page(*BENCH)
def reissue(request: HttpRequest, code: str) -> HttpResponse:
    """Issue a paper anew from what the book says now."""
    row = get_document(code)
    form = ReasonForm(request.POST or None, initial={"reason": outdated.why(row)})
    made: list[IssuedDocument] = []

    def do() -> str:
        made.append(operations.reissue(document=row, by=person(request), **form.values()))
        return reverse("document", args=[made[-1].code])

    answer = submit(request, form, do) if request.method == "POST" and form.is_valid() else None
    if answer is None:
        return show(request, "documents/reissue.html", document=row, form=form)
    for new in made:
        if print_document(request, new, person(request)):
            say(request, f"{new.code} takes the place of {row.code}.")
    return answer


@page(*LEADS)
def void(request: HttpRequest, code: str) -> HttpResponse:
    """Make a paper void."""
    row, form = get_document(code), ReasonForm(request.POST or None)

    def do() -> str:
        operations.void(document=row, by=person(request), **form.values())
        return reverse("document", args=[row.code])

    if request.method == "POST" and form.is_valid():
        answer = submit(request, form, do, done=f"{row.code} is void. It keeps its number.")
        if answer:
            return answer
    return show(request, "documents/void.html", document=row, form=form)


urlpatterns = [
    path("documents/<str:code>/reissue/", reissue, name="reissue"),
    path("documents/<str:code>/void/", void, name="void"),
]
