"""Incidents: listed, written down by anybody, released by a lead; and the shop's emergency text."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New, RowsAndNew, narrowed_by
from shop.api.serializers.incidents import EmergencyIn, EmergencyOut, FindingsIn, IncidentIn, IncidentOut, ReleaseOut
from shop.models import EmergencyText, Incident
from shop.operations import incidents

NOT_WRITTEN = {"text": "", "at": None, "by": ""}
"""What is told before the owner wrote anything."""


class Incidents(RowsAndNew):
    """Incidents, newest first."""

    queryset = Incident.objects.select_related("job", "by", "release__by")
    serializer_class = IncidentOut
    filters = {"job": "job__number", "kind": "kind"}
    takes = IncidentIn

    @extend_schema(
        parameters=narrowed_by(*filters),
        responses={200: IncidentOut(many=True), **REFUSALS},
    )
    def get(self, request: Request) -> Response:
        """List incidents; one without a release freezes what it names."""
        return self.list(request)

    @extend_schema(request=IncidentIn, responses={201: IncidentOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Write an incident down at once; what it names is used no further."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the incident."""
        return dict(IncidentOut(incidents.report_incident(by=person(request), **values)).data)


class Release(New):
    """The release after an incident."""

    takes = FindingsIn

    @extend_schema(request=FindingsIn, responses={201: ReleaseOut, **REFUSALS})
    def post(self, request: Request, pk: int) -> Response:
        """Say as a lead what was found, and that work goes on."""
        return self.take(request, incident=get_object_or_404(Incident, pk=pk))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the release."""
        return dict(ReleaseOut(incidents.release_incident(by=person(request), **values, **where)).data)


class Emergency(New):
    """What everybody does when it burns, in the owner's words."""

    takes = EmergencyIn

    @extend_schema(responses={200: EmergencyOut, **REFUSALS})
    def get(self, request: Request) -> Response:
        """Read it; the fire service and local codes come first."""
        row = EmergencyText.objects.select_related("by").first()
        return Response(EmergencyOut(row).data if row else NOT_WRITTEN)

    @extend_schema(request=EmergencyIn, responses={201: EmergencyOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Write what everybody does; what stood there before is kept."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what was written."""
        return dict(EmergencyOut(incidents.write_emergency_text(by=person(request), **values)).data)
