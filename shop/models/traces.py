"""Tester files as they came, and how each tester writes."""

from django.conf import settings
from django.db import models

from .base import AppendOnly
from .stock import Cell


class FileLayout(AppendOnly):
    """A column layout: what the columns of one tester's files mean. A changed one gets a new name."""

    name = models.CharField(max_length=80, unique=True)
    facts = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["name"]
        verbose_name = "column layout"

    def __str__(self) -> str:
        return self.name


class TraceFile(AppendOnly):
    """One tester file of one cell. Its bytes and its series lie in the shop's data folder under its SHA-256.

    ``layout`` is the layout as it was used, ``remarks`` what was found and repaired; neither changes, so that every
    reading taken from the file keeps its repairs. A file that was kept for the wrong cell is put to the right one by a
    row of its own, which names the old one and says why.
    """

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="traces")
    name = models.CharField("file name", max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    rows = models.PositiveIntegerField()
    layout_name = models.CharField(max_length=80)
    layout = models.JSONField()
    remarks = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    moved_from = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="moved_to")
    reason = models.CharField("why it was put to another cell", max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name = "tester file"
        constraints = [
            models.UniqueConstraint(
                fields=["sha256"], condition=models.Q(moved_from__isnull=True), name="a_tester_file_comes_in_once"
            ),
            models.CheckConstraint(
                condition=models.Q(moved_from__isnull=True) | ~models.Q(reason=""), name="moved_file_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def repairs(self) -> list[dict[str, object]]:
        """What was changed by a rule while the file was read."""
        return [remark for remark in self.remarks if remark["verdict"] == "repaired"]
