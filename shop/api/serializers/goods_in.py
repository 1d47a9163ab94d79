"""Goods in, as the API takes and tells it."""

from typing import Any

from rest_framework import serializers

from shop.models import LotCheck

from .fields import PictureField, number, whole


def _words(length: int) -> serializers.CharField:
    return serializers.CharField(max_length=length, required=False, allow_blank=True)


class LotCheckIn(serializers.Serializer[Any]):
    """What came with a bought lot, and what a sample of it measured."""

    invoice = _words(80)
    date_code = _words(40)
    transport_summary = _words(160)
    picture = PictureField(required=False)
    sample = _words(160)
    mass_mg = whole(required=False)
    diameter_um = whole(required=False)
    height_um = whole(required=False)
    capacity_mah = number(places=1, min_value=0, required=False)
    dc_resistance_uohm = whole(required=False)


class ReleaseIn(serializers.Serializer[Any]):
    """Why a held lot is used all the same."""

    reason = serializers.CharField(max_length=300)


class LotCheckOut(serializers.ModelSerializer[LotCheck]):
    """One check of a lot, or its release."""

    lot = serializers.CharField(source="lot.code", read_only=True)
    doubts = serializers.ListField(child=serializers.CharField())
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = LotCheck
        fields = [
            *("lot", "invoice", "date_code", "transport_summary", "sample", "mass_mg", "diameter_um", "height_um"),
            *("capacity_mah", "dc_resistance_uohm", "picture_sha256", "doubts", "release", "at", "by"),
        ]
