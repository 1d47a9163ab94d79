"""Keys for testers that post their readings by themselves."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.views.decorators.cache import never_cache

from shop.models import Instrument, TesterToken
from shop.operations import testers as operations
from shop.operations.base import LEADS
from shop.selectors import workshop as selectors
from shop.web.forms.testers import TesterForm
from shop.web.http import attempt, page, person, say, show, submit


@never_cache
@page(*LEADS)
def testers(request: HttpRequest) -> HttpResponse:
    """Give a tester a key. It stands on this one answer and nowhere else: only its hash is kept."""
    form = TesterForm(request.POST or None)
    keys: list[tuple[TesterToken, str]] = []
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            keys.append(operations.issue_token(**form.values(), by=person(request)))
            return reverse("testers")

        answer = submit(request, form, do)
        if answer and not keys:
            return answer
    return show(
        request,
        "workshop/testers.html",
        form=TesterForm() if keys else form,
        issued=keys[0] if keys else None,
        testers=selectors.testers(),
        meters=Instrument.objects.exists(),
        readings=request.build_absolute_uri(reverse("api-readings")),
    )


@page(*LEADS)
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask whether a key is really withdrawn; it stops working at once."""
    token = get_object_or_404(TesterToken, pk=pk)
    if request.method != "POST":
        return show(request, "workshop/withdraw_tester.html", tester=token)

    def do() -> str:
        operations.revoke_token(token=token, by=person(request))
        say(request, f"The key of {token} is withdrawn. What it posted stays in the book.")
        return reverse("testers")

    return attempt(request, do, back=reverse("testers"))


urlpatterns = [
    path("settings/testers/", testers, name="testers"),
    path("settings/testers/<int:pk>/withdraw/", withdraw, name="withdraw_tester"),
]
