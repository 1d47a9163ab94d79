"""Cells that were in a pack before, made ready to be joined again."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.preparing import PreparationIn, PreparationOut
from shop.operations import preparing


class Preparations(New):
    """Preparations of cells."""

    takes = PreparationIn
    parser_classes = [JSONParser, MultiPartParser]

    @extend_schema(request=PreparationIn, responses={201: PreparationOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Write down what was done to cells: tabs, stubs, wrapper and insulator."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return which cells are ready."""
        made = preparing.prepare_cells(by=person(request), **values)
        return {"prepared": [one.cell.code for one in made]}
