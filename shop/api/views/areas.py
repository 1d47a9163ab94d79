"""How full the places are, and what they may hold."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from packs.terms import Area
from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.areas import AreaLimitIn, AreaLimitOut, PlaceOut
from shop.bridge import areas as bridge
from shop.operations import areas


class Places(New):
    """Kinds of place with what stands in them."""

    takes = AreaLimitIn

    @extend_schema(responses={200: PlaceOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List every kind of place with how full it is."""
        held = bridge.standing()
        rows = [{"area": area, "filled": bridge.filled(area, held=held[area])} for area in Area]
        return Response(PlaceOut(rows, many=True).data)

    @extend_schema(request=AreaLimitIn, responses={201: AreaLimitOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Enter what a kind of place may hold; the newest entry counts."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what was entered."""
        return dict(AreaLimitOut(areas.set_area_limit(by=person(request), **values)).data)
