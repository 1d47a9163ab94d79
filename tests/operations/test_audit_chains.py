"""Movements and job log are chained: an entry that was changed, taken out, put in or moved is found and named."""

import hashlib
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction

from packs.terms import Place, Stage
from shop import append_only, chaining, models
from shop.selectors import audit
from tests import line

pytestmark = pytest.mark.django_db
TABLES = {"shop_movement": "movements", "shop_logentry": "job log"}
CHAINED = {"shop_movement": models.Movement, "shop_logentry": models.LogEntry}
NOON = datetime(2026, 11, 9, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def worked(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """A shop in which a pack is being built, made once."""
    with django_db_blocker.unblock(), transaction.atomic():
        line.job_at(Stage.MEASURE)
        yield
        transaction.set_rollback(True)


def sql(statement: str) -> None:
    """Write past operations, models and triggers."""
    append_only.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute(statement)
        assert cursor.rowcount == 1, "the corruption must hit one row, or the test proves nothing"
    append_only.install(connection)


def last(table: str) -> int:
    return CHAINED[table].objects.latest("chain_number").chain_number


def changed(table: str) -> str:
    sql(f"UPDATE {table} SET at = '2026-01-01 00:00:00+00:00' WHERE chain_number = 3")
    return "entry 3 is not what was written, or does not follow the entry before it"


def somebody_else(table: str) -> str:
    other = models.User.objects.create(username="somebody else")
    sql(f"UPDATE {table} SET by_id = {other.pk} WHERE chain_number = 2")
    return "entry 2 is not what was written, or does not follow the entry before it"


def hash_changed(table: str) -> str:
    """Whoever hashes a changed entry anew is found at the next one."""
    entry = CHAINED[table].objects.get(chain_number=3)
    before = CHAINED[table].objects.get(chain_number=2).chain_hash
    content = chaining.content(table, entry) | {"at": NOON}
    sql(
        f"UPDATE {table} SET at = '2026-11-09 12:00:00+00:00', chain_hash = '{chaining.link(before, 3, content)}' "
        "WHERE chain_number = 3"
    )
    return "entry 4 is not what was written, or does not follow the entry before it"


def missing(table: str) -> str:
    sql(f"DELETE FROM {table} WHERE chain_number = 3")
    return "entry 3 is missing"


def first_missing(table: str) -> str:
    sql(f"DELETE FROM {table} WHERE chain_number = 1")
    return "entry 1 is missing"


def last_missing(table: str) -> str:
    number = last(table)
    sql(f"DELETE FROM {table} WHERE chain_number = {number}")
    return f"entry {number} is missing"


def head_set_back(table: str) -> str:
    number = last(table)
    sql(f"UPDATE shop_chainhead SET count = {number - 1} WHERE \"table\" = '{table}'")
    return f"{number} entries stand there, {number - 1} were written"


def head_gone(table: str) -> str:
    sql(f"DELETE FROM shop_chainhead WHERE \"table\" = '{table}'")
    return f"{last(table)} entries stand there, 0 were written"


def head_changed(table: str) -> str:
    sql(f"UPDATE shop_chainhead SET chain_hash = '{'1' * 64}' WHERE \"table\" = '{table}'")
    return "the last entry is not the one that was written last"


def moved_forward(table: str) -> str:
    """The same entry under another key is read in another order."""
    sql(f"UPDATE {table} SET id = 999999 WHERE chain_number = 3")
    return "entry 4 stands out of its order"


CORRUPTIONS = [
    changed,
    somebody_else,
    hash_changed,
    missing,
    first_missing,
    last_missing,
    head_set_back,
    head_gone,
    head_changed,
    moved_forward,
]


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("corrupt", CORRUPTIONS)
def test_an_entry_that_was_tampered_with_is_named(worked: None, corrupt: Callable[[str], str], table: str) -> None:
    assert list(audit.differences()) == []
    with transaction.atomic():
        expected = f"{TABLES[table]}: {corrupt(table)}"
        found = [sentence for sentence in audit.differences() if sentence.startswith(tuple(TABLES.values()))]
        transaction.set_rollback(True)
    assert found[0] == expected
    assert all(sentence.startswith(TABLES[table]) for sentence in found)


@pytest.mark.parametrize("table", TABLES)
def test_two_entries_that_changed_places_are_named(worked: None, table: str) -> None:
    with transaction.atomic():
        for now, then in ((3, 999), (4, 3), (999, 4)):
            sql(f"UPDATE {table} SET chain_number = {then} WHERE chain_number = {now}")
        found = list(audit.differences())
        transaction.set_rollback(True)
    assert f"{TABLES[table]}: entry 3 is not what was written, or does not follow the entry before it" in found


@pytest.mark.parametrize("table", TABLES)
def test_everything_of_an_entry_is_chained(table: str) -> None:
    """A column that comes later cannot stay outside."""
    columns = {field.attname for field in CHAINED[table]._meta.concrete_fields}
    assert columns - set(chaining.CONTENT[table]) == {"id", "chain_number", "chain_hash"}


def test_what_was_undone_leaves_no_gap() -> None:
    line.job_at(Stage.EXAMINE)
    with transaction.atomic():
        line.take_in()
        transaction.set_rollback(True)
    line.take_in()
    assert list(audit.differences()) == []


def test_entries_from_before_the_chains_are_chained_as_they_stand(worked: None) -> None:
    """What the migration writes is what would have been written at the time."""
    migration = import_module("shop.migrations.0041_chain_what_stands")
    with transaction.atomic():
        before = {table: chains(table) for table in TABLES}
        connection.check_constraints()  # PostgreSQL changes no table while some of them wait
        sql_all("ALTER TABLE {table} RENAME COLUMN chain_number TO kept")
        sql_all("ALTER TABLE {table} ADD COLUMN chain_number bigint")
        migration.chain(apps, editor())
        after = {table: chains(table) for table in TABLES}
        transaction.set_rollback(True)
    assert after == before


def editor() -> Any:
    return type("Editor", (), {"connection": connection})


def chains(table: str) -> list[tuple[int, int, str]]:
    rows = CHAINED[table].objects.order_by("pk")
    return list(rows.values_list("pk", "chain_number", "chain_hash"))


def sql_all(statement: str) -> None:
    append_only.remove(connection)
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(statement.format(table=table))


class TestCanonicalForm:
    """The same content has the same hash whatever the database makes of its spelling."""

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ({"a": 1, "b": 2}, {"b": 2, "a": 1}),
            (1e2, 100),
            (1.50, Decimal("1.5")),
            (-0.0, 0),
            ((1, 2), [1, 2]),
            (Place.STOCK, "stock"),
            (NOON, NOON.astimezone(timezone(timedelta(hours=5, minutes=30)))),
        ],
    )
    def test_is_one(self, one: object, other: object) -> None:
        assert chaining.link(chaining.FIRST, 1, {"facts": one}) == chaining.link(chaining.FIRST, 1, {"facts": other})

    @pytest.mark.parametrize(
        ("one", "other"),
        [(1, "1"), (None, ""), ([1, 2], [2, 1]), (True, 1), ({"a": None}, {}), (0.1, 0.10000000000001)],
    )
    def test_tells_different_things_apart(self, one: object, other: object) -> None:
        assert chaining.link(chaining.FIRST, 1, {"facts": one}) != chaining.link(chaining.FIRST, 1, {"facts": other})

    def test_is_written_down(self) -> None:
        """Spelt out here by hand, so that a change of the form does not pass unseen."""
        text = (
            f'["{chaining.FIRST}",1,{{"at":"2026-11-09T12:00:00.000000+00:00","n":{{"number":"2"}},"note":"\\u00e4"}}]'
        )
        assert (
            chaining.link(chaining.FIRST, 1, {"note": "ä", "n": 2.0, "at": NOON})
            == hashlib.sha256(text.encode()).hexdigest()
        )
