"""Preparations of cells, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import OldTabs, Stubs, Wrap
from shop.operations.preparing import MOST_CELLS

from .fields import CellCode, PictureField, TermField


class PreparationIn(serializers.Serializer[Any]):
    """What was done alike to a set of cells; sent as a form, it may hold a photograph of the old print."""

    cells = serializers.ListField(child=CellCode(), min_length=1, max_length=MOST_CELLS)
    tabs = TermField(OldTabs)
    stubs = TermField(Stubs)
    wrapper = TermField(Wrap)
    insulator = TermField(Wrap)
    printed = serializers.CharField(max_length=160, required=False, allow_blank=True)
    photographed = serializers.BooleanField(default=False)
    picture = PictureField(required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class PreparationOut(serializers.Serializer[Any]):
    """The cells that are ready to be joined."""

    prepared = serializers.ListField(child=serializers.CharField())
