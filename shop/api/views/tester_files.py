"""A tester file of a cell, kept, with what was understood of it."""

from typing import Any

from django.conf import settings
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shop.api.once import person
from shop.api.rows import REFUSALS
from shop.api.serializers.fields import Named
from shop.bridge.traces import Understood
from shop.models import Cell, FileLayout, TraceFile
from shop.operations import cell_testing
from shop.operations.base import BENCH, require_role


class TesterFileIn(serializers.Serializer[Any]):
    """The file as the tester wrote it, and the name of the layout it is read by; without one, the layout that was stated
    over the same headings, else what the file shows itself.
    """

    file = serializers.FileField()
    layout = Named(slug_field="name", queryset=FileLayout.objects.all(), required=False)

    def validate_file(self, file: Any) -> Any:
        """Refuse a file that is too large."""
        if file.size > settings.LARGEST_UPLOAD:
            raise serializers.ValidationError(f"Up to {settings.LARGEST_UPLOAD // 1024**2} MB come in.")
        return file


class OfferOut(serializers.Serializer[Any]):
    """A reading that the file offers; ``measure`` names the unit of ``value``."""

    measure = serializers.CharField()
    value = serializers.DecimalField(max_digits=14, decimal_places=3)
    method = serializers.CharField()
    conditions = serializers.CharField()


class TesterFileOut(serializers.ModelSerializer[TraceFile]):
    """A kept file; ``remarks`` tell what was repaired, withheld and noticed."""

    cell = serializers.CharField(source="cell.code", read_only=True)
    steps = serializers.SerializerMethodField()
    offers = serializers.SerializerMethodField()

    class Meta:
        model = TraceFile
        fields = ["id", "cell", "name", "sha256", "size", "rows", "layout_name", "layout", "remarks", "steps", "offers"]

    def get_steps(self, _: TraceFile) -> int:
        """Return how many steps were found."""
        return len(self.context["understood"].figures.steps)

    @extend_schema(responses=OfferOut(many=True))
    def get_offers(self, _: TraceFile) -> list[dict[str, Any]]:
        """Return the readings that the file offers."""
        return list(OfferOut(self.context["understood"].offers, many=True).data)


class TesterFiles(APIView):
    """Tester files of one cell. The same bytes are the same file: sent again, they get the same answer."""

    parser_classes = [MultiPartParser]

    @extend_schema(request=TesterFileIn, responses={200: TesterFileOut, 201: TesterFileOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Keep a tester file and tell what was understood; nothing goes into the readings yet."""
        require_role(request.user, BENCH)
        cell = get_object_or_404(Cell.objects.select_related("lot__cell_model"), code=code)
        given = TesterFileIn(data=request.data)
        given.is_valid(raise_exception=True)
        file, layout = given.validated_data["file"], given.validated_data.get("layout")
        content: bytes = file.read()
        layout = layout or cell_testing.layout_of(content)
        known = cell_testing.known_already(content)
        if known is not None and known.cell_id == cell.pk:
            return _told(known, cell_testing.again(known), status.HTTP_200_OK)
        understood = cell_testing.look_at(content=content, model=cell.lot.cell_model, layout=layout)
        kept = cell_testing.keep_trace(
            cell=cell, name=file.name, content=content, understood=understood, layout=layout, by=person(request)
        )
        return _told(kept, understood, status.HTTP_201_CREATED)


def _told(kept: TraceFile, understood: Understood, code: int) -> Response:
    return Response(TesterFileOut(kept, context={"understood": understood}).data, status=code)
