"""Peel samples: what the welder does to this strip today."""

from django.conf import settings
from django.db import models

from packs.terms import CellEnd, Peeled, Specimen, StripMaterial

from .base import AppendOnly, one_of, term_field
from .jobs import Job


class PeelSample(AppendOnly):
    """One weld that was peeled off again: by which machine, schedule and pulse, on which strip, at which pole."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="peel_samples")
    machine = models.CharField(max_length=60)
    schedule = models.CharField(max_length=60)
    pulse = models.DecimalField("pulse, as the machine counts it", max_digits=8, decimal_places=2)
    strip_material = term_field(StripMaterial)
    strip_width_um = models.PositiveIntegerField()
    strip_thickness_um = models.PositiveIntegerField()
    end = term_field(CellEnd)
    specimen = term_field(Specimen)
    peeled = term_field(Peeled)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "peel sample"
        indexes = [models.Index(fields=["at"])]
        constraints = [
            one_of("strip_material", StripMaterial, "peel_sample_strip_material_known"),
            one_of("end", CellEnd, "peel_sample_end_known"),
            one_of("specimen", Specimen, "peel_sample_specimen_known"),
            one_of("peeled", Peeled, "peel_sample_outcome_known"),
            models.CheckConstraint(condition=~models.Q(machine="") & ~models.Q(schedule=""), name="peel_sample_named"),
            models.CheckConstraint(condition=models.Q(pulse__gt=0), name="peel_sample_pulse_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.machine}, {self.schedule}, {self.pulse.normalize():f}"
