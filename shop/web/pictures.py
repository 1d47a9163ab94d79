"""Photographs that are kept in the data folder, as answers."""

from collections.abc import Callable

from django.http import Http404, HttpResponse
from django.utils.cache import patch_cache_control

from shop.errors import ShopError


def picture(read: Callable[[], bytes], name: str, sha256: str) -> HttpResponse:
    """Return a photograph; where its file is gone, there is no such page."""
    try:
        answer = HttpResponse(read(), content_type="image/jpeg")
    except ShopError as gone:
        raise Http404 from gone
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["ETag"] = f'"{sha256}"'
    patch_cache_control(answer, private=True, max_age=3600)
    return answer
