"""Photographs of a job: listed, taken in, withdrawn. The picture itself is under the address that each names."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from packs.terms import Stage
from shop.api.once import person
from shop.api.rows import REFUSALS, Rows, narrowed_by
from shop.api.serializers.fields import TermField
from shop.models import Job, Photograph
from shop.operations import photographs
from shop.operations.base import EVERYONE, require_role


class PhotographIn(serializers.Serializer[Any]):
    """A photograph as JPEG, PNG or HEIC, what it shows, and its stage; without one, the one the job is at."""

    file = serializers.FileField()
    shows = serializers.CharField(max_length=160)
    stage = TermField(Stage, required=False)

    def validate_file(self, file: Any) -> Any:
        """Refuse a file that is too large before it is read."""
        if file.size > photographs.LARGEST:
            raise serializers.ValidationError(f"Up to {photographs.LARGEST // 1024**2} MB come in.")
        return file


class PhotographOut(serializers.ModelSerializer[Photograph]):
    """A photograph as it is kept: JPEG, upright, without anything beside the picture."""

    by = serializers.CharField(source="by.username", read_only=True)
    address = serializers.SerializerMethodField()

    class Meta:
        model = Photograph
        fields = ["id", "stage", "shows", "sha256", "size", "width", "height", "at", "by", "address"]

    def get_address(self, row: Photograph) -> str:
        """Return where the picture is served, to people who are signed in."""
        return reverse("photograph", args=[row.job.number, row.pk])


class Photographs(Rows):
    """Photographs of one job. The same picture is the same photograph: sent again, it gets the same answer."""

    queryset = Photograph.objects.none()
    serializer_class = PhotographOut
    parser_classes = [MultiPartParser]
    filters = {"stage": "stage"}

    def get_queryset(self) -> Any:
        """Return the photographs of the job in the address."""
        job = get_object_or_404(Job, number=self.kwargs["number"])
        return job.photographs.standing().select_related("by", "job")

    @extend_schema(parameters=narrowed_by(*filters), responses={200: PhotographOut(many=True), **REFUSALS})
    def get(self, request: Request, number: int) -> Response:
        """List the photographs of a job."""
        return self.list(request)

    @extend_schema(request=PhotographIn, responses={200: PhotographOut, 201: PhotographOut, **REFUSALS})
    def post(self, request: Request, number: int) -> Response:
        """Keep a photograph of a job."""
        require_role(request.user, EVERYONE)
        job = get_object_or_404(Job, number=number)
        given = PhotographIn(data=request.data)
        given.is_valid(raise_exception=True)
        values = given.validated_data
        picture = photographs.look_at(values.pop("file").read())
        if known := photographs.known_already(job, picture):
            return Response(PhotographOut(known).data, status=status.HTTP_200_OK)
        kept = photographs.keep_photograph(job=job, picture=picture, by=person(request), **values)
        return Response(PhotographOut(kept).data, status=status.HTTP_201_CREATED)
