"""Written exceptions: one rule, one job, one person who answers for it, and why."""

from django.conf import settings
from django.db import models

from .base import AppendOnly
from .jobs import Job


class WrittenExceptionQuerySet(models.QuerySet["WrittenException"]):
    """The words in which exceptions are asked for."""

    def standing(self) -> "WrittenExceptionQuerySet":
        """Those that nobody withdrew."""
        return self.filter(withdrawal__isnull=True)


class WrittenException(AppendOnly):
    """A lead accepted in writing that one rule does not hold on one job."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="exceptions")
    rule_id = models.CharField("rule", max_length=60)
    reason = models.CharField(max_length=400)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = WrittenExceptionQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        verbose_name = "written exception"
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="exception_has_a_reason")]

    def __str__(self) -> str:
        return f"{self.rule_id} on {self.job.code}"


class ExceptionWithdrawal(AppendOnly):
    """A written exception that does not stand any more; it was withdrawn before its step was done."""

    exception = models.OneToOneField(WrittenException, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=400)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "withdrawals of exceptions"
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="withdrawal_has_a_reason")]

    def __str__(self) -> str:
        return f"withdrawal of {self.exception}"
