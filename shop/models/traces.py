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
    reading taken from the file keeps its repairs.
    """

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="traces")
    name = models.CharField("file name", max_length=200)
    sha256 = models.CharField(max_length=64, unique=True)
    size = models.PositiveBigIntegerField()
    rows = models.PositiveIntegerField()
    layout_name = models.CharField(max_length=80)
    layout = models.JSONField()
    remarks = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name = "tester file"

    def __str__(self) -> str:
        return self.name

    @property
    def repairs(self) -> list[dict[str, object]]:
        """What was changed by a rule while the file was read."""
        return [remark for remark in self.remarks if remark["verdict"] == "repaired"]
