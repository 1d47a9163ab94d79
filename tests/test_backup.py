"""A shop is backed up while people write, and comes back as it was: into an empty place, from a whole file, or not at all."""

import hashlib
import json
import shutil
import threading
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection, connections

from packs.terms import Stage
from shop import append_only, models
from shop.management import archives
from shop.operations import cell_testing, photographs
from shop.selectors import audit, audit_chains
from shop.web import uploads
from tests import line, remembered
from tests.factories import CellFactory
from tests.operations import tester_files

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("committed_db")]


@pytest.fixture(autouse=True)
def own_files(tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A data folder of its own, in which no job that was walked to elsewhere has left its files."""
    monkeypatch.setattr(remembered, "_KEPT", {})
    settings.MEDIA_ROOT = tmp_path / "uploads"
    settings.DATA_DIR = tmp_path


@contextmanager
def empty_place(tmp_path: Path) -> Iterator[None]:
    """Another, empty database, and a folder for its files."""
    own = connection.settings_dict["NAME"]
    elsewhere = f"{own}_elsewhere"
    connection.close()
    if connection.vendor == "sqlite":
        connection.settings_dict["NAME"] = str(tmp_path / "other.sqlite3")
    else:
        with connection.cursor() as cursor:
            cursor.execute(f"CREATE DATABASE {elsewhere}")
        connection.close()
        connection.settings_dict["NAME"] = elsewhere
    files, settings.MEDIA_ROOT = settings.MEDIA_ROOT, tmp_path / "other uploads"
    data, settings.DATA_DIR = settings.DATA_DIR, tmp_path / "elsewhere"
    settings.DATA_DIR.mkdir(exist_ok=True)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"], settings.MEDIA_ROOT = own, files
        settings.DATA_DIR = data
        if connection.vendor != "sqlite":
            with connection.cursor() as cursor:
                cursor.execute(f"DROP DATABASE {elsewhere}")


def backed_up(folder: Path) -> Path:
    call_command("backup", to=str(folder), stdout=StringIO())
    (archive,) = folder.iterdir()
    return archive


def restored(archive: Path) -> str:
    told = StringIO()
    call_command("restore", str(archive), stdout=told)
    return told.getvalue()


def said() -> tuple[list[str], list[str]]:
    return list(audit_chains.heads()), list(audit.differences())


def rewritten(archive: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """Another archive of the same files, one of them changed."""
    with zipfile.ZipFile(archive) as whole:
        files = {name: whole.read(name) for name in whole.namelist()}
    change(files)
    target = archive.with_name("changed.zip")
    with zipfile.ZipFile(target, "w") as changed:
        for name, content in files.items():
            changed.writestr(name, content)
    return target


def test_what_comes_back_is_what_was_there(tmp_path: Path) -> None:
    job = line.job_at(Stage.MEASURE)
    name = uploads.keep(b"code;capacity")
    line.photograph_the_cells(job)
    shown = models.Photograph.objects.get()
    trace = tester_files.kept()
    before, log = said(), list(models.LogEntry.objects.values())
    archive = backed_up(tmp_path / "backups")
    line.take_in()  # after the backup: not in it
    assert archive.stat().st_mode & 0o077 == 0
    with empty_place(tmp_path):
        assert "The books balance, and every file they name is there." in restored(archive)
        assert said() == before
        assert list(models.LogEntry.objects.values()) == log
        assert models.Job.objects.get().code == job.code
        assert uploads.kept(name) == b"code;capacity"
        assert photographs.content_of(shown).startswith(b"\xff\xd8")
        assert cell_testing.content_of(trace) == tester_files.CONTENT
        with pytest.raises(Exception, match="only ever added to"):
            models.Movement.objects.update(note="changed")


def test_a_backup_under_load_comes_back_with_the_audit_of_its_moment(tmp_path: Path) -> None:
    line.job_at(Stage.REMOVED)
    written: list[str] = []
    stop = threading.Event()

    def write(number: int) -> None:
        try:
            while not stop.is_set():
                written.append(line.take_in(customer_name=f"Bench {number}").code)
        finally:
            connections.close_all()

    line.technician()
    benches = [threading.Thread(target=write, args=(number,)) for number in range(3)]
    for bench in benches:
        bench.start()
    try:
        while len(written) < 3:
            stop.wait(0.01)
        acknowledged = list(written)
        archive = backed_up(tmp_path / "backups")
        there = len(written)
    finally:
        stop.set()
        for bench in benches:
            bench.join()
    assert there > len(acknowledged), "nobody wrote while the backup was made, so this proves nothing"
    with archives.opened(archive) as (_, manifest), empty_place(tmp_path):
        restored(archive)
        assert said() == (manifest.heads, [])
        assert set(acknowledged) <= {job.code for job in models.Job.objects.all()}


def test_books_that_do_not_balance_are_backed_up_and_said(tmp_path: Path) -> None:
    CellFactory(code="S001")
    models.Cell.objects.update(place="outside")
    with pytest.raises(CommandError, match="do not balance: 1 difference"):
        backed_up(tmp_path / "backups")
    (archive,) = (tmp_path / "backups").iterdir()
    with empty_place(tmp_path), pytest.raises(CommandError, match="did not balance then"):
        restored(archive)


def test_a_place_where_a_shop_is_stays_as_it_is(tmp_path: Path) -> None:
    line.take_in()
    archive = backed_up(tmp_path / "backups")
    line.take_in()
    with pytest.raises(CommandError, match="There is a shop in this place already"):
        restored(archive)
    assert models.Job.objects.count() == 2


def test_files_that_are_there_already_stay(tmp_path: Path) -> None:
    archive = backed_up(tmp_path / "backups")
    with empty_place(tmp_path):
        uploads.keep(b"somebody's table")
        with pytest.raises(CommandError, match="is not empty; nothing was changed"):
            restored(archive)
        assert connection.introspection.table_names() == []


def other_bytes(files: dict[str, bytes]) -> None:
    name = next(name for name in files if name.startswith("database"))
    files[name] = files[name][:-1] + bytes([files[name][-1] ^ 1])


def other_sum(files: dict[str, bytes]) -> None:
    """Bytes and hash were changed together: the audit of what came out differs from the one that was written down."""
    said = json.loads(files[archives.MANIFEST])
    said["heads"] = ["job log: 0 entries"]
    files[archives.MANIFEST] = json.dumps(said).encode()


def one_more(files: dict[str, bytes]) -> None:
    files["uploads/more"] = b"?"


def one_less(files: dict[str, bytes]) -> None:
    del files[next(name for name in files if name.startswith("database"))]


def no_manifest(files: dict[str, bytes]) -> None:
    del files[archives.MANIFEST]


def outside(files: dict[str, bytes]) -> None:
    said = json.loads(files[archives.MANIFEST])
    said["sha256"]["uploads/../../evil"] = (
        "2c26b46b68ffc68ff99b453c1d30413413422d706483bfa0f98a5e886266e7ae"  # of "foo"
    )
    files |= {archives.MANIFEST: json.dumps(said).encode(), "uploads/../../evil": b"foo"}


def later_version(files: dict[str, bytes]) -> None:
    said = json.loads(files[archives.MANIFEST])
    said["migrations"].append("shop.9999_from_later")
    files[archives.MANIFEST] = json.dumps(said).encode()


def other_database(files: dict[str, bytes]) -> None:
    said = json.loads(files[archives.MANIFEST])
    said["vendor"] = "postgresql" if said["vendor"] == "sqlite" else "sqlite"
    files[archives.MANIFEST] = json.dumps(said).encode()


CHANGES = [
    (other_bytes, "is not what was stored"),
    (one_more, "its files are not the ones it lists"),
    (one_less, "its files are not the ones it lists"),
    (no_manifest, "no backup of a shop"),
    (outside, "a file outside of its folder"),
    (later_version, "later version of the shop"),
    (other_database, "Set or leave out DATABASE_URL"),
    (other_sum, "its audit differs"),
]


def test_a_damaged_archive_is_refused_and_says_why(tmp_path: Path) -> None:
    line.take_in()
    archive = backed_up(tmp_path / "backups")
    for change, why in CHANGES:
        changed = rewritten(archive, change)
        with empty_place(tmp_path):
            with pytest.raises(CommandError, match=why):
                restored(changed)
            assert connection.vendor != "sqlite" or connection.introspection.table_names() == []
    cut = tmp_path / "cut.zip"
    cut.write_bytes(archive.read_bytes()[:-100])
    for path, why in ((cut, "damaged or no backup"), (tmp_path / "none.zip", "There is no file")):
        with pytest.raises(CommandError, match=why):
            restored(path)


def test_what_cannot_be_written_is_said_and_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a file").write_text("no folder")
    with pytest.raises(CommandError, match=r"could not be written to .*a file"):
        call_command("backup", to=str(tmp_path / "a file"))
    if connection.vendor == "postgresql":
        monkeypatch.setattr(shutil, "which", lambda name: None)
        with pytest.raises(CommandError, match="pg_dump is not installed"):
            call_command("backup", to=str(tmp_path / "backups"))
        assert list((tmp_path / "backups").iterdir()) == []


def test_triggers_come_back_with_the_shop(tmp_path: Path) -> None:
    """Every table that is only added to is held again where the shop came back."""
    archive = backed_up(tmp_path / "backups")
    with empty_place(tmp_path):
        restored(archive)
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT name FROM sqlite_master WHERE type = 'trigger'"
                if connection.vendor == "sqlite"
                else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
            )
            names = {name for (name,) in cursor.fetchall()}
    assert {f"{table}_no_{event}" for table in append_only.TABLES for event in ("update", "delete")} <= names


def test_a_file_that_the_book_names_and_nobody_has_is_told(tmp_path: Path) -> None:
    line.photograph_the_cells(line.job_at(Stage.MEASURE))
    (kept,) = (tmp_path / "photographs").glob("*/*.jpg")
    kept.unlink()
    with pytest.raises(CommandError, match=f"1 files that they name were not in .*{kept.name}"):
        backed_up(tmp_path / "backups")


@pytest.mark.parametrize("command", ["audit", "backup"])
def test_where_no_shop_is_open_it_is_said_and_nothing_is_left_behind(tmp_path: Path, command: str) -> None:
    with empty_place(tmp_path), pytest.raises(CommandError, match="No shop is open here"):
        call_command(command)
    assert not (tmp_path / "other.sqlite3").exists()


def into_the_settings(files: dict[str, bytes]) -> None:
    files["shop.env"] = b"DATABASE_URL=elsewhere"
    manifest = json.loads(files["manifest.json"])
    manifest["sha256"]["shop.env"] = hashlib.sha256(files["shop.env"]).hexdigest()
    files["manifest.json"] = json.dumps(manifest).encode()


def test_an_archive_writes_into_the_folders_of_files_and_nowhere_else(tmp_path: Path) -> None:
    line.take_in()
    archive = rewritten(backed_up(tmp_path / "backups"), into_the_settings)
    with empty_place(tmp_path), pytest.raises(CommandError, match="outside of its folder"):
        restored(archive)
