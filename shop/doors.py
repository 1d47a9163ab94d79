"""Which door a request came by that reached no view, so that the answer speaks its language."""

from django.http import HttpRequest, HttpResponse
from django.views import defaults

from shop.api.errors import plain

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
    """Say that the fault is ours."""
    if request.path.startswith(API):
        return plain(request, "server_error", "The shop's program made a mistake. Nothing was changed.", 500)
    return defaults.server_error(request)
