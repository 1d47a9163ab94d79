"""Histories of lots, and what leads sign of them."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.histories import LotHistoryIn, LotHistoryOut, LotSignatureIn, LotSignatureOut
from shop.models import Lot
from shop.operations import histories


class History(New):
    """The history of a lot."""

    takes = LotHistoryIn

    @extend_schema(request=LotHistoryIn, responses={201: LotHistoryOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """State what is known of the history of a lot, whole and anew."""
        return self.take(request, lot=get_object_or_404(Lot, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the history as stated."""
        return dict(LotHistoryOut(histories.state_history(by=person(request), **values, **where)).data)


class Signature(New):
    """The signature of a lot."""

    takes = LotSignatureIn

    @extend_schema(request=LotSignatureIn, responses={201: LotSignatureOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Sign which device classes the used cells of a lot may serve."""
        return self.take(request, lot=get_object_or_404(Lot, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the signature."""
        return dict(LotSignatureOut(histories.sign_lot(by=person(request), **values, **where)).data)
