"""Several tester files sent together: kept waiting, read by the worker, each with what became of it."""

from typing import Any

from django.conf import settings
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from packs.terms import TaskKind, TaskState
from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.fields import Named, TermField
from shop.models import Instrument, Task
from shop.operations import many_files
from shop.operations.many_files import MOST_FILES, Sent


def _file(file: Any) -> None:
    if file.size > settings.LARGEST_UPLOAD:
        raise serializers.ValidationError(f"Up to {settings.LARGEST_UPLOAD // 1024**2} MB come in.")


class ManyFilesIn(serializers.Serializer[Any]):
    """Files named after their cells, ``file`` as often as there are files: what stands before the first dot, or before
    two underlines, is the code of the cell. With ``accept`` figures without a doubt become readings.
    """

    file = serializers.ListField(
        child=serializers.FileField(validators=[_file]), min_length=1, max_length=MOST_FILES, allow_empty=False
    )
    accept = serializers.BooleanField(default=False)
    instrument = Named(slug_field="name", queryset=Instrument.objects.all(), required=False)


class BecameOut(serializers.Serializer[Any]):
    """What became of one file: kept, kept before or refused, with more words; its cell and its number among the files."""

    name = serializers.CharField()
    way = serializers.CharField()
    words = serializers.CharField()
    cell = serializers.CharField(allow_blank=True)
    trace = serializers.IntegerField(allow_null=True)


class FilesOut(serializers.ModelSerializer[Task]):
    """How far the reading is, and what became of each file so far."""

    state = TermField(TaskState)
    became = serializers.SerializerMethodField()
    left = serializers.SerializerMethodField()

    class Meta:
        model = Task
        fields = ["id", "state", "share", "told", "became", "left"]

    @extend_schema(responses=BecameOut(many=True))
    def get_became(self, task: Task) -> list[dict[str, Any]]:
        """Return what became of the files that were read."""
        return list(BecameOut(task.answer or [], many=True).data)

    def get_left(self, task: Task) -> list[str]:
        """Return the names of the files that wait."""
        return [one["name"] for one in task.asked["files"][len(task.answer or []) :]]


class ManyFiles(New):
    """Tester files sent together."""

    takes = ManyFilesIn
    parser_classes = [MultiPartParser]

    @extend_schema(request=ManyFilesIn, responses={201: FilesOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Send tester files; the worker beside the shop reads them one after the other."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what there is to ask for."""
        sent = [Sent(one.name, one.read()) for one in values.pop("file")]
        return dict(FilesOut(many_files.read_files(sent=sent, by=person(request), **values)).data)


class FilesRead(APIView):
    """What became of tester files that were sent together."""

    @extend_schema(responses={200: FilesOut, **REFUSALS})
    def get(self, request: Request, pk: int) -> Response:
        """Tell how far the reading is, and what became of each file."""
        return Response(FilesOut(get_object_or_404(Task, pk=pk, kind=TaskKind.TESTER_FILES.value)).data)
