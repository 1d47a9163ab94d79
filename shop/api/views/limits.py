"""Every limit as it counts now, and setting one."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.limits import LimitIn, LimitSet, LimitsOut
from shop.bridge import limits as bridge
from shop.bridge import rules
from shop.operations import limits


class Limits(New):
    """The limits of the shop."""

    takes = LimitIn

    @extend_schema(responses={200: LimitsOut, **REFUSALS})
    def get(self, request: Request) -> Response:
        """List every rule with its limit as it counts now."""
        in_force = rules.in_force()
        lines = [line for section in bridge.sections("en", in_force) for line in section.lines]
        return Response(LimitsOut({"rule_set": in_force.version, "rules": lines}).data)

    @extend_schema(request=LimitIn, responses={201: LimitSet, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Set a limit of the shop's own, or go back to the catalogue's."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what was set."""
        return dict(LimitSet(limits.set_limit(by=person(request), **values)).data)
