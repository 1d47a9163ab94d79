"""Database triggers that hold append-only tables against everything but an insert.

The tables are listed here by name, since migrations hold literals. A flush (tests in a real browser) has to drop
the triggers first and install them again.
"""

from django.db.backends.base.base import BaseDatabaseWrapper

TABLES = (
    "shop_movement",
    "shop_reading",
    "shop_logentry",
    "shop_workshopsettings",
    "shop_filelayout",
    "shop_tracefile",
)
_EVENTS = ("update", "delete")


def install(connection: BaseDatabaseWrapper) -> None:
    """Make the database refuse updates and deletes on every append-only table that stands by now."""
    remove(connection)
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor, _standing(connection)):
            cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away."""
    with connection.cursor() as cursor:
        for table in _standing(connection):
            for event in _EVENTS:
                on_table = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{event}{on_table}")


def _standing(connection: BaseDatabaseWrapper) -> list[str]:
    there = set(connection.introspection.table_names())
    return [table for table in TABLES if table in there]


def _statements(vendor: str, tables: list[str]) -> list[str]:
    pairs = [(table, event) for table in tables for event in _EVENTS]
    if vendor == "sqlite":
        return [
            f"CREATE TRIGGER IF NOT EXISTS {table}_no_{event} BEFORE {event.upper()} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is only ever added to'); END"
            for table, event in pairs
        ]
    function = (
        "CREATE OR REPLACE FUNCTION shop_only_added_to() RETURNS trigger AS "
        "$$ BEGIN RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME; END $$ LANGUAGE plpgsql"
    )
    return [
        function,
        *(
            f"CREATE TRIGGER {table}_no_{event} BEFORE {event.upper()} ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION shop_only_added_to()"
            for table, event in pairs
        ),
    ]
