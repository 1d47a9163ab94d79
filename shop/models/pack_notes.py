"""The shop's own book per pack model, found by the nameplate."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models

from packs.terms import Opening

from .base import AppendOnly, one_of, term_field
from .jobs import Job
from .stock import CellModel


class PackNotes(models.Model):
    """What the shop knows of one pack model. ``key`` is the nameplate, small letters and single spaces."""

    key = models.CharField(max_length=170, unique=True)
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80)
    opens = term_field(Opening, default=Opening.UNKNOWN.value)
    opening = models.CharField("how it opens", max_length=400, blank=True)
    series = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    parallel = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    counts = models.JSONField("cells of each group, where they differ", default=list, blank=True)
    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    strips = models.CharField("strips and leads", max_length=200, blank=True)
    board = models.CharField("what the board does", max_length=400, blank=True)
    sensor_ohm = models.DecimalField(
        "sensor at 25 °C", max_digits=12, decimal_places=3, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    usual_fault = models.CharField(max_length=400, blank=True)
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["key"]
        constraints = [
            one_of("opens", Opening, "pack_notes_opening_known"),
            models.CheckConstraint(
                condition=models.Q(series__isnull=True, parallel__isnull=True)
                | models.Q(series__isnull=False, parallel__isnull=False),
                name="pack_notes_arrangement_whole",
            ),
        ]

    @property
    def arrangement(self) -> str:
        """The arrangement, such as 4s2p, where it is known, with the cells of each group where they differ."""
        if self.counts:
            return f"{self.series}s, {' + '.join(map(str, self.counts))} cells"
        return self.shape

    @property
    def shape(self) -> str:
        """The arrangement as it is typed, by its fullest group."""
        return f"{self.series}s{self.parallel}p" if self.series else ""

    def __str__(self) -> str:
        return " ".join(part for part in (self.maker, self.model) if part)


class PackTime(AppendOnly):
    """True labour time of one finished job; the last one of a job counts."""

    notes = models.ForeignKey(PackNotes, on_delete=models.PROTECT, related_name="times")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="times")
    minutes = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "labour time"

    def __str__(self) -> str:
        return f"{self.job.code}: {self.minutes} min"
