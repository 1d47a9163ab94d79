"""Channels of testers, what is in them and waits for them, and the check cells that tell whether they read true."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models

from packs.terms import Term

from .base import AppendOnly, one_of, term_field
from .jobs import Job
from .readings import Instrument
from .stock import Cell


class Channel(models.Model):
    """One channel of a tester: how often its check cell is read, and what an hour in it costs."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="channels")
    name = models.CharField("channel", max_length=20)
    offset_uv = models.IntegerField("offset", default=0)
    check_every_d = models.PositiveSmallIntegerField("check cell read every", default=7)
    hour_cost = models.DecimalField(
        "cost of an hour", max_digits=14, decimal_places=4, default=Decimal(0), validators=[MinValueValidator(0)]
    )
    handling_min = models.PositiveSmallIntegerField("minutes of handling for each cell", default=0)

    class Meta:
        ordering = ["instrument__name", "name"]
        constraints = [
            models.UniqueConstraint(fields=["instrument", "name"], name="channel_named_once"),
            models.CheckConstraint(condition=models.Q(check_every_d__gt=0), name="channel_is_checked"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument}, channel {self.name}"


class CheckCell(AppendOnly):
    """A cell that stays at the bench to check channels with, and the capacity it is known to have. The newest counts."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="check_cells")
    capacity_mah = models.DecimalField("capacity as it is known", max_digits=10, decimal_places=1)
    conditions = models.CharField("how it is known", max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "check cells"
        constraints = [models.CheckConstraint(condition=models.Q(capacity_mah__gt=0), name="check_cell_has_capacity")]

    def __str__(self) -> str:
        return f"check cell {self.cell}"


class CheckReading(AppendOnly):
    """What a channel read of a check cell, beside what was known of it then.

    One that was read beside cells at another temperature than usual says by how much they read too little that day, and
    nothing of the channel.
    """

    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="checks")
    check_cell = models.ForeignKey(CheckCell, on_delete=models.PROTECT, related_name="readings")
    capacity_mah = models.DecimalField("capacity as read", max_digits=10, decimal_places=1)
    agrees = models.BooleanField("reads true", null=True, blank=True)
    temperature_mdegc = models.IntegerField("read beside cells at", null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name = "check readings"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(agrees__isnull=True, temperature_mdegc__isnull=False)
                | models.Q(agrees__isnull=False, temperature_mdegc__isnull=True),
                name="check_reading_of_channel_or_of_day",
            )
        ]

    def __str__(self) -> str:
        return f"{self.channel}, {self.check_cell}"


class RunState(Term):
    """How far the test of a cell is."""

    WAITING = "waiting", "waiting for a channel"
    RUNNING = "running", "in a channel"
    PASSED = "passed", "passed"
    REJECTED = "rejected", "rejected"
    CALLED_OFF = "called_off", "called off"


class ChannelRun(models.Model):
    """The test of one cell: waiting in the queue, in a channel, or over. ``job`` is whom the cell is tested for."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="runs")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="runs")
    state = term_field(RunState, default=RunState.WAITING.value)
    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, null=True, blank=True, related_name="runs")
    queued_at = models.DateTimeField()
    began_at = models.DateTimeField(null=True, blank=True)
    due_at = models.DateTimeField("expected to end", null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["queued_at", "pk"]
        constraints = [
            one_of("state", RunState, "run_state_known"),
            models.UniqueConstraint(
                fields=["channel"],
                condition=models.Q(state=RunState.RUNNING.value),
                name="channel_holds_one_cell",
            ),
            models.UniqueConstraint(
                fields=["cell"],
                condition=models.Q(state__in=[RunState.WAITING.value, RunState.RUNNING.value]),
                name="cell_is_tested_once_at_a_time",
            ),
            models.CheckConstraint(
                condition=~models.Q(state=RunState.RUNNING.value)
                | models.Q(channel__isnull=False, began_at__isnull=False, due_at__isnull=False, ended_at__isnull=True),
                name="run_in_a_channel_has_times",
            ),
        ]

    def __str__(self) -> str:
        return f"test of {self.cell}"
