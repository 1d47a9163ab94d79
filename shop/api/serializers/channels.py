"""The test bench, as the API takes and tells it."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from shop.models import Channel, ChannelRun, CheckCell, CheckReading, Instrument, Job, RunState
from shop.operations.channels import MOST_QUEUED

from .fields import CellCode, Named, Numbered, TermField, Versioned, number


class ChannelIn(serializers.Serializer[Any]):
    """A channel of a tester."""

    instrument = Named(slug_field="name", queryset=Instrument.objects.all())
    name = serializers.CharField(max_length=20)
    offset_uv = serializers.IntegerField(min_value=-1_000_000, max_value=1_000_000, default=0)
    check_every_d = serializers.IntegerField(min_value=1, max_value=366, default=7)
    hour_cost = number(places=4, min_value=Decimal(0), default=Decimal(0))
    handling_min = serializers.IntegerField(min_value=0, max_value=600, default=0)


class ChannelOut(serializers.ModelSerializer[Channel]):
    """A channel of a tester."""

    instrument = serializers.CharField(source="instrument.name", read_only=True)

    class Meta:
        model = Channel
        fields = ["id", "instrument", "name", "offset_uv", "check_every_d", "hour_cost", "handling_min"]


class CheckCellIn(serializers.Serializer[Any]):
    """A cell that is kept to check channels with."""

    cell = CellCode()
    capacity_mah = number(places=1, min_value=Decimal(0))
    conditions = serializers.CharField(max_length=120)


class CheckCellOut(serializers.ModelSerializer[CheckCell]):
    """A check cell, and what is known of it."""

    cell = serializers.CharField(source="cell.code", read_only=True)
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = CheckCell
        fields = ["cell", "capacity_mah", "conditions", "at", "by"]


class CheckReadingIn(serializers.Serializer[Any]):
    """What a channel read of a check cell."""

    channel = Numbered(queryset=Channel.objects.all())
    cell = CellCode()
    capacity_mah = number(places=1, min_value=Decimal(0))
    temperature_mdegc = serializers.IntegerField(required=False)


class CheckReadingOut(serializers.ModelSerializer[CheckReading]):
    """What a channel read of a check cell; ``agrees`` says whether the channel counts; null beside cells at another
    temperature.
    """

    channel = serializers.IntegerField(source="channel_id", read_only=True)
    cell = serializers.CharField(source="check_cell.cell.code", read_only=True)
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = CheckReading
        fields = ["channel", "cell", "capacity_mah", "agrees", "temperature_mdegc", "at", "by"]


class QueueIn(serializers.Serializer[Any]):
    """Cells that are to be tested, and for which job."""

    cells = serializers.ListField(child=CellCode(), min_length=1, max_length=MOST_QUEUED)
    job = Named(slug_field="number", queryset=Job.objects.all(), required=False)


class BeginIn(serializers.Serializer[Any]):
    """Into which channel the cell of a test goes, and how long that is expected to take."""

    run = Numbered(queryset=ChannelRun.objects.all())
    channel = Numbered(queryset=Channel.objects.all())
    hours = number(places=1, min_value=Decimal(0))


class EndIn(serializers.Serializer[Any]):
    """How the test of a cell ended."""

    run = Numbered(queryset=ChannelRun.objects.all())
    state = TermField(RunState)


class PromiseIn(Versioned):
    """The day a customer was promised."""

    promised_on = serializers.DateField()


class RunOut(serializers.ModelSerializer[ChannelRun]):
    """The test of one cell."""

    cell = serializers.CharField(source="cell.code", read_only=True)
    job = serializers.IntegerField(source="job.number", read_only=True, allow_null=True, default=None)
    channel = serializers.IntegerField(source="channel_id", read_only=True, allow_null=True)
    state = serializers.CharField(read_only=True)

    class Meta:
        model = ChannelRun
        fields = ["id", "cell", "job", "state", "channel", "queued_at", "began_at", "due_at", "ended_at"]
