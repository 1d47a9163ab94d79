"""Database triggers that hold append-only tables against everything but an insert, and issued documents against change.

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
    "shop_conditionchange",
    "shop_probereading",
    "shop_prices",
    "shop_packtime",
    "shop_shoplimit",
    "shop_writtenexception",
    "shop_exceptionwithdrawal",
    "shop_peelsample",
    "shop_gradecriteria",
    "shop_newcell",
    "shop_lotcheck",
    "shop_lothistory",
    "shop_lotsignature",
    "shop_facilityorder",
    "shop_cellpreparation",
    "shop_checkcell",
    "shop_checkreading",
    "shop_packdetails",
    "shop_photograph",
    "shop_photographwithdrawal",
    "shop_readingwithdrawal",
    "shop_incident",
    "shop_incidentrelease",
    "shop_emergencytext",
    "shop_arealimit",
    "shop_voiding",
)
_EVENTS = ("update", "delete")

DOCUMENTS = "shop_issueddocument"
_FROZEN = (
    "kind",
    "number",
    "job_id",
    "container_id",
    "consignment_id",
    "content",
    "content_sha256",
    "rule_set",
    "issued_at",
    "issued_by_id",
)
"""What of a document is fixed when it is issued. Its bytes come later, once."""


def install(connection: BaseDatabaseWrapper) -> None:
    """Make the database refuse updates and deletes on every append-only table that stands by now."""
    remove(connection)
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor, _standing(connection)):
            cursor.execute(statement)
        for statement in _freezing(connection.vendor, _frozen_columns(connection)):
            cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away."""
    with connection.cursor() as cursor:
        for table in _standing(connection):
            for event in _EVENTS:
                on_table = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{event}{on_table}")
        on_table = f" ON {DOCUMENTS}" if connection.vendor == "postgresql" else ""
        for event in _EVENTS:
            cursor.execute(f"DROP TRIGGER IF EXISTS {DOCUMENTS}_no_{event}{on_table}")


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


def _frozen_columns(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the frozen columns that stand by now: a migration may add some later."""
    with connection.cursor() as cursor:
        there = {column.name for column in connection.introspection.get_table_description(cursor, DOCUMENTS)}
    return [name for name in _FROZEN if name in there]


def _freezing(vendor: str, frozen: list[str]) -> list[str]:
    """A document is never deleted, and nothing of it changes but that its bytes are stored, once."""
    refused = f"{DOCUMENTS} does not change once it is issued"
    if vendor == "sqlite":
        changed = " OR ".join(["OLD.pdf IS NOT NULL", *(f"NEW.{name} IS NOT OLD.{name}" for name in frozen)])
        abort = f"BEGIN SELECT RAISE(ABORT, '{refused}'); END"
        return [
            f"CREATE TRIGGER {DOCUMENTS}_no_update BEFORE UPDATE ON {DOCUMENTS} WHEN {changed} {abort}",
            f"CREATE TRIGGER {DOCUMENTS}_no_delete BEFORE DELETE ON {DOCUMENTS} {abort}",
        ]
    changed = " OR ".join(["OLD.pdf IS NOT NULL", *(f"NEW.{name} IS DISTINCT FROM OLD.{name}" for name in frozen)])
    raised = f"RAISE EXCEPTION '{refused}'"
    refuse = "FOR EACH ROW {} EXECUTE FUNCTION shop_document_issued()"
    return [
        f"CREATE OR REPLACE FUNCTION shop_document_issued() RETURNS trigger AS $$ BEGIN {raised}; END $$ LANGUAGE plpgsql",
        f"CREATE TRIGGER {DOCUMENTS}_no_update BEFORE UPDATE ON {DOCUMENTS} " + refuse.format(f"WHEN ({changed})"),
        f"CREATE TRIGGER {DOCUMENTS}_no_delete BEFORE DELETE ON {DOCUMENTS} " + refuse.format(""),
    ]
