"""Long work that one worker beside the server does, one piece after the other."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from packs.terms import TaskKind, TaskState

from .base import one_of, term_field
from .jobs import Job


class Task(models.Model):
    """A piece of long work: what was asked, how far it is, the best answer so far, and whether it is to stop."""

    kind = term_field(TaskKind)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="tasks", null=True, blank=True)
    asked = models.JSONField()
    state = term_field(TaskState, default=TaskState.WAITING.value)
    share = models.FloatField("share that is done", default=0.0)
    answer = models.JSONField(null=True, blank=True)
    told = models.CharField(max_length=400, blank=True)
    stop_asked = models.BooleanField(default=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    began_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField("last sign of the worker", null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("kind", TaskKind, "task_kind_known"),
            one_of("state", TaskState, "task_state_known"),
            models.CheckConstraint(condition=Q(share__gte=0) & Q(share__lte=1), name="task_share_is_one"),
        ]

    def __str__(self) -> str:
        return f"{TaskKind(self.kind).label}, {TaskState(self.state).label}"

    @property
    def over(self) -> bool:
        """Whether nothing more comes of it."""
        return TaskState(self.state) not in (TaskState.WAITING, TaskState.RUNNING)
