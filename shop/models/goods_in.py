"""Goods in: what was found of a bought lot, and a lead's word on one that was held."""

from django.conf import settings
from django.db import models

from .base import AppendOnly
from .stock import Lot


class LotCheck(AppendOnly):
    """What came with a lot and what a sample of it measured. ``doubts`` hold the lot; a later ``release`` ends that."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="checks")
    invoice = models.CharField(max_length=80, blank=True)
    date_code = models.CharField(max_length=40, blank=True)
    transport_summary = models.CharField("transport test summary", max_length=160, blank=True)
    sample = models.CharField("cells of the sample", max_length=160, blank=True)
    mass_mg = models.PositiveIntegerField("mass", null=True, blank=True)
    diameter_um = models.PositiveIntegerField("diameter or thickness", null=True, blank=True)
    height_um = models.PositiveIntegerField("height", null=True, blank=True)
    capacity_mah = models.DecimalField("capacity", max_digits=10, decimal_places=1, null=True, blank=True)
    dc_resistance_uohm = models.PositiveIntegerField("DC resistance", null=True, blank=True)
    picture_sha256 = models.CharField("photograph of the print", max_length=64, blank=True, default="")
    doubts = models.JSONField(default=list, blank=True)
    release = models.CharField("why it is used all the same", max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "goods in"

    def __str__(self) -> str:
        return f"goods in, lot {self.lot}"
