"""A POST counts once: the same key with the same content gets the first answer again."""

import hashlib
import json
import re
from collections.abc import Callable
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from rest_framework.request import Request
from rest_framework.response import Response

from shop.errors import ShopError
from shop.models import AnsweredRequest, TesterToken, User

HEADER = "Idempotency-Key"
LONGEST_KEY = 60
READABLE = re.compile(rf"[!-~]{{1,{LONGEST_KEY}}}")


def answer_once(request: Request, do: Callable[[], tuple[dict[str, Any], int]]) -> Response:
    """Run ``do`` and keep its answer under the request's key, or give the answer that is kept.

    Raises
    ------
    ShopError
        No key was sent, or the key was used before for something else.
    """
    key = _key(request)
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


def _key(request: Request) -> str:
    """Return the key as it is kept: each tester counts for itself, though its readings are one person's."""
    key = request.headers.get(HEADER, "")
    if not READABLE.fullmatch(key):
        raise ShopError(
            "key_missing", f"Send a header {HEADER} of 1 to {LONGEST_KEY} plain characters with every POST."
        )
    return f"{request.auth.pk}/{key}" if isinstance(request.auth, TesterToken) else key


def _hash(request: Request) -> str:
    text = json.dumps([request.path, _content(request.data)], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def _content(data: Any) -> Any:
    """Return what was sent so that it can be compared: of a form every value, and of a file its bytes, not its name."""
    if not isinstance(data, MultiValueDict):
        return data
    return {
        name: [_of_file(one) if isinstance(one, UploadedFile) else one for one in data.getlist(name)] for name in data
    }


def _of_file(file: "UploadedFile[Any]") -> list[str]:
    file.seek(0)
    content = file.read()
    file.seek(0)
    return [str(file.name), hashlib.sha256(content).hexdigest()]
