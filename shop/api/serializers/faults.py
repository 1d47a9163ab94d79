"""What the operations of fault finding take."""

from typing import Any

from rest_framework import serializers

from packs.terms import BoardSwitch, Chemistry, Circumstance, GroupsReadAs
from shop.bridge import faultfinding, possible
from shop.models import ProbeReading
from shop.operations.fault_finding import KnownPack, Probe

from .fields import Numbered, TermField, Versioned, number, sure, whole
from .jobs import WithInstrument

CELLS_TEMPERATURE = faultfinding.SEARCHED["temperature_mdegc"]


class FaultPack(Versioned):
    """What is known of a pack before it is measured; what is left out gets a default."""

    series = serializers.IntegerField(min_value=1, max_value=possible.MOST_FAULT_GROUPS)
    chemistry = TermField(Chemistry)
    group_resistance_uohm = whole(required=False)
    load_ma = whole(required=False)
    wake_voltage_mv = whole(required=False)
    switch = TermField(BoardSwitch, required=False)
    sensor_ohm = number(required=False)
    outlet_voltage_mv = whole(required=False)
    temperature_mdegc = serializers.IntegerField(
        required=False, min_value=CELLS_TEMPERATURE.least, max_value=CELLS_TEMPERATURE.most
    )
    tap_plug = serializers.BooleanField(required=False)
    examined_as = TermField(GroupsReadAs, required=False)
    sure = sure()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        apart = {name: attrs.pop(name) for name in ("version", "sure") if name in attrs}
        return {"pack": KnownPack(**attrs)} | apart


class ProbeIn(serializers.Serializer[Any]):
    """What a meter showed between two points, such as ``group_3_negative`` and ``group_3_positive``."""

    low = serializers.CharField(max_length=40)
    high = serializers.CharField(max_length=40)
    value_mv = number(required=False, allow_null=True)
    value_ohm = number(required=False, allow_null=True)
    unsteady = serializers.BooleanField(required=False)


class Probes(WithInstrument):
    """Readings of one circumstance."""

    circumstance = TermField(Circumstance)
    probes = ProbeIn(many=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        attrs["probes"] = [Probe(**probe) for probe in attrs["probes"]]
        return attrs


class Anew(Versioned):
    """What was repaired, so that readings from before it count no more."""

    repaired = serializers.CharField(max_length=200)


class TakeBack(Versioned):
    """A reading that was wrong, and why."""

    probe = Numbered(queryset=ProbeReading.objects.all())
    reason = serializers.CharField(max_length=200)
