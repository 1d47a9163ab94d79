"""Headers for every answer."""

from collections.abc import Callable

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone

from packs.units import writing
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


class PlainAddressMiddleware:
    """Answer that there is nothing under an address with a character that PostgreSQL cannot even look for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: object, _arguments: list[str], named: dict[str, object]
    ) -> None:
        """Look at the address; what is asked behind its question mark goes on without such characters."""
        if any("\x00" in str(text) for text in named.values()):
            raise Http404
        if "%00" in request.META.get("QUERY_STRING", ""):
            request.GET = QueryDict(request.META["QUERY_STRING"].replace("%00", ""))


class LargestUploadMiddleware:
    """Turn away what says beforehand that it is too large, before anything of it is read."""

    MORE = 1024**2
    """What a form may weigh besides its file."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        said = request.META.get("CONTENT_LENGTH") or "0"
        if said.isdecimal() and int(said) > settings.LARGEST_UPLOAD + self.MORE:
            most = settings.LARGEST_UPLOAD // 1024**2
            size = int(said) // 1024**2
            if request.path.startswith("/api/"):
                message = f"This has {size} MB; up to {most} MB come in. Nothing was kept."
                return JsonResponse({"code": "too_large", "message": message, "facts": {}}, status=413)
            return render(request, "413.html", {"most": most, "size": size}, status=413)
        return self.get_response(request)


class TimeZoneMiddleware:
    """Show moments in the time zone of the workshop and numbers in its format, as its settings have them."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        workshop = current(request)
        locale = workshop.number_locale if workshop else "en"
        with timezone.override(workshop.time_zone if workshop else None), writing(locale):
            return self.get_response(request)
