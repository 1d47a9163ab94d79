"""A POST counts once: the same key with the same content gets the first answer again."""

import hashlib
import json
from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from shop.errors import ShopError
from shop.models import AnsweredRequest, User

HEADER = "Idempotency-Key"


def answer_once(request: Request, do: Callable[[], tuple[dict[str, Any], int]]) -> Response:
    """Run ``do`` and keep its answer under the request's key, or give the answer that is kept.

    Raises
    ------
    ShopError
        No key was sent, or the key was used before for something else.
    """
    key = request.headers.get(HEADER, "")
    if not 1 <= len(key) <= 80:
        raise ShopError("key_missing", f"Send a header {HEADER} of 1 to 80 characters with every POST.")
    with transaction.atomic():
        kept, first = AnsweredRequest.objects.get_or_create(
            user=person(request),
            key=key,
            defaults={"request_sha256": _hash(request), "at": timezone.now()},
        )
        if first:
            kept.answer, kept.status = do()
            kept.save()
    if kept.request_sha256 != _hash(request):
        raise ShopError("key_reused", f"This {HEADER} was used before for another request.")
    return Response(kept.answer, status=kept.status)


def person(request: Request) -> User:
    """Return who is behind a request: signed in, or who issued the tester's key."""
    assert isinstance(request.user, User)  # noqa: S101 - the permission lets nobody else in
    return request.user


def _hash(request: Request) -> str:
    text = json.dumps([request.path, request.data], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
