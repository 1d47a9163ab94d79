"""Every refusal as ``{code, message, facts}``."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler

from packs.errors import Infeasible, PacksError
from shop.errors import Held, ShopError

from .parsing import TooLarge

STATUS = {
    "not_allowed": status.HTTP_403_FORBIDDEN,
    "key_missing": status.HTTP_400_BAD_REQUEST,
    "unknown_filter": status.HTTP_400_BAD_REQUEST,
    "bad_filter": status.HTTP_400_BAD_REQUEST,
}
"""Status by code; what the state of the shop refuses is a conflict."""

FRAMEWORK: Mapping[type[Exception], tuple[str, str]] = {
    exceptions.ValidationError: ("invalid", "Some values cannot be taken."),
    Http404: ("not_found", "There is nothing under this address."),
    exceptions.NotFound: ("not_found", "There is nothing under this address."),
}


def body(code: str, message: str, facts: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Return the one shape of a refusal."""
    return {"code": code, "message": message, "facts": dict(facts or {})}


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what an operation or the framework refused into an answer; anything else stays an error of ours."""
    if isinstance(error, ShopError):
        return Response(body(error.code, error.message, _facts(error)), status=STATUS.get(error.code, 409))
    if isinstance(error, PacksError):
        code = "infeasible" if isinstance(error, Infeasible) else "impossible_value"
        return Response(body(code, str(error)), status=status.HTTP_409_CONFLICT)
    if isinstance(error, RequestDataTooBig):
        error = TooLarge()
    answer = exception_handler(error, context)
    if answer is not None:
        answer.data = _framework(error, answer.data)
    return answer


def plain(request: HttpRequest, code: str, message: str, answered: int) -> JsonResponse:
    """Answer a request that reached no view of the API."""
    return JsonResponse(body(code, message, {"path": request.path}), status=answered)


def _facts(error: ShopError) -> dict[str, Any]:
    facts = dict(error.facts)
    if error.field:
        facts["field"] = error.field
    if isinstance(error, Held):
        facts["rules"] = [getattr(finding, "rule_id", "") for finding in error.findings]
    return facts


def _framework(error: Exception, data: Any) -> dict[str, Any]:
    for kind, (code, message) in FRAMEWORK.items():
        if isinstance(error, kind):
            return body(code, message, {"fields": data} if code == "invalid" else None)
    return body(str(getattr(error, "default_code", "refused")), str(getattr(error, "detail", error)))
