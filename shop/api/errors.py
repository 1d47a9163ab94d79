"""Every refusal as ``{code, message, facts}``."""

from collections.abc import Mapping
from typing import Any

from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler

from packs.errors import PacksError
from shop.errors import Held, ShopError

STATUS = {"not_allowed": status.HTTP_403_FORBIDDEN, "stale": status.HTTP_409_CONFLICT}


def body(code: str, message: str, facts: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Return the one shape of a refusal."""
    return {"code": code, "message": message, "facts": dict(facts or {})}


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what an operation or the framework refused into an answer; anything else stays an error of ours."""
    if isinstance(error, ShopError):
        return Response(body(error.code, error.message, _facts(error)), status=STATUS.get(error.code, 409))
    if isinstance(error, PacksError):
        return Response(body("impossible", str(error)), status=status.HTTP_409_CONFLICT)
    answer = exception_handler(error, context)
    if answer is not None:
        answer.data = _framework(error, answer.data)
    return answer


def _facts(error: ShopError) -> dict[str, Any]:
    facts = dict(error.facts)
    if error.field:
        facts["field"] = error.field
    if isinstance(error, Held):
        facts["rules"] = [getattr(finding, "rule_id", "") for finding in error.findings]
    return facts


def _framework(error: Exception, data: Any) -> dict[str, Any]:
    if isinstance(error, exceptions.ValidationError):
        return body("invalid", "Some values cannot be taken.", {"fields": data})
    if isinstance(error, (Http404, exceptions.NotFound)):
        return body("not_found", "There is nothing under this address.")
    code = getattr(error, "default_code", "refused")
    return body(str(code), str(getattr(error, "detail", error)))
