"""Limits of the places in which batteries stand, as the owner entered them from insurer and fire code."""

from django.conf import settings
from django.db import models

from packs.terms import Area

from .base import AppendOnly, one_of, term_field


class AreaLimit(AppendOnly):
    """What one kind of place may hold from ``at`` on; the newest row of a place counts. What is empty has no limit."""

    area = term_field(Area)
    energy_mwh = models.PositiveBigIntegerField(null=True, blank=True)
    mass_mg = models.PositiveBigIntegerField(null=True, blank=True)
    volume_mm3 = models.PositiveBigIntegerField(null=True, blank=True)
    said_by = models.CharField("where the limit comes from", max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "limits of a place"
        constraints = [
            one_of("area", Area, "area_limit_area_known"),
            models.CheckConstraint(condition=~models.Q(said_by=""), name="area_limit_says_where_from"),
        ]

    def __str__(self) -> str:
        return f"{Area(self.area).label}, {self.at:%Y-%m-%d}"
