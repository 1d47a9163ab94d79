"""What the models share: columns for terms of the trade, and tables that are only ever added to."""

from typing import Any

from django.db import models

from packs.terms import Place, Term


def term_field(terms: type[Term], **options: Any) -> "models.CharField[Any, Any]":
    """Return a text column that takes one of the given terms."""
    choices = [(term.value, term.label) for term in terms]
    return models.CharField(max_length=32, choices=choices, **options)


def one_of(field: str, terms: type[Term], name: str) -> models.CheckConstraint:
    """Return the database's own check that a column holds one of the given terms."""
    return models.CheckConstraint(condition=models.Q(**{f"{field}__in": [t.value for t in terms]}), name=name)


def container_named_where_due(name: str) -> models.CheckConstraint:
    """Return the check that what is in a container names it, and nothing else does but what left in one."""
    return models.CheckConstraint(
        condition=models.Q(place=Place.CONTAINER.value, container__isnull=False)
        | models.Q(place=Place.CONSIGNED.value)
        | (~models.Q(place__in=[Place.CONTAINER.value, Place.CONSIGNED.value]) & models.Q(container__isnull=True)),
        name=name,
    )


class AppendOnlyError(TypeError):
    """A row of an append-only table was to be changed or deleted."""


class AppendOnly(models.Model):
    """A row that is written once. A wrong one is followed by a right one; triggers hold this in the database too."""

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise AppendOnlyError(f"{self._meta.verbose_name} entries are never changed")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise AppendOnlyError(f"{self._meta.verbose_name} entries are never deleted")
