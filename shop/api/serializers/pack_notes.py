"""What the operations on pack notes take."""

from typing import Any

from rest_framework import serializers

from packs.terms import Opening
from shop.bridge import possible
from shop.models import CellModel
from shop.operations.pack_notes import Learnt

from .fields import Named, TermField, Versioned, number


class NotesIn(Versioned):
    """What is known of the pack model of a job; it takes the place of what was written before."""

    opens = TermField(Opening, required=False)
    opening = serializers.CharField(max_length=400, required=False, allow_blank=True)
    series = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS, required=False)
    parallel = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS, required=False)
    cell_model = Named(slug_field="name", queryset=CellModel.objects.all(), required=False)
    strips = serializers.CharField(max_length=200, required=False, allow_blank=True)
    board = serializers.CharField(max_length=400, required=False, allow_blank=True)
    sensor_ohm = number(required=False)
    usual_fault = serializers.CharField(max_length=400, required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        if ("series" in attrs) != ("parallel" in attrs):
            raise serializers.ValidationError("An arrangement has groups in series and cells in parallel.")
        version = attrs.pop("version", None)
        return {"learnt": Learnt(**attrs), "version": version}


class TimeIn(Versioned):
    """How long the work truly took."""

    minutes = serializers.IntegerField(min_value=1, max_value=possible.MOST_MINUTES)
