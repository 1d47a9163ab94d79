"""By what cells are graded: the shop's criteria by version, and what a new cell of a model reads."""

from django.conf import settings
from django.db import models

from packs.terms import CellProtection

from .base import AppendOnly, one_of, term_field
from .stock import CellModel


class GradeCriteria(AppendOnly):
    """One version of the criteria, whole; the newest counts. ``facts`` are numbers as text, each with its unit in its key."""

    number = models.PositiveIntegerField("version", unique=True)
    facts = models.JSONField()
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "criteria of grades"
        constraints = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="criteria_changed_for_a_reason"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="criteria_versions_from_one"),
        ]

    def __str__(self) -> str:
        return f"criteria, version {self.number}"


class NewCell(AppendOnly):
    """What a new cell of a model reads and carries; the newest of a model counts."""

    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, related_name="new_cells")
    dc_resistance_uohm = models.PositiveIntegerField("DC resistance")
    method = models.CharField(max_length=80)
    temperature_mdegc = models.IntegerField("temperature")
    protection = term_field(CellProtection, default=CellProtection.UNKNOWN.value)
    source = models.CharField(max_length=160)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "readings of a new cell"
        constraints = [
            one_of("protection", CellProtection, "new_cell_protection_known"),
            models.CheckConstraint(condition=models.Q(dc_resistance_uohm__gt=0), name="new_cell_has_resistance"),
        ]

    def __str__(self) -> str:
        return f"new {self.cell_model}"
