"""What became of a cell's condition, entry by entry."""

from django.conf import settings
from django.db import models

from packs.terms import Condition

from .base import AppendOnly, one_of, term_field
from .readings import Reading
from .stock import Cell


class ConditionChange(AppendOnly):
    """One change of a cell's condition, and why. ``reading`` is the rest voltage that rejected the cell, if one did."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="condition_changes")
    before = term_field(Condition)
    after = term_field(Condition)
    reason = models.CharField(max_length=300)
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "change of condition"
        constraints = [
            one_of("before", Condition, "condition_before_known"),
            one_of("after", Condition, "condition_after_known"),
            models.CheckConstraint(condition=~models.Q(before=models.F("after")), name="condition_does_change"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="condition_change_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.cell}: {self.before} to {self.after}"
