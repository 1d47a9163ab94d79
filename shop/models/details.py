"""What an opened pack shows besides cells and voltages."""

from django.conf import settings
from django.db import models

from packs.terms import Opening, Sealing

from .base import AppendOnly, one_of, term_field
from .jobs import Job
from .readings import Instrument


class PackDetails(AppendOnly):
    """How the case was shut, insulation, cut-offs and contacts of the pack as found; stated anew, the last row counts.

    ``contacts`` holds for each one its kind, its place, and what was read: ``ohm``, at ``mdegc``, or ``open``.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="details")
    opens = term_field(Opening, default=Opening.UNKNOWN.value)
    sealing = term_field(Sealing, default=Sealing.UNKNOWN.value)
    ip_code = models.CharField("protection marked on it", max_length=6, blank=True)
    metal = models.BooleanField("metal that can be touched", null=True, blank=True)
    insulation_kohm = models.DecimalField(
        "insulation to that metal", max_digits=14, decimal_places=3, null=True, blank=True
    )
    insulation_test_mv = models.PositiveIntegerField("voltage of that test", null=True, blank=True)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    board_overcharge_mv = models.PositiveIntegerField("overcharge trip of a group", null=True, blank=True)
    board_undervoltage_mv = models.PositiveIntegerField("undervoltage trip of a group", null=True, blank=True)
    board_current_ma = models.PositiveIntegerField("load trip", null=True, blank=True)
    contacts = models.JSONField(default=list, blank=True)
    findings = models.JSONField(default=list, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "details of a pack"
        constraints = [
            one_of("opens", Opening, "details_opening_known"),
            one_of("sealing", Sealing, "details_sealing_known"),
            models.CheckConstraint(
                condition=models.Q(insulation_kohm__isnull=True) | models.Q(insulation_kohm__gte=0),
                name="details_insulation_possible",
            ),
        ]

    @property
    def potted(self) -> bool:
        """Whether the pack cannot be opened without harming its cells."""
        return bool(self.opens == Opening.POTTED)

    def __str__(self) -> str:
        return f"{self.job.code} details"
