"""Histories of lots, signatures and orders of facilities, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import DeviceClass
from shop.models import LotHistory, LotSignature
from shop.operations.histories import MOST_CYCLES

from .fields import TermField, Versioned


def _words(length: int) -> serializers.CharField:
    return serializers.CharField(max_length=length, required=False, allow_blank=True)


class LotHistoryIn(serializers.Serializer[Any]):
    """What is known of the history of a lot; what is left out is not known."""

    donor_pack = _words(160)
    date_code = _words(40)
    cycle_count = serializers.IntegerField(min_value=0, max_value=MOST_CYCLES, required=False, allow_null=True)
    condition = _words(300)


class LotSignatureIn(serializers.Serializer[Any]):
    """Which device classes the used cells of a lot may serve; an empty list where they serve nothing."""

    device_classes = serializers.ListField(child=TermField(DeviceClass), max_length=len(DeviceClass))
    reason = _words(300)


class FacilityOrderIn(Versioned):
    """What the facility that uses a medical device ordered in writing."""

    facility = serializers.CharField(max_length=160)
    reference = serializers.CharField(max_length=80)
    ordered_cells = serializers.CharField(max_length=120)


class LotHistoryOut(serializers.ModelSerializer[LotHistory]):
    """One statement of the history of a lot; ``missing`` names what there is no evidence of."""

    lot = serializers.CharField(source="lot.code", read_only=True)
    missing = serializers.ListField(child=serializers.CharField(), read_only=True)
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = LotHistory
        fields = ["lot", "donor_pack", "date_code", "cycle_count", "condition", "missing", "at", "by"]


class LotSignatureOut(serializers.ModelSerializer[LotSignature]):
    """One signature of a lot."""

    lot = serializers.CharField(source="lot.code", read_only=True)
    device_classes = serializers.ListField(child=serializers.CharField())
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = LotSignature
        fields = ["lot", "device_classes", "reason", "at", "by"]
