"""What every page shares: who is signed in, forms that count once, and refusals put beside what was typed."""

import functools
import uuid
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec

from django.contrib import messages
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import redirect_to_login
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from packs.terms import Role
from packs.units import NumberFormat
from shop.errors import ShopError
from shop.models import FormToken, User
from shop.web.context import current
from shop.web.forms.base import ShopForm

P = ParamSpec("P")
OWN_PASSWORD = "own_password"  # noqa: S105 - the name of a page
"""The one page that is shown to somebody whose password somebody else set."""
KEPT = "kept."
NOT_KEPT = frozenset({"csrfmiddlewaretoken", "password", "old", "again"})
NOT_WORDS = frozenset({"form_token", "version", "looked_at", "groups"})
"""What a form brings besides what somebody typed into it: secrets that never stand on a page, and marks of its own."""
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def page(*roles: Role, posts: tuple[Role, ...] = ()) -> Callable[[View[P]], View[P]]:
    """Make a view a page of the shop: for people who are signed in, and where roles are named, who hold one.

    ``posts`` names who may send its form, where more people may look at the page than change what it shows.
    """

    def wrap(view: View[P]) -> View[P]:
        @functools.wraps(view)
        def run(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return _sign_in_first(request)
            if person(request).password_once and view.__name__ != OWN_PASSWORD:
                return redirect(OWN_PASSWORD)
            needed = posts if posts and request.method == "POST" else roles
            if needed and not person(request).holds(*needed):
                return render(request, "403.html", {"roles": [role.label for role in needed]}, status=403)
            if leads_to := _led_before(request):
                return redirect(leads_to)
            return view(request, *args, **kwargs)

        run.roles = frozenset(roles)  # type: ignore[attr-defined]
        return run  # type: ignore[return-value]  # wraps() names the request argument, View leaves it unnamed

    return wrap


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    """Ask who is there; what a form brought waits on that page until it can be sent."""
    if request.method != "POST":
        return redirect_to_login(request.get_full_path())
    typed = [(name, str(text)) for name, texts in request.POST.lists() if name not in NOT_KEPT for text in texts]
    context = {"form": AuthenticationForm(request), "next": request.get_full_path(), "kept": typed}
    context["files"] = bool(request.FILES)
    return render(request, "registration/sign_in.html", context, status=401)


def person(request: HttpRequest) -> User:
    """Return who is signed in."""
    assert isinstance(request.user, User)  # noqa: S101 - page() lets nobody else in
    return request.user


def submit(request: HttpRequest, form: ShopForm, do: Callable[[], str], *, done: str = "") -> HttpResponse | None:
    """Do what a valid form asks, once per form, and lead on; a refusal goes into the form and gives None.

    ``do`` runs the operation and returns the address to go to. The same form sent twice leads there both times.
    """
    try:
        leads_to = _once(request, do)
    except ShopError as error:
        form.refuse(error)
        return None
    if done:
        messages.success(request, done)
    for sentence in form.understood():
        messages.info(request, sentence)
    return redirect(leads_to)


def attempt(request: HttpRequest, do: Callable[[], str], *, back: str, done: str = "") -> HttpResponse:
    """Do what a single button asks, once, and lead on; a refusal is said on the page it came from."""
    try:
        leads_to = _once(request, do)
    except ShopError as error:
        messages.error(request, error.message)
        return redirect(back)
    if done:
        messages.success(request, done)
    return redirect(leads_to)


def _once(request: HttpRequest, do: Callable[[], str]) -> str:
    with transaction.atomic():
        sent, first = FormToken.objects.get_or_create(
            token=_token(request), defaults={"user": person(request), "at": timezone.now()}
        )
        if first:
            sent.leads_to = do()
            sent.save()
        return sent.leads_to


def _led_before(request: HttpRequest) -> str:
    """Return where this very form led when it was sent before; by now its page may be another one."""
    if request.method != "POST":
        return ""
    try:
        sent = FormToken.objects.filter(token=_token(request), user=person(request)).first()
    except ShopError:
        return ""
    return sent.leads_to if sent else ""


def _token(request: HttpRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("form_token", ""))
    except ValueError as error:
        raise ShopError(
            "no_form_token", "This form is out of date. Load the page again and send it once more."
        ) from error


def show(request: HttpRequest, template: str, *, status: int = 200, **context: Any) -> HttpResponse:
    """Answer with a page."""
    return render(request, template, context, status=status)


def say(request: HttpRequest, sentence: str) -> None:
    """Say on the next page what was done."""
    messages.success(request, sentence)


def warn(request: HttpRequest, sentence: str) -> None:
    """Say on the next page what does not hold, though what was sent was done."""
    messages.warning(request, sentence)


def came_from(request: HttpRequest) -> str:
    """Return the page of this shop that sent somebody here, or nothing."""
    address = request.GET.get("next", "")
    here = {request.get_host()}
    return address if url_has_allowed_host_and_scheme(address, here, require_https=request.is_secure()) else ""


def version(request: HttpRequest) -> int | None:
    """Return the version of the job that the form was made for, where it names one."""
    text = request.POST.get("version", "")
    return int(text) if text.isdecimal() else None


def locale(request: HttpRequest) -> str:
    """Return the locale in which the shop writes numbers."""
    settings = current(request)
    return settings.number_locale if settings else "en"


def numbers(request: HttpRequest) -> NumberFormat:
    """Return how the shop writes numbers."""
    return NumberFormat.of_locale(locale(request))
