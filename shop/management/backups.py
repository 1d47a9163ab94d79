"""Backing a shop up while people write, and bringing it back into an empty place; the audit judges both."""

import os
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader

from shop.operations import files
from shop.selectors import audit, audit_chains

from . import archives
from .archives import Manifest
from .databases import BESIDE, copy_database

UPLOADS = "uploads"
NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


def back_up(folder: Path, *, now: datetime) -> tuple[Path, Manifest]:
    """Write one file with all of the shop to a folder. People may go on writing meanwhile."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    name = settings.SHOP_DATABASE
    target = folder / f"shop-{name}-{now.astimezone(UTC):%Y%m%dT%H%M%S%fZ}.zip"
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=folder) as scratch:
        copied = _copy_sqlite if connection.vendor == "sqlite" else _dump_postgres
        database, manifest = copied(Path(scratch), now)
        archives.write(target, manifest, {manifest.database: database, **_stored_files()})
    return target, manifest


def bring_back(path: Path) -> Manifest:
    """Bring a shop back from an archive into an empty place, and let the audit say whether it is the one that left."""
    with archives.opened(path) as (archive, manifest):
        _require_fitting(manifest)
        _require_empty()
        if connection.vendor == "sqlite":
            _restore_sqlite(archive, manifest)
        else:
            _restore_postgres(archive, manifest)
        for name in archives.stored_files(archive):
            folder, _, within = name.partition("/")
            archives.extract(archive, name, _root_of(folder) / within)
    return manifest


def missing() -> list[str]:
    """Return what the book names and the data folder does not have."""
    return sorted(str(path.relative_to(settings.DATA_DIR)) for path in files.named() if not path.exists())


def _root_of(folder: str) -> Path:
    return Path(settings.MEDIA_ROOT) if folder == UPLOADS else Path(settings.DATA_DIR) / folder


def _said_by_audit() -> tuple[list[str], list[str]]:
    return list(audit_chains.heads()), list(audit.differences())


def _require_same(manifest: Manifest) -> None:
    """The restored shop gives the very audit that its copy gave; a later version of the shop may find more."""
    heads, differences = _said_by_audit()
    later = manifest.migrations != _applied()
    if heads != manifest.heads or (differences != manifest.differences and not later):
        raise CommandError("What came out of the backup is not what went in: its audit differs. Do not work with it.")


def _manifest(database: str, now: datetime) -> Manifest:
    heads, differences = _said_by_audit()
    return Manifest(
        vendor=connection.vendor,
        made_at=now.isoformat(),
        database=database,
        migrations=_applied(),
        heads=heads,
        differences=differences,
    )


def _applied() -> list[str]:
    return sorted(f"{app}.{name}" for app, name in MigrationLoader(connection).applied_migrations)


def _stored_files() -> dict[str, Path]:
    """Return the files beside the database by their names in the archive; what is being written just now is none yet."""
    return {
        f"{folder}/{path.relative_to(_root_of(folder))}": path
        for folder in sorted(archives.FOLDERS)
        for path in sorted(_root_of(folder).rglob("*"))
        if path.is_file() and (folder == UPLOADS or path.suffix)
    }


def _require_fitting(manifest: Manifest) -> None:
    if manifest.vendor != connection.vendor:
        raise CommandError(
            f"This is the backup of a shop on {NAMES.get(manifest.vendor, manifest.vendor)}; here the database is "
            f"{NAMES[connection.vendor]}. Set or leave out DATABASE_URL. Nothing was changed."
        )
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    ours = {name for name in manifest.migrations if name.startswith("shop.")}
    if later := sorted(ours - known):
        raise CommandError(
            f"This backup was made by a later version of the shop ({later[-1]}). Bring the program up to date first. "
            "Nothing was changed."
        )


def _require_empty() -> None:
    if connection.introspection.table_names():
        raise CommandError(
            "There is a shop in this place already, and it was left alone. Restore into an empty one: set SHOP_DATA to a "
            "new folder, or DATABASE_URL to an empty database."
        )
    if there := next(iter(_stored_files().values()), None):
        raise CommandError(f"{there.parent} is not empty; nothing was changed.")


# --- SQLite


def _copy_sqlite(scratch: Path, now: datetime) -> tuple[Path, Manifest]:
    copy = copy_database(Path(connection.settings_dict["NAME"]), scratch / "database.sqlite3")
    with _looking_at(copy):
        manifest = _manifest("database.sqlite3", now)
    return copy, manifest


def _restore_sqlite(archive: zipfile.ZipFile, manifest: Manifest) -> None:
    place = Path(connection.settings_dict["NAME"])
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=place.parent) as scratch:
        copy = Path(scratch) / "database.sqlite3"
        archives.extract(archive, manifest.database, copy)
        with _looking_at(copy):
            call_command("migrate", verbosity=0, interactive=False)
            _require_same(manifest)
        connection.close()
        for suffix in BESIDE:
            place.with_name(place.name + suffix).unlink(missing_ok=True)
        copy.replace(place)


@contextmanager
def _looking_at(copy: Path) -> Iterator[None]:
    """Ask a copy instead of the shop's own file; nothing of it is left unwritten beside it afterwards."""
    own = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(copy)
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()
        connection.settings_dict["NAME"] = own


# --- PostgreSQL


def _dump_postgres(scratch: Path, now: datetime) -> tuple[Path, Manifest]:
    """Dump and audit see the same moment."""
    dump = scratch / "database.dump"
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        (snapshot,) = cursor.fetchone()
        _program("pg_dump", "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={dump}")
        manifest = _manifest("database.dump", now)
    return dump, manifest


def _restore_postgres(archive: zipfile.ZipFile, manifest: Manifest) -> None:
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=settings.DATA_DIR) as scratch:
        dump = Path(scratch) / "database.dump"
        archives.extract(archive, manifest.database, dump)
        name = f"--dbname={connection.settings_dict['NAME']}"
        _program("pg_restore", "--no-owner", "--exit-on-error", "--single-transaction", name, str(dump))
    call_command("migrate", verbosity=0, interactive=False)
    _require_same(manifest)


def _program(name: str, *arguments: str) -> None:
    """Run one of PostgreSQL's own programs against the shop's database; the password is not seen in the list of tasks."""
    program = shutil.which(name)
    if program is None:
        raise CommandError(f"{name} is not installed: Debian's package postgresql-client has it. Nothing was changed.")
    said = connection.settings_dict
    names = {"HOST": "PGHOST", "PORT": "PGPORT", "USER": "PGUSER", "PASSWORD": "PGPASSWORD", "NAME": "PGDATABASE"}
    address = {names[part]: str(said[part]) for part in names if said[part]}
    done = subprocess.run(  # noqa: S603 - a program of PostgreSQL with arguments of our own
        [program, *arguments], env=os.environ | address, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise CommandError(f"{name} failed: {done.stderr.strip()}")
