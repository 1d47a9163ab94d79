"""The criteria of grades, and what new cells read."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New, RowsAndNew, narrowed_by
from shop.api.serializers.grading import CriteriaIn, CriteriaOut, CriteriaSet, NewCellIn, NewCellOut
from shop.bridge import grading as bridge
from shop.models import NewCell
from shop.operations import grading


class Criteria(New):
    """The criteria of grades."""

    takes = CriteriaIn

    @extend_schema(responses={200: CriteriaOut, **REFUSALS})
    def get(self, request: Request) -> Response:
        """Tell the criteria that count now."""
        counting = bridge.criteria()
        return Response(CriteriaOut({"version": counting.version, "values": bridge.facts_of(counting)}).data)

    @extend_schema(request=CriteriaIn, responses={201: CriteriaSet, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Set a new version of the criteria, whole."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what was set."""
        return dict(CriteriaSet(grading.set_criteria(by=person(request), **values)).data)


class NewCells(RowsAndNew):
    """What new cells read."""

    queryset = NewCell.objects.select_related("cell_model", "by")
    serializer_class = NewCellOut
    takes = NewCellIn
    filters = {"model": "cell_model__name"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: NewCellOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List what new cells read; the newest of a model counts."""
        return self.list(request)

    @extend_schema(request=NewCellIn, responses={201: NewCellOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """State what a new cell of a model reads."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what was stated."""
        return dict(NewCellOut(grading.state_new_cell(by=person(request), **values)).data)
