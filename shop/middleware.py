"""Headers for every answer."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shop.web.context import current

# No 'unsafe-inline' anywhere: scripts and styles come as files of our own, so text that a customer typed can't run.
CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    ]
)


class ContentSecurityPolicyMiddleware:
    """Send the one content security policy with every answer that does not bring its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        return response


class TimeZoneMiddleware:
    """Show moments in the time zone of the workshop, as its settings have it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        workshop = current(request)
        with timezone.override(workshop.time_zone if workshop else None):
            return self.get_response(request)
