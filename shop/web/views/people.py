"""One's own password, and what the owner does about people: roles, a one-time password, barring."""

from collections.abc import Callable

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import Role
from shop.models import TesterToken, User
from shop.operations import people as operations
from shop.web.forms.people import OncePasswordForm, OwnPasswordForm, RolesForm
from shop.web.http import OWN_PASSWORD, attempt, page, person, say, show, submit


@page()
def own_password(request: HttpRequest) -> HttpResponse:
    """A new password of one's own."""
    form = OwnPasswordForm(request.POST or None, person=person(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            user = operations.change_password(password=form.cleaned_data["password"], by=person(request))
            update_session_auth_hash(request, user)
            say(request, "Your new password counts from now on.")
            return "/"

        if answer := submit(request, form, do):
            return answer
    return show(request, "workshop/own_password.html", form=form)


@page(Role.OWNER)
def person_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One person: roles, a one-time password, and whether they may sign in."""
    who = get_object_or_404(User, pk=pk)
    here = reverse("person", args=[pk])
    asked = request.POST.get("do", "")
    if single := _single(request, who).get(asked):
        return attempt(request, single, back=here)
    roles = RolesForm(request.POST if asked == "roles" else None, initial={"roles": [one.value for one in who.roles]})
    password = OncePasswordForm(request.POST if asked == "password" else None)

    def new_roles() -> str:
        operations.change_roles(person=who, roles=roles.cleaned_data["roles"], by=person(request))
        say(request, f"The new roles of {who} count from now on.")
        return here

    def new_password() -> str:
        operations.reset_password(person=who, password=password.cleaned_data["password"], by=person(request))
        say(request, f"{who} signs in once with the password you set, and then sets one of their own.")
        return here

    for form, do in ((roles, new_roles), (password, new_password)):
        if form.is_bound and form.is_valid() and (answer := submit(request, form, do)):
            return answer
    return show(
        request,
        "workshop/person.html",
        who=who,
        roles=roles,
        password=password,
        keys=TesterToken.objects.filter(issued_by=who, revoked_at=None).count(),
    )


def _single(request: HttpRequest, who: User) -> dict[str, Callable[[], str]]:
    """Return what a single button does about somebody."""

    def bar() -> str:
        operations.bar_person(person=who, by=person(request))
        say(request, f"{who} is not let in any more. What they did stays under their name.")
        return reverse("person", args=[who.pk])

    def let_in() -> str:
        operations.let_in(person=who, by=person(request))
        say(request, f"{who} may sign in again.")
        return reverse("person", args=[who.pk])

    return {"bar": bar, "let_in": let_in}


urlpatterns = [
    path("password/", own_password, name=OWN_PASSWORD),
    path("settings/people/<int:pk>/", person_page, name="person"),
]
