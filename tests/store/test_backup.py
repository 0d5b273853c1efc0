"""Backups that read back, restoring that keeps what it replaces, damage that is named."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from plumeline.cli import main
from plumeline.store import backups, open_store
from plumeline.store.backups import (
    SUM,
    all_backups,
    backup_folder,
    last_good,
    restore,
    taken_at,
    tidy,
    verify,
    write_backup,
)
from plumeline.store.doctor import age_words, examine
from plumeline.store.drill import drill
from plumeline.store.engine import journal_for
from plumeline.store.errors import ReadOnlyError, StoreError
from plumeline.store.locks import held
from plumeline.store.migrate import newest
from plumeline.store.schema import metadata
from plumeline.store.store import damage_of

NOW = datetime(2026, 8, 12, tzinfo=UTC)


@pytest.fixture
def full(store, oak):
    """A database with a pond of two revisions."""
    first = store.ponds.add(oak, author="office", reason="import")
    job = first.job.model_copy(update={"name": "second"})
    store.ponds.save_job(first.pond_id, job, expected_number=1, author="crew", reason="")
    return store


def spoil(path):
    """Overwrite the middle of a file, past the head that tells what it is."""
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 9000] = b"\xa5" * 9000
    path.write_bytes(data)


def written_at(path, when):
    """Let a file look as if it was last written then."""
    os.utime(path, (when.timestamp(), when.timestamp()))


def test_a_backup_reads_back_and_its_checksum_is_that_of_the_file(full, path):
    """SHA-256 by hashlib, in the form that sha256sum -c reads; every row of every table is in it."""
    made = write_backup(path, now=NOW)
    data = made.path.read_bytes()
    assert (
        made.path.with_name(made.path.name + SUM).read_text()
        == f"{hashlib.sha256(data).hexdigest()}  {made.path.name}\n"
    )
    assert verify(made.path) == made.rows
    assert (made.rows["pond"], made.rows["revision"]) == (1, 2)
    assert last_good(path) == made.path
    assert made.path.stat().st_mode & 0o077 == 0


def test_restore_brings_everything_back_and_keeps_what_it_replaces(full, path, oak):
    """The pond of the backup, and the newer database under another name."""
    made = write_backup(path, now=NOW)
    third = full.ponds.add(oak, author="", reason="after the backup")
    full.close()
    done = restore(made.path, path, now=NOW)
    again = open_store(path)
    assert [row.name for row in again.ponds.rows()] == ["second"]
    assert again.ponds.folder("hollow-oak", 1) == oak
    again.close()
    kept = open_store(done.kept)
    assert third.pond_id in {row.id for row in kept.ponds.rows()}
    kept.close()


@pytest.mark.parametrize("how", ["spoilt", "cut", "text", "empty", "gone", "other"])
def test_a_bad_backup_is_refused_and_the_database_stays(how, full, path, tmp_path):
    """A turned page, half a file, no database, another program's database."""
    made = write_backup(path, now=NOW)
    bad = made.path
    if how == "spoilt":
        spoil(bad)
    elif how == "cut":
        bad.write_bytes(bad.read_bytes()[: bad.stat().st_size // 2])
    elif how == "text":
        bad.write_text("hello")
    elif how == "empty":
        bad.write_bytes(b"")
    elif how == "gone":
        bad.unlink()
    else:
        bad = tmp_path / "other.sqlite3"
        with closing(sqlite3.connect(bad)) as link:
            link.execute("CREATE TABLE x (y)")
    full.close()
    before = path.read_bytes()
    with pytest.raises(StoreError):
        restore(bad, path, now=NOW)
    assert path.read_bytes() == before
    assert last_good(path) == (made.path if how == "other" else None)


def test_a_spoilt_backup_is_found_without_its_checksum(full, path):
    """The pages themselves are looked at."""
    made = write_backup(path, now=NOW)
    made.path.with_name(made.path.name + SUM).unlink()
    spoil(made.path)
    with pytest.raises(StoreError, match=r"damaged|can't be read|belong to nothing"):
        verify(made.path)


def test_restore_waits_for_no_server_but_refuses(full, path):
    """A file under a running server is not changed."""
    made = write_backup(path, now=NOW)
    with held(path, "serve"), pytest.raises(StoreError, match="another plumeline is running"):
        restore(made.path, path, now=NOW)


def test_a_damaged_database_opens_for_reading_and_names_the_last_good_backup(full, path, oak):
    """Never empty, never written to; the newer backup that is spoilt is passed over."""
    good = write_backup(path, now=NOW)
    newer = write_backup(path, now=datetime(2026, 8, 13, tzinfo=UTC))
    spoil(newer.path)
    full.close()
    spoil(path)
    before = path.read_bytes()
    store = open_store(path)
    assert store.damage
    assert store.good_backup == good.path
    with pytest.raises(ReadOnlyError, match="nothing was saved"):
        store.ponds.add(oak, author="", reason="")
    store.close()
    assert path.read_bytes() == before
    found = examine(path)
    assert not found.well
    assert any(str(good.path) in item.remedy for item in found.findings)


@pytest.mark.parametrize("how", ["gone", "empty"])
def test_a_lost_database_is_not_begun_anew_where_backups_are(how, full, path):
    """An empty list of ponds would look as if all were well."""
    made = write_backup(path, now=NOW)
    full.close()
    path.unlink()
    if how == "empty":
        path.touch()
    with pytest.raises(StoreError, match=f"plumeline restore {made.path}") as caught:
        open_store(path)
    assert f"the database is {how}," in str(caught.value)
    assert not path.exists() or path.stat().st_size == 0


def test_a_table_whose_own_words_are_no_text_is_damage_too(full, path):
    """SQLite names the table in bytes that can't be decoded: open for reading only, and each question says so."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("PRAGMA writable_schema = ON")
        words = "CAST(replace(sql, 'CREATE TABLE run ', 'CREATE TABLE run ' || x'ce') AS TEXT)"
        link.execute(f"UPDATE sqlite_schema SET sql = {words} WHERE name = 'run'")
    store = open_store(path)
    assert "malformed" in store.damage
    for ask in (lambda: store.ponds.must_be_there("oak"), store.ponds.count, store.ponds.rows):
        with pytest.raises(StoreError, match="database is damaged"):
            ask()
    store.close()


def test_a_damaged_database_is_not_backed_up(full, path):
    """The last good backup must not be followed by a bad one."""
    full.close()
    spoil(path)
    with pytest.raises(StoreError):
        write_backup(path, now=NOW)
    assert all_backups(path) == []


def test_the_doctor_finds_a_sound_database_well(full, path):
    """Pages, rows, tables, journal, room, backups."""
    write_backup(path, now=NOW)
    written_at(path, NOW)
    found = examine(path, now=NOW + timedelta(hours=3))
    assert found.well, found.findings
    assert any("the last good one is 3 hours old" in item.words for item in found.findings)
    assert any(f"SQLite {sqlite3.sqlite_version} " in item.words for item in found.findings)
    assert {item.what for item in found.findings} == {
        "pages",
        "rows",
        "contents",
        "place",
        "tables",
        "photos",
        "journal",
        "room on the disk",
        "backups",
    }


def test_the_doctor_says_that_no_backup_holds_what_was_saved(full, path):
    """Saved two days after the last good one: not well, with the way out."""
    write_backup(path, now=NOW)
    written_at(path, NOW + timedelta(days=2))
    wrong = [item for item in examine(path, now=NOW + timedelta(days=2)).findings if not item.well]
    assert [item.what for item in wrong] == ["backups"]
    assert "2 days old" in wrong[0].words
    assert wrong[0].remedy == "Run: plumeline backup."


def test_the_doctor_finds_a_text_in_which_a_letter_turned(full, path):
    """The pages are sound; the job is not what was saved."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE revision SET job = replace(job, 'second', 'secomd') WHERE number = 2")
    assert [item.what for item in examine(path).findings if not item.well] == ["contents"]


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (-3, "0 minutes"),
        (1, "1 minute"),
        (119, "119 minutes"),
        (120, "2 hours"),
        (2879, "47 hours"),
        (2880, "2 days"),
    ],
)
def test_an_age_is_said_as_a_person_says_it(minutes, words):
    """Whole units, the largest of which there are two."""
    assert age_words(timedelta(minutes=minutes)) == words


def test_the_doctor_finds_a_row_that_belongs_to_nothing(full, path):
    """A revision whose pond was taken away behind our back."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE revision SET pond_id = 'nobody' WHERE number = 2")
    assert [item.what for item in examine(path).findings if not item.well] == ["rows"]


def test_a_database_of_a_newer_version_is_left_alone(full, path):
    """Refused in words; not a byte changed."""
    full.close()
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE alembic_version SET version_num = '9999'")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="newer version"):
        open_store(path)
    assert path.read_bytes() == before
    assert not examine(path).well


def test_the_steps_end_at_the_tables_of_the_program(store, path):
    """Alembic's own comparison of the file with schema.py finds nothing."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with store.database.reading() as link:
        assert compare_metadata(MigrationContext.configure(link), metadata) == []
        assert link.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() == newest()


@pytest.mark.parametrize(
    ("version", "journal"),
    [
        ((3, 40, 1), "truncate"), ((3, 44, 5), "truncate"), ((3, 44, 6), "wal"), ((3, 45, 0), "truncate"),
        ((3, 50, 6), "truncate"), ((3, 50, 7), "wal"), ((3, 51, 0), "truncate"), ((3, 51, 2), "truncate"),
        ((3, 51, 3), "wal"), ((3, 54, 1), "wal"), ((4, 0, 0), "wal"),
    ],
)  # fmt: skip
def test_the_write_ahead_journal_is_used_only_where_it_is_mended(version, journal):
    """Versions with the mend of the WAL reset: 3.51.3, 3.50.7 and 3.44.6 (SQLite's WAL page, as read)."""
    assert journal_for(version) == journal


def test_every_commit_reaches_the_disk(store):
    """synchronous = FULL (2), foreign keys on, 15 s of patience, on the connections that write."""
    with store.database.transaction() as link:
        told = [
            link.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("synchronous", "foreign_keys", "busy_timeout")
        ]
    assert told == [2, 1, 15000]


def test_the_commands_do_it_from_the_shell(full, path, capsys):
    """backup, doctor and restore, with their exit codes and JSON."""
    full.close()
    place = ["--database", str(path)]
    assert main(["backup", *place, "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert main(["doctor", *place]) == 0
    assert "All is well." in capsys.readouterr().out
    spoil(path)
    assert main(["doctor", *place]) == 1
    assert made["file"] in capsys.readouterr().out.replace("\n", "").replace("  ", "")
    assert main(["restore", made["file"], *place, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rows"]["revision"] == 2
    assert main(["doctor", *place, "--json"]) == 0


def test_a_backup_whose_job_no_program_reads_does_not_restore(full, path):
    """Its bytes are what was saved, and it is no job: only a restored copy that is read as a page would tells."""
    job = '{"id": "hollow-oak"}'
    with closing(sqlite3.connect(path)) as link, link:
        change = "UPDATE revision SET job = ?, job_sha256 = ? WHERE number = 2"
        link.execute(change, (job, hashlib.sha256(job.encode()).hexdigest()))
    with pytest.raises(StoreError, match="not"):
        write_backup(path, now=NOW)
    assert last_good(path) is None


def test_a_backup_of_nothing_and_one_over_another_file_are_refused(full, path, tmp_path):
    """No database there; the name is taken, and the file stays as it was."""
    with pytest.raises(StoreError, match="no database"):
        write_backup(tmp_path / "none.sqlite3", now=NOW)
    taken = tmp_path / "taken.sqlite3"
    taken.write_bytes(b"somebody's")
    with pytest.raises(StoreError, match="of that name"):
        write_backup(path, taken, now=NOW)
    assert taken.read_bytes() == b"somebody's"
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match=r"nothing can stand below '.*file': that is a file"):
        write_backup(path, tmp_path / "file" / "b.sqlite3", now=NOW)


def test_a_database_with_a_loose_row_or_a_turned_file_is_not_backed_up(full, path):
    """Pages may be sound all the same."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE blob SET content = content || 'x'")
    with pytest.raises(StoreError, match="the content of file"):
        write_backup(path, now=NOW)
    assert [item.what for item in examine(path).findings if not item.well] == ["contents"]
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE revision SET pond_id = 'nobody' WHERE number = 2")
    with pytest.raises(StoreError, match="belong to nothing"):
        write_backup(path, now=NOW)
    assert all_backups(path) == []


def test_a_restored_copy_that_lost_rows_is_found(full, path):
    """What the copy holds is counted against what the backup held."""
    made = write_backup(path, now=NOW)
    with pytest.raises(StoreError, match="pond has 1 rows of 2"):
        drill(made.path, {**made.rows, "pond": 2})
    drill(made.path, made.rows)


def test_a_backup_under_a_name_of_one_s_own_was_taken_when_it_was_written(full, path, tmp_path):
    """By its file, as its name tells nothing."""
    made = write_backup(path, tmp_path / "before the storm.sqlite3", now=NOW)
    written_at(made.path, NOW)
    assert taken_at(made.path) == NOW


def test_a_pond_that_points_at_no_revision_is_damage(full, path):
    """It would be missing from the list of all."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE pond SET latest_revision = 7")
    assert damage_of(path) == "the latest revision of hollow-oak is not there"
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE pond SET latest_revision = 2")
        link.execute("ALTER TABLE run RENAME COLUMN words TO wordq")
    assert damage_of(path) == "the table run has no words any more"


def test_a_disk_that_fails_under_a_restore_leaves_the_database(full, path, monkeypatch):
    """No room for the copy, or a copy that is not the backup: said in words, and what stood there stands."""
    made = write_backup(path, now=NOW)
    full.close()
    before = path.read_bytes()

    def no_room(_from, _to):
        raise OSError(28, "No space left on device")

    for copy_file, words in ((no_room, "not restored"), (lambda _, to: to.write_bytes(b"x"), "copy differs")):
        with monkeypatch.context() as patch:
            patch.setattr(backups, "copy_file", copy_file)
            with pytest.raises(StoreError, match=words):
                restore(made.path, path, now=NOW)
        assert path.read_bytes() == before
        assert not list(path.parent.glob(".*restoring"))


def test_what_a_killed_backup_of_the_same_name_left_is_no_hindrance(full, path, tmp_path):
    """Half a copy and half a backup lie there: both go, and the new one is whole."""
    out = tmp_path / "usb.sqlite3"
    for tail in (".part", ".raw.part"):
        out.with_name(f".{out.name}{tail}").write_bytes(b"half")
    assert verify(write_backup(path, out, now=NOW).path)["revision"] == 2
    assert [one.name for one in tmp_path.glob(".usb*")] == []


def test_only_what_is_old_is_taken_for_left_over(full, path):
    """Half a backup of an hour ago may be one that is being written; of seven hours ago it is what a kill has left."""
    folder = backup_folder(path)
    folder.mkdir(exist_ok=True)
    fresh, old = (folder / f".{path.stem}-{name}.part" for name in ("fresh", "old"))
    for one, age_h in ((fresh, 1.0), (old, 7.0)):
        one.write_bytes(b"half")
        when = time.time() - 3600.0 * age_h
        os.utime(one, (when, when))
    tidy(path)
    assert (fresh.exists(), old.exists()) == (True, False)


def test_a_database_that_another_holds_is_not_called_damaged(full, path, monkeypatch):
    """Somebody else has it to themselves: who holds it is to be closed, and no backup is brought back over it."""
    full.close()
    monkeypatch.setattr("plumeline.store.engine.BUSY_MS", 50)
    with closing(sqlite3.connect(path)) as link:
        link.execute("BEGIN EXCLUSIVE")
        with pytest.raises(StoreError, match=r"can't be opened \(database is locked\)") as caught:
            damage_of(path)
    assert caught.value.remedy == "Close the program that holds it."
    assert damage_of(path) == ""
