"""Instruments and readings."""

from datetime import date, timedelta

from django.conf import settings
from django.db import models

from packs.terms import Measure, Place, Stage

from .base import AppendOnly, one_of, term_field
from .book import Movement
from .jobs import Job, Step
from .people import User
from .stock import Cell
from .traces import TraceFile


class Instrument(models.Model):
    """A meter or tester and how far it may be off: a share of the reading plus a fixed part."""

    name = models.CharField(max_length=80, unique=True)
    error_ppm = models.PositiveIntegerField(default=5000)
    error_uv = models.PositiveIntegerField(default=2000)
    calibrated_on = models.DateField(null=True, blank=True)
    calibrated_every_d = models.PositiveIntegerField("calibrated every", null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def overdue(self, on: date) -> bool:
        """Whether its calibration had run out by a day; where the shop set no time, none runs out."""
        if self.calibrated_every_d is None:
            return False
        return self.calibrated_on is None or on > self.calibrated_on + timedelta(days=self.calibrated_every_d)


class ReadingQuerySet(models.QuerySet["Reading"]):
    """The words in which readings are asked for."""

    def standing(self) -> "ReadingQuerySet":
        """Readings that count, oldest first: none corrects them, none was withdrawn, their step was not tried again."""
        later = Step.objects.filter(
            job=models.OuterRef("step__job"),
            stage=models.OuterRef("step__stage"),
            number__gt=models.OuterRef("step__number"),
        )
        counting = self.filter(models.Q(step__isnull=True) | ~models.Exists(later))
        return counting.filter(corrected_by__isnull=True, withdrawal__isnull=True).order_by("measured_at", "pk")

    def of_examined_groups(self) -> "ReadingQuerySet":
        """The group voltages that were read when the pack was examined."""
        rows = self.standing().filter(stage=Stage.EXAMINE.value, measure=Measure.REST_VOLTAGE.value)
        return rows.filter(point__startswith="group ")

    def of_examined_outlet(self) -> "ReadingQuerySet":
        """The voltage of the whole pack that was read at its outlet when it was examined."""
        return self.standing().filter(stage=Stage.EXAMINE.value, measure=Measure.REST_VOLTAGE.value, point="pack")

    def still_telling(self) -> "ReadingQuerySet":
        """Standing readings, without those of a cell from before it came back, to stock or from a customer.

        It has to be tested again.
        """
        back = Movement.objects.filter(
            models.Q(from_place=Place.BENCH.value, to_place=Place.STOCK.value)
            | models.Q(from_place=Place.CUSTOMER.value, to_place=Place.BENCH.value),
            cell=models.OuterRef("cell"),
            at__gt=models.OuterRef("measured_at"),
        )
        return self.standing().filter(~models.Exists(back))


class Reading(AppendOnly):
    """One measured value of one cell, or of one point in a job. A wrong one is corrected by a new one that names it."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    stage = term_field(Stage, blank=True)
    step = models.ForeignKey(
        Step, on_delete=models.PROTECT, null=True, blank=True, related_name="readings", verbose_name="try of a step"
    )
    point = models.CharField(max_length=40, blank=True)
    measure = term_field(Measure)
    value = models.DecimalField(max_digits=14, decimal_places=3)
    method = models.CharField(max_length=80, blank=True)
    conditions = models.CharField(max_length=120, blank=True)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    trace = models.ForeignKey(TraceFile, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    measured_at = models.DateTimeField()
    written_at = models.DateTimeField("when a correction was written", null=True, blank=True)
    entered_at = models.DateTimeField("entered later, from paper", null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    tester = models.ForeignKey(
        "shop.TesterToken",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="readings",
        verbose_name="tester that posted it by its key",
    )
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.CharField("reason of the correction", max_length=200, blank=True)

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["measured_at", "pk"]
        verbose_name = "reading"
        indexes = [models.Index(fields=["cell", "measure"]), models.Index(fields=["job", "stage"])]
        constraints = [
            one_of("measure", Measure, "reading_measure_known"),
            models.CheckConstraint(
                condition=models.Q(cell__isnull=False) | models.Q(job__isnull=False), name="reading_of_something"
            ),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""), name="correction_has_reason"
            ),
        ]

    @property
    def measured_by(self) -> User:
        """Who held the meter: a correction changes what was written down, not who measured."""
        first = self
        while first.corrects is not None:
            first = first.corrects
        return first.by

    def __str__(self) -> str:
        return f"{self.cell or self.job} {self.point} {self.measure} {self.value}"


class ReadingWithdrawal(AppendOnly):
    """A reading that is none of its cell's: it stays in the book and counts no more, and the one before it counts."""

    reading = models.OneToOneField(Reading, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "withdrawals of readings"
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="reading_withdrawal_has_a_reason")]

    def __str__(self) -> str:
        return f"withdrawal of {self.reading}"
