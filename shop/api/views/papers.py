"""Papers that count no more."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers import answers, papers
from shop.models import IssuedDocument
from shop.operations import voiding


class Reissue(New):
    """A paper that is issued anew."""

    takes = papers.ReasonIn
    done = status.HTTP_200_OK

    @extend_schema(request=papers.ReasonIn, responses={200: answers.DocumentOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Issue a document anew; the old one counts no more."""
        return self.take(request, document=get_object_or_404(IssuedDocument.objects.coded(code)))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new document."""
        return dict(answers.DocumentOut(voiding.reissue(by=person(request), **values, **where)).data)


class Void(New):
    """A paper that counts no more."""

    takes = papers.ReasonIn
    done = status.HTTP_200_OK

    @extend_schema(request=papers.ReasonIn, responses={200: answers.DocumentOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Make a document void."""
        return self.take(request, document=get_object_or_404(IssuedDocument.objects.coded(code)))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the document."""
        row = voiding.void(by=person(request), **values, **where)
        return dict(answers.DocumentOut(row.document).data)
