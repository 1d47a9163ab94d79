"""What the operations on quotes take."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from packs.terms import Heard, RemovedWay, Risk
from shop.bridge import possible
from shop.bridge.worth import Offer
from shop.models import CellModel

from .fields import GROUPS, Named, TermField, Versioned, number, whole


class QuoteIn(Versioned):
    """What is offered; costs are those of the workshop, without margin and tax."""

    cell_model = Named(slug_field="name", queryset=CellModel.objects.all())
    series = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    parallel = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    cell_cost = number(places=4, min_value=0)
    strip_um = whole(required=False)
    wire_um = whole(required=False)
    conductor_cost = number(places=4, min_value=0, required=False)
    board_cost = number(places=4, min_value=0, required=False)
    labour_minutes = whole()
    test_minutes = whole()
    life_years = number(places=1, min_value=Decimal("0.1"))
    replacement_price = number(places=4, min_value=0, required=False)
    replacement_years = number(places=1, min_value=Decimal("0.1"), required=False)
    risks = serializers.ListField(child=TermField(Risk), required=False, max_length=20)
    expected_capacity_mah = number(places=1, min_value=0, required=False)
    stays = serializers.CharField(max_length=400, required=False)
    limits_of_use = serializers.CharField(max_length=400, required=False, allow_blank=True)
    board_unknown = serializers.BooleanField(required=False)
    replaced = serializers.ListField(
        child=serializers.IntegerField(), required=False, max_length=possible.MOST_CELLS, help_text=GROUPS
    )
    removed = TermField(RemovedWay)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        version = attrs.pop("version", None)
        return {"offer": Offer(**attrs), "version": version}


class AnswerIn(Versioned):
    """Who answered, and how it was heard."""

    name = serializers.CharField(max_length=120)
    heard = TermField(Heard)
