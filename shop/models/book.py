"""Items, and the one movement history that says where every cell and item is."""

from django.conf import settings
from django.db import models

from packs.terms import Condition, Contents, Place, Term

from .base import container_named_where_due, one_of, term_field
from .chained import Chained
from .jobs import Job
from .stock import GONE, Cell
from .waste import Container


class ItemKind(Term):
    """What an item is."""

    DEVICE = "device", "device"
    PACK = "pack", "battery pack"
    BOARD = "board", "board"
    OTHER = "other", "other part"
    CONTAMINATED = "contaminated", "contaminated absorbent or gloves"


CONTENTS = {
    ItemKind.BOARD: Contents.BOARDS,
    ItemKind.OTHER: Contents.BOARDS,
    ItemKind.CONTAMINATED: Contents.CONTAMINATED,
}
"""What is no cell and no pack goes into containers of its own."""


class CountBasis(Term):
    """How well the number of cells inside an item is known."""

    KNOWN = "known", "counted"
    ESTIMATED = "estimated", "estimated"
    UNKNOWN = "unknown", "not known"


class ItemQuerySet(models.QuerySet["Item"]):
    """The words in which items are asked for."""

    def waiting(self) -> "ItemQuerySet":
        """Items that are on their way out as waste: what stands outside, and packs without a device.

        Those were taken back unopened, or stayed of a pack whose repair was given up.
        """
        inside = [Place.COUNTER.value, Place.QUARANTINE.value, Place.BENCH.value]
        taken_back = models.Q(place__in=inside, kind=ItemKind.PACK.value)
        return self.filter(models.Q(place=Place.OUTSIDE.value) | taken_back)

    def gone(self) -> "ItemQuerySet":
        """Items in a container or with a carrier."""
        return self.filter(place__in=GONE)

    def to_give_back(self) -> "ItemQuerySet":
        """Devices that stand in the shop and go back to their owner."""
        return self.filter(
            kind=ItemKind.DEVICE.value, place__in=[Place.COUNTER.value, Place.QUARANTINE.value, Place.BENCH.value]
        )


class Item(models.Model):
    """Anything that is not a single cell: a device, an unopened pack, a board, contaminated absorbent."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="items")
    kind = term_field(ItemKind)
    description = models.CharField(max_length=160)
    cell_count = models.PositiveIntegerField(null=True, blank=True)
    count_basis = term_field(CountBasis, default=CountBasis.UNKNOWN.value)
    rated_energy_mwh = models.PositiveBigIntegerField(null=True, blank=True)
    mass_mg = models.PositiveBigIntegerField(null=True, blank=True)
    volume_mm3 = models.PositiveBigIntegerField("outer volume", null=True, blank=True)
    condition = term_field(Condition, default=Condition.INTACT.value)
    place = term_field(Place)
    container = models.ForeignKey(Container, on_delete=models.PROTECT, null=True, blank=True, related_name="items")

    objects = ItemQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("kind", ItemKind, "item_kind_known"),
            one_of("place", Place, "item_place_known"),
            container_named_where_due("item_in_container_names_it"),
        ]

    def __str__(self) -> str:
        return self.description

    @property
    def contents(self) -> Contents:
        """The contents of the containers that take it."""
        return CONTENTS.get(ItemKind(self.kind), Contents.CELLS)


class Movement(Chained):
    """One move of one cell or item. ``from_place`` is empty where it came into the shop."""

    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, null=True, blank=True, related_name="movements")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, blank=True, related_name="movements")
    from_place = term_field(Place, blank=True)
    to_place = term_field(Place)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="movements")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, null=True, blank=True, related_name="movements")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        verbose_name = "movement"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(cell__isnull=False, item__isnull=True)
                | models.Q(cell__isnull=True, item__isnull=False),
                name="movement_of_one_thing",
            ),
            one_of("to_place", Place, "movement_to_known_place"),
            models.UniqueConstraint(
                fields=["cell"], condition=models.Q(from_place="", cell__isnull=False), name="cell_comes_in_once"
            ),
            models.UniqueConstraint(
                fields=["item"], condition=models.Q(from_place="", item__isnull=False), name="item_comes_in_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.cell or self.item}: {self.from_place or 'in'} to {self.to_place}"
