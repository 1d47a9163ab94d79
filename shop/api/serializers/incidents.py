"""Incidents and their release, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import DangerLevel
from shop.models import EmergencyText, Incident, IncidentKind, IncidentRelease, Job

from .fields import TermField, Versioned


class IncidentIn(Versioned):
    """What happened; job, welder and charger that are named are not used until a lead releases them."""

    kind = TermField(IncidentKind)
    happened = serializers.CharField(max_length=1000)
    job = serializers.SlugRelatedField(slug_field="number", queryset=Job.objects.all(), required=False, allow_null=True)
    people = serializers.CharField(max_length=200, required=False, allow_blank=True)
    moved = serializers.CharField(max_length=400, required=False, allow_blank=True)
    welder = serializers.CharField(max_length=60, required=False, allow_blank=True)
    charger = serializers.CharField(max_length=60, required=False, allow_blank=True)
    happened_at = serializers.DateTimeField(required=False, allow_null=True)


class ReleaseOut(serializers.ModelSerializer[IncidentRelease]):
    """What a lead found, and that work goes on."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = IncidentRelease
        fields = ["incident", "findings", "at", "by"]


class IncidentOut(serializers.ModelSerializer[Incident]):
    """An incident; without a release it freezes what it names."""

    job = serializers.IntegerField(source="job.number", read_only=True, allow_null=True, default=None)
    by = serializers.CharField(source="by.username", read_only=True)
    release = ReleaseOut(read_only=True, allow_null=True, default=None)

    class Meta:
        model = Incident
        fields = ["id", "job", "kind", "happened", "people", "moved", "welder", "charger", "happened_at", "at", "by"]
        fields += ["release"]


class FindingsIn(serializers.Serializer[Any]):
    """What a lead found, and why work may go on."""

    findings = serializers.CharField(max_length=1000)
    danger = TermField(DangerLevel, required=False)


class EmergencyIn(serializers.Serializer[Any]):
    """What everybody does when it burns."""

    text = serializers.CharField(max_length=4000)


class EmergencyOut(serializers.ModelSerializer[EmergencyText]):
    """What the owner wrote; empty before that."""

    at = serializers.DateTimeField(allow_null=True)
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = EmergencyText
        fields = ["text", "at", "by"]
