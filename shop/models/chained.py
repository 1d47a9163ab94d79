"""Entries that are chained by hash, so that one which was changed, taken out or moved is found."""

from collections.abc import Iterable
from typing import Any, ClassVar, Self, TypeVar

from django.db import models, transaction

from shop import chaining

from .base import AppendOnly

M = TypeVar("M", bound="Chained")


class ChainHead(models.Model):
    """The last entry of a chain: how many there are, and its hash. Whoever adds an entry holds this row."""

    table = models.CharField(max_length=40, primary_key=True)
    count = models.PositiveBigIntegerField(default=0)
    chain_hash = models.CharField(max_length=64, default=chaining.FIRST)

    def __str__(self) -> str:
        return f"{self.table}: {self.count}, {self.chain_hash[:12]}"


class ChainedQuerySet(models.QuerySet[M]):
    """Entries are chained when many are written at once, too."""

    def bulk_create(self, objs: Iterable[M], *args: Any, **kwargs: Any) -> list[M]:
        rows = list(objs)
        with transaction.atomic(savepoint=False):
            self.model.chain(rows)
            return super().bulk_create(rows, *args, **kwargs)


class Chained(AppendOnly):
    """An entry with its number in the chain and the hash that binds it to the one before."""

    chain_number = models.PositiveBigIntegerField(unique=True, editable=False)
    chain_hash = models.CharField(max_length=64, editable=False)

    objects: ClassVar[models.Manager[Any]] = ChainedQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        with transaction.atomic(savepoint=False):
            if self._state.adding:
                self.chain([self])
            super().save(*args, **kwargs)

    @classmethod
    def chain(cls, rows: list[Self]) -> None:
        """Number and hash entries that are about to be written, one after another, and move the head to the last."""
        if not rows:
            return
        table = cls._meta.db_table
        head, _ = ChainHead.objects.select_for_update().get_or_create(table=table)
        contents = (chaining.content(table, row) for row in rows)
        for row, (number, chained) in zip(rows, chaining.links(head.chain_hash, head.count, contents), strict=True):
            row.chain_number, row.chain_hash = number, chained
        ChainHead.objects.filter(pk=table).update(count=rows[-1].chain_number, chain_hash=rows[-1].chain_hash)
