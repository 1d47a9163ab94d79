"""Signing in, also in the middle of a form: what was typed waits and is sent afterwards."""

from collections.abc import Iterable
from typing import Any

from django.contrib.auth import login
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path

from shop.web.http import KEPT, NOT_WORDS

Typed = list[tuple[str, str]]


class SignIn(LoginView):
    """Sign in; a form that was on its way is shown once more and sent with one button."""

    template_name = "registration/sign_in.html"

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Let somebody in, and give back what was typed."""
        kept = self._kept()
        if not kept:
            return super().form_valid(form)
        login(self.request, form.get_user())
        shown = [(name.replace("_", " "), text) for name, text in kept if text and name not in NOT_WORDS]
        context = {"to": self.get_redirect_url() or "/", "kept": kept, "shown": shown}
        return render(self.request, "registration/go_on.html", context)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Return what the page shows; a mistyped password costs nothing that was typed before."""
        return super().get_context_data(**kwargs) | {"kept": self._kept()}

    def _kept(self) -> Typed:
        lists: Iterable[tuple[str, list[Any]]] = self.request.POST.lists()
        return [
            (name.removeprefix(KEPT), str(text)) for name, texts in lists if name.startswith(KEPT) for text in texts
        ]


urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="sign_in"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
]
