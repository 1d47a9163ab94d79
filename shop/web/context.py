"""What every page knows: the workshop's settings and a fresh form token."""

import uuid
from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from shop.models import WorkshopSettings


def workshop(request: HttpRequest) -> dict[str, Any]:
    """Give every template the workshop, how it writes numbers, and a token for its form."""
    return {
        "workshop": SimpleLazyObject(lambda: current(request)),
        "number_locale": SimpleLazyObject(lambda: getattr(current(request), "number_locale", "en")),
        "form_token": uuid.uuid4(),
    }


def current(request: HttpRequest) -> WorkshopSettings | None:
    """Return the settings that count now, read once per request."""
    if not hasattr(request, "workshop"):
        request.workshop = WorkshopSettings.objects.last()  # type: ignore[attr-defined]
    settings: WorkshopSettings | None = request.workshop  # type: ignore[attr-defined]
    return settings
