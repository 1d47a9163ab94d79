"""What the API takes on waste containers and consignments."""

from typing import Any

from rest_framework import serializers

from packs.terms import Condition, Contents, Mode
from shop.models import Container

from .fields import Named, TermField


class ContainerIn(serializers.Serializer[Any]):
    """A new waste container."""

    code = serializers.CharField(max_length=40)
    condition = TermField(Condition)
    contents = TermField(Contents, required=False)
    started_on = serializers.DateField()
    approved_packaging = serializers.BooleanField(required=False)


class CloseIn(serializers.Serializer[Any]):
    """What a container weighs with everything in it, and that it is secured with a lid that lets gas out."""

    gross_mass_mg = serializers.IntegerField(min_value=1, max_value=2_000_000_000)
    secured = serializers.BooleanField()
    lid_vents = serializers.BooleanField()
    approved_packaging = serializers.BooleanField(required=False)


class ConsignIn(serializers.Serializer[Any]):
    """Which containers, who takes them, and to whom."""

    containers = Named(slug_field="code", queryset=Container.objects.all(), many=True)
    carrier = serializers.CharField(max_length=120)
    receiver = serializers.CharField(max_length=120)
    taken_by = serializers.CharField(max_length=120)
    handed_over_by = serializers.CharField(max_length=120, required=False)
    mode = TermField(Mode, required=False)
    statutory_number = serializers.CharField(max_length=80, required=False, allow_blank=True)


class ConfirmIn(serializers.Serializer[Any]):
    """When the receiver's confirmation came back, and whose name is on it."""

    confirmed_on = serializers.DateField()
    confirmed_by = serializers.CharField(max_length=120)


class Nothing(serializers.Serializer[Any]):
    """Nothing."""
