"""Keys of testers that post readings by themselves, and what was answered to a request that may come twice."""

from django.conf import settings
from django.db import models

from .readings import Instrument


class TesterToken(models.Model):
    """The key of one tester. Only its hash is kept; it may post readings and nothing else."""

    name = models.CharField(max_length=80, unique=True)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="tokens")
    key_sha256 = models.CharField(max_length=64, unique=True)
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class AnsweredRequest(models.Model):
    """A request that was answered: sent again under the same key, it gets the same answer and does nothing."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80)
    request_sha256 = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    answer = models.JSONField(default=dict)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="request_key_once_per_person")]

    def __str__(self) -> str:
        return f"{self.key}: {self.status}"
