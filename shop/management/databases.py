"""The files that hold a shop: copied before they change, and only the demo's ever deleted."""

import fcntl
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TextIO

import psycopg
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from shop import env

JOBS = "shop_job"
"""The table that every shop has."""
BESIDE = ("", "-wal", "-shm", "-journal")


def file_of_database() -> Path | None:
    """Return the file that the database lives in; None for a database server."""
    return Path(connection.settings_dict["NAME"]) if connection.vendor == "sqlite" else None


def hold_demo(*, alone: bool) -> TextIO:
    """Hold the demo shop until the file returned is closed; ``alone`` refuses where another process holds it as well."""
    settings.DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
    file: TextIO = (settings.DATA_DIR / "demo.lock").open("a")
    try:
        fcntl.flock(file, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except BlockingIOError as error:
        file.close()
        raise CommandError(
            "The demo shop is in use, so it was not reset and nothing was changed. "
            "End it with Ctrl-C where it was started, then try again."
        ) from error
    return file


def share_demo(file: TextIO) -> None:
    """Let others serve the demo shop beside this process, which holds it on."""
    fcntl.flock(file, fcntl.LOCK_SH)


def delete_demo() -> None:
    """Delete the demo shop's file, and refuse every other."""
    path = file_of_database()
    if settings.SHOP_DATABASE != "demo" or path != settings.DATA_DIR / "demo.sqlite3":
        raise CommandError(f"Only the demo shop can be reset, and {path or 'this database'} is not the demo shop.")
    connection.close()
    for suffix in BESIDE:
        path.with_name(path.name + suffix).unlink(missing_ok=True)


def migrate(*, now: datetime, have_copy: bool = False) -> Path | None:
    """Bring the tables up to date; what was there before is copied first. Return the copy, if one was made."""
    executor = MigrationExecutor(connection)
    steps = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not steps:
        return None
    copy = _keep(now, have_copy=have_copy) if executor.loader.applied_migrations else None
    call_command("migrate", verbosity=0, interactive=False)
    return copy


def _keep(now: datetime, *, have_copy: bool) -> Path | None:
    path = file_of_database()
    if path is not None:
        return copy_database(path, settings.DATA_DIR / "backups" / f"{path.stem}-{now:%Y%m%dT%H%M%SZ}.sqlite3")
    if not have_copy:
        raise CommandError(
            "The tables must change, and this database can't be copied from here. "
            "Copy it with pg_dump, then start again with --have-copy."
        )
    return None


def copy_database(source: Path, target: Path) -> Path:
    """Copy a database that may be in use, and read the copy through once; an unreadable copy is an error."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy)
        (verdict,) = copy.execute("PRAGMA quick_check").fetchone()
    target.chmod(0o600)
    if verdict != "ok":
        raise CommandError(f"The copy of the database is damaged ({verdict}). Nothing was changed.")
    return target


def reach() -> None:
    """Make sure that the database answers."""
    try:
        connection.ensure_connection()
    except OperationalError as error:
        raise CommandError(f"The database does not answer: {error}") from error


def require_shop() -> None:
    """Refuse where no shop was opened yet, and leave nothing behind there."""
    file = file_of_database()
    if file is None or file.exists():
        reach()
        if JOBS in connection.introspection.table_names():
            return
    raise CommandError(f"No shop is open here: {file or 'this database'} holds none. `manage.py open_shop` opens one.")


def remember_address(url: str) -> None:
    """Write the address of a database server where the next start finds it, once it has answered there."""
    _try_address(url)
    path: Path = settings.SHOP_ENV_FILE
    kept = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    lines = [line for line in kept if not line.startswith("DATABASE_URL=")]
    path.touch(mode=0o600)
    path.write_text("\n".join([*lines, f"DATABASE_URL={url}", ""]), encoding="utf-8")


def _try_address(url: str) -> None:
    try:
        env.database(url)
        psycopg.connect(url, connect_timeout=10).close()
    except (ImproperlyConfigured, psycopg.Error) as error:
        raise CommandError(f"{str(error).rstrip('.')}. Nothing was changed.") from error
