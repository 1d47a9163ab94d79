"""Waste containers and consignments."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New, RowsAndNew, narrowed_by
from shop.api.serializers import answers, waste
from shop.models import Consignment, Container
from shop.operations import consignments, containers, documents


class Containers(RowsAndNew):
    """Waste containers."""

    queryset = Container.objects.select_related("consignment")
    serializer_class = answers.ContainerOut
    takes = waste.ContainerIn
    filters = {"condition": "condition", "contents": "contents"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.ContainerOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List containers."""
        return self.list(request)

    @extend_schema(request=waste.ContainerIn, responses={201: answers.ContainerOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Open a container."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new container."""
        return dict(answers.ContainerOut(containers.open_container(by=person(request), **values)).data)


class Closing(New):
    """A container that is weighed, closed and secured."""

    takes = waste.CloseIn
    done = status.HTTP_200_OK

    @extend_schema(request=waste.CloseIn, responses={200: answers.ContainerOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Close a container."""
        return self.take(request, container=get_object_or_404(Container, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the container."""
        return dict(answers.ContainerOut(containers.close_container(by=person(request), **values, **where)).data)


class Reopening(New):
    """A closed container that is opened again."""

    takes = waste.Nothing
    done = status.HTTP_200_OK

    @extend_schema(request=waste.Nothing, responses={200: answers.ContainerOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Open a closed container again."""
        return self.take(request, container=get_object_or_404(Container, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the container."""
        return dict(answers.ContainerOut(containers.reopen_container(by=person(request), **values, **where)).data)


class Label(New):
    """The label of a container."""

    takes = waste.Nothing
    done = status.HTTP_200_OK

    @extend_schema(request=waste.Nothing, responses={200: answers.DocumentOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Issue the label of a container."""
        return self.take(request, container=get_object_or_404(Container, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the label."""
        return dict(answers.DocumentOut(documents.issue_label(by=person(request), **values, **where)).data)


class Consignments(RowsAndNew):
    """Consignments."""

    queryset = Consignment.objects.prefetch_related("containers")
    serializer_class = answers.ConsignmentOut
    takes = waste.ConsignIn
    filters = {"carrier": "carrier", "receiver": "receiver"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.ConsignmentOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List consignments."""
        return self.list(request)

    @extend_schema(request=waste.ConsignIn, responses={201: answers.ConsignmentOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Hand closed containers to a carrier."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new consignment."""
        return dict(answers.ConsignmentOut(consignments.consign(by=person(request), **values)).data)


class Confirmation(New):
    """What the receiver of a consignment sent back."""

    takes = waste.ConfirmIn
    done = status.HTTP_200_OK

    @extend_schema(request=waste.ConfirmIn, responses={200: answers.ConsignmentOut, **REFUSALS})
    def post(self, request: Request, number: int) -> Response:
        """Write down the confirmation of a consignment."""
        return self.take(request, consignment=get_object_or_404(Consignment, number=number))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the consignment."""
        row = consignments.confirm_consignment(by=person(request), **values, **where)
        return dict(answers.ConsignmentOut(row).data)


class ConsignmentNote(New):
    """The disposal note of a consignment."""

    takes = waste.Nothing
    done = status.HTTP_200_OK

    @extend_schema(request=waste.Nothing, responses={200: answers.DocumentOut, **REFUSALS})
    def post(self, request: Request, number: int) -> Response:
        """Issue the shop's own record of a consignment."""
        return self.take(request, consignment=get_object_or_404(Consignment, number=number))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the note."""
        row = documents.issue_consignment_note(by=person(request), **values, **where)
        return dict(answers.DocumentOut(row).data)
