"""Preparations of cells, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import OldTabs, Stubs, Wrap
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.operations import photographs
from shop.operations.preparing import MOST_CELLS

from .fields import CellCode, TermField


class PreparationIn(serializers.Serializer[Any]):
    """What was done alike to a set of cells; sent as a form, it may hold a photograph of the old print."""

    cells = serializers.ListField(child=CellCode(), min_length=1, max_length=MOST_CELLS)
    tabs = TermField(OldTabs)
    stubs = TermField(Stubs)
    wrapper = TermField(Wrap)
    insulator = TermField(Wrap)
    printed = serializers.CharField(max_length=160, required=False, allow_blank=True)
    photographed = serializers.BooleanField(default=False)
    picture = serializers.FileField(required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)

    def validate_picture(self, file: Any) -> Picture:
        """Return the picture that is kept, or say why it cannot be."""
        if file.size > photographs.LARGEST:
            raise serializers.ValidationError(f"Up to {photographs.LARGEST // 1024**2} MB come in.")
        try:
            return photographs.look_at(file.read())
        except ShopError as error:
            raise serializers.ValidationError(error.message) from error


class PreparationOut(serializers.Serializer[Any]):
    """The cells that are ready to be joined."""

    prepared = serializers.ListField(child=serializers.CharField())
