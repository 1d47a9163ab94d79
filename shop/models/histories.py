"""What is known of cells that were used before, and who signed what they may serve."""

from django.conf import settings
from django.db import models

from packs.terms import DeviceClass

from .base import AppendOnly
from .jobs import Job
from .stock import Lot


class LotHistory(AppendOnly):
    """Evidence of the history of a lot: its donor pack, date code, cycles as read out, condition. The newest counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="histories")
    donor_pack = models.CharField("donor pack", max_length=160, blank=True)
    date_code = models.CharField(max_length=40, blank=True)
    cycle_count = models.PositiveIntegerField("cycles as read out", null=True, blank=True)
    condition = models.CharField("condition of the donor pack", max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "history of lots"

    @property
    def missing(self) -> list[str]:
        """What of the evidence is not there, in words."""
        asked = (
            (self.donor_pack, "the donor pack"),
            (self.date_code, "a date code"),
            (self.cycle_count is not None, "a cycle count that was read out"),
            (self.condition, "the condition of the donor pack"),
        )
        return [words for there, words in asked if not there]

    def __str__(self) -> str:
        return f"history of lot {self.lot}"


class LotSignature(AppendOnly):
    """A lead's word on a lot: the device classes its used cells may serve, none where they serve nothing. The newest counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="signatures")
    device_classes = models.JSONField(default=list, blank=True)
    reason = models.CharField("what it rests on", max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "signatures of lots"

    @property
    def labels(self) -> list[str]:
        """The device classes, in words."""
        return [DeviceClass(value).label for value in self.device_classes]

    def __str__(self) -> str:
        return f"signature of lot {self.lot}"


class FacilityOrder(AppendOnly):
    """The written order of the facility that uses a medical device. The newest counts."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="facility_orders")
    facility = models.CharField(max_length=160)
    reference = models.CharField("number or date of the order", max_length=80)
    ordered_cells = models.CharField("cells as ordered", max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "orders of facilities"

    def __str__(self) -> str:
        return f"{self.facility}, {self.reference}"
