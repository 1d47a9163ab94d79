"""Limits that the shop set for itself, one line a change."""

from django.conf import settings
from django.db import models

from .base import AppendOnly


class ShopLimit(AppendOnly):
    """One change of the number of one rule; the newest of a rule counts.

    Numbers are in the unit in which the rule compares: mV, mA, mAh, µΩ, mN·m, °C, or per cent of a limit from outside.
    ``own`` is False where the rule went back to what the catalogue says.
    """

    number = models.PositiveIntegerField("number of the record", unique=True)
    rule_id = models.CharField("rule", max_length=60)
    old = models.DecimalField("number before", max_digits=16, decimal_places=3)
    new = models.DecimalField("number after", max_digits=16, decimal_places=3)
    own = models.BooleanField("the shop's own", default=True)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "limits of the shop"
        constraints = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="limit_changed_for_a_reason"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="limit_records_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.rule_id}, record {self.number}"
