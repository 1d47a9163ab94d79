"""Which door a request came by that reached no view, so that the answer speaks its language."""

import sys

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views import defaults

from shop.api.errors import plain
from shop.disk import trouble

API = "/api/"


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Say that there is nothing under the address."""
    if request.path.startswith(API):
        return plain(request, "not_found", "There is nothing under this address.", 404)
    return defaults.page_not_found(request, exception)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Say that the request could not be read."""
    if request.path.startswith(API):
        return plain(request, "bad_request", "The request cannot be read.", 400)
    return defaults.bad_request(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """Say that the fault is ours, or that the disk takes nothing more."""
    if found := trouble(sys.exception()):
        if request.path.startswith(API):
            return plain(request, found.code, f"{found.what} Nothing was changed.", 503)
        return HttpResponse(render_to_string("disk.html", vars(found)), status=503)
    if request.path.startswith(API):
        return plain(request, "server_error", "The shop's program made a mistake. Nothing was changed.", 500)
    return defaults.server_error(request)
