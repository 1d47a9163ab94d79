"""A refusal by its code, and the proof that it left every table as it was."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

from shop.errors import ShopError

Tables = dict[str, list[tuple[Any, ...]]]


@contextmanager
def refused(code: str | None = None, *, field: str | None = None) -> Iterator[pytest.ExceptionInfo[ShopError]]:
    """Expect a refusal, with this code and at this field where they are given; nothing may have changed."""
    before = tables()
    with pytest.raises(ShopError) as caught:
        yield caught
    assert code is None or caught.value.code == code, caught.value.message
    assert caught.value.message
    if field is not None:
        assert caught.value.field == field
    assert tables() == before


@contextmanager
def held_by(*rules: str) -> Iterator[None]:
    """Expect a hold point to stand, for exactly these rules; nothing may have changed."""
    with refused("held") as caught:
        yield
    assert [finding.rule_id for finding in caught.value.findings] == list(rules)  # type: ignore[attr-defined]


def tables() -> Tables:
    """Return every row of the shop, as the database gives it."""
    found = {}
    with connection.cursor() as cursor:
        for model in apps.get_app_config("shop").get_models():
            cursor.execute(f"SELECT * FROM {model._meta.db_table} ORDER BY 1")
            found[model.__name__] = cursor.fetchall()
    return found
