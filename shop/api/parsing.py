"""JSON as it may come in: no larger, no deeper and no stranger than what the shop can keep."""

import io
import re
from collections.abc import Iterator, Mapping
from typing import Any, BinaryIO

from django.conf import settings
from rest_framework import exceptions, parsers, status

UNKEEPABLE = re.compile("[\x00\ud800-\udfff]")
"""NUL, which PostgreSQL cannot keep, and halves of characters, which nothing can."""


class TooLarge(exceptions.APIException):
    """The body is larger than the shop takes."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_detail = f"Send at most {settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 2**20} MB at once."
    default_code = "too_large"


class ShopJSONParser(parsers.JSONParser):
    """JSON, refused where it is too large, nested without end, or holds text that cannot be kept."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None) -> Any:
        """Return what the body says."""
        try:
            data = super().parse(_limited(stream), media_type, parser_context)
        except RecursionError as error:
            raise exceptions.ParseError("The body is nested too deeply.") from error
        if any(UNKEEPABLE.search(text) for text in _texts(data)):
            raise exceptions.ParseError("The body holds characters that cannot be kept.")
        return data


def _limited(stream: BinaryIO) -> BinaryIO:
    most: int = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    body = stream.read(most + 1)
    if len(body) > most:
        raise TooLarge
    return io.BytesIO(body)


def _texts(data: Any) -> Iterator[str]:
    """Yield every text in parsed JSON, the keys too."""
    waiting = [data]
    while waiting:
        match waiting.pop():
            case str() as text:
                yield text
            case dict() as fields:
                waiting += [*fields.keys(), *fields.values()]
            case list() as items:
                waiting += items
            case _:
                pass
