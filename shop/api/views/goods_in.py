"""Goods in: checks of a lot, and its release."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers.goods_in import LotCheckIn, LotCheckOut, ReleaseIn
from shop.models import Lot
from shop.operations import goods_in


class GoodsIn(New):
    """The check of a bought lot."""

    takes = LotCheckIn
    parser_classes = [JSONParser, MultiPartParser]

    @extend_schema(request=LotCheckIn, responses={201: LotCheckOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Write down what came with a lot; a sample that cannot be of its cells holds all of it."""
        return self.take(request, lot=get_object_or_404(Lot, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the check."""
        return dict(LotCheckOut(goods_in.check_lot(by=person(request), **values, **where)).data)


class Release(New):
    """The release of a lot that is held."""

    takes = ReleaseIn

    @extend_schema(request=ReleaseIn, responses={201: LotCheckOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Say why a held lot is used all the same."""
        return self.take(request, lot=get_object_or_404(Lot, code=code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the release."""
        return dict(LotCheckOut(goods_in.release_lot(by=person(request), **values, **where)).data)
