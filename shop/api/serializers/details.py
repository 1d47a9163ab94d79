"""What is taken in of what else an opened pack shows."""

from typing import Any

from rest_framework import serializers

from packs.terms import ContactKind, Opening, Sealing
from shop.bridge import possible
from shop.operations.details import MOST_CONTACTS, Contact, Details

from .fields import TermField, number, whole
from .jobs import WithInstrument


class ContactIn(serializers.Serializer[Any]):
    """One sensor, cut-off or contact: where it sits, and what a meter showed at it."""

    kind = TermField(ContactKind)
    place = serializers.CharField(max_length=120)
    ohm = number(required=False, allow_null=True)
    open = serializers.BooleanField(required=False)
    mdegc = serializers.IntegerField(
        required=False, allow_null=True, min_value=possible.COLDEST_MDEGC, max_value=possible.HOTTEST_MDEGC
    )


class DetailsIn(WithInstrument):
    """How the case was shut, insulation, cut-offs and contacts; what is left out is not known."""

    opens = TermField(Opening, required=False)
    sealing = TermField(Sealing, required=False)
    ip_code = serializers.CharField(max_length=8, required=False, allow_blank=True)
    metal = serializers.BooleanField(required=False, allow_null=True)
    insulation_kohm = number(required=False, allow_null=True, min_value=0)
    insulation_test_mv = whole(required=False, allow_null=True)
    board_overcharge_mv = whole(required=False, allow_null=True)
    board_undervoltage_mv = whole(required=False, allow_null=True)
    board_current_ma = whole(required=False, allow_null=True)
    contacts = ContactIn(many=True, required=False)

    def validate_contacts(self, given: list[dict[str, Any]]) -> list[Contact]:
        """Return what the operation takes."""
        if len(given) > MOST_CONTACTS:
            raise serializers.ValidationError(f"Up to {MOST_CONTACTS} contacts of a pack are written down.")
        return [Contact(**one) for one in given]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        version = attrs.pop("version", None)
        return {"details": Details(**attrs), "version": version}
