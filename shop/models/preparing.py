"""What was done to cells before they are joined again."""

from django.conf import settings
from django.db import models

from packs.terms import OldTabs, Stubs, Wrap

from .base import AppendOnly, one_of, term_field
from .stock import Cell


class CellPreparation(AppendOnly):
    """What was done to a cell that was in a pack before. ``printed`` is what moved from the old wrap to the new one."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="preparations")
    tabs = term_field(OldTabs)
    stubs = term_field(Stubs)
    wrapper = term_field(Wrap)
    insulator = term_field(Wrap)
    printed = models.CharField("printed on the old wrap", max_length=160, blank=True)
    photographed = models.BooleanField("the old print was photographed", default=False)
    picture_sha256 = models.CharField("photograph of the old print", max_length=64, blank=True, default="")
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "preparations of cells"
        constraints = [
            one_of("tabs", OldTabs, "preparation_tabs_known"),
            one_of("stubs", Stubs, "preparation_stubs_known"),
            one_of("wrapper", Wrap, "preparation_wrapper_known"),
            one_of("insulator", Wrap, "preparation_insulator_known"),
            models.CheckConstraint(
                condition=~models.Q(wrapper=Wrap.REPLACED.value)
                | (~models.Q(printed="") & models.Q(photographed=True)),
                name="preparation_print_moved",
                violation_error_message="What stood on the old wrap is photographed and moves to the new one.",
            ),
        ]

    def __str__(self) -> str:
        return f"preparation of {self.cell}"
