"""What the doctor says of what is missing, old, spoilt or full, and the way out of each."""

from __future__ import annotations

import os
import sqlite3
from collections import namedtuple
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest
from tests.capture_items import item, jpeg, named, sha, text
from tests.store.test_capture_tables import at_step

from plumeline.cli import main
from plumeline.store import doctor
from plumeline.store.backups import write_backup
from plumeline.store.doctor import examine
from plumeline.store.photo_files import named_in, place_of

Usage = namedtuple("Usage", "total used free")
NOW = datetime(2026, 8, 12, tzinfo=UTC)


@pytest.fixture
def saved(store, oak, path):
    """A database with a pond, closed."""
    store.ponds.add(oak, author="", reason="")
    store.close()
    return path


def told(path, what, now=NOW):
    """Return the one finding of a kind."""
    (found,) = (one for one in examine(path, now=now).findings if one.what == what)
    return found


def test_where_nothing_was_begun_nothing_is_wrong(tmp_path):
    """No file and no backup: serve makes one. A file that was cut to nothing is a loss."""
    path = tmp_path / "plumeline.sqlite3"
    found = told(path, "file")
    assert (found.words, found.well) == ("not there", True)
    assert found.remedy.startswith("plumeline serve makes one. If ponds should be here, it is another file")
    assert told(path, "backups").words == "none yet"
    assert told(path, "backups").well
    path.touch()
    found = told(path, "file")
    assert (found.words, found.well, found.remedy) == ("empty", False, "Copy the file away first.")


def bars(path):
    """Return the words and the way out of the first thing that is told, held to be wrong."""
    first = examine(path, now=NOW).findings[0]
    assert not first.well
    return first.words, first.remedy


def test_a_path_where_no_database_can_stand_is_told_with_what_would_be_right(tmp_path, monkeypatch):
    """Below a file, near and far; a folder; a file of something else; no right to write (by a stand-in)."""
    (tmp_path / "notes.txt").write_text("of somebody")
    for below in ("ponds.sqlite3", "deep/ponds.sqlite3"):
        words, remedy = bars(tmp_path / "notes.txt" / below)
        assert words == f"nothing can stand below '{tmp_path / 'notes.txt'}': that is a file"
        assert remedy == "Name a file in a folder that is there or can be made: --database FILE."
    words, remedy = bars(tmp_path)
    assert words == "a folder, not a file"
    assert remedy == f"Name the file in it: --database {tmp_path / 'plumeline.sqlite3'}"
    words, remedy = bars(tmp_path / "notes.txt")
    assert words == "no database: the file does not begin as one of SQLite does"
    assert "--database FILE" in remedy
    assert (tmp_path / "notes.txt").read_text() == "of somebody"
    path = tmp_path / "new" / "ponds.sqlite3"
    monkeypatch.setattr(os, "access", lambda place, _: place != tmp_path)
    words, remedy = bars(path)
    assert (
        words
        == f"who runs this may not write in the folder '{tmp_path}', and the rest of the way is not there"
    )
    assert remedy.startswith("Give that user the right to write there. Or: Name a file")


def test_a_database_that_may_not_be_written_is_told(saved, monkeypatch):
    """Its folder may be: the rights of the file alone are wanting."""
    monkeypatch.setattr(os, "access", lambda place, _: place != saved)
    assert bars(saved) == (
        "who runs this may not read and write it",
        "Give that user the right to read and write it.",
    )


def test_a_folder_that_can_be_made_bars_nothing(tmp_path):
    """serve makes both; who mistyped the name is told that it may be another."""
    found = told(tmp_path / "new" / "ponds.sqlite3", "file")
    assert (found.words, found.well) == ("not there, and neither is its folder", True)
    assert "plumeline serve makes one" in found.remedy
    assert not (tmp_path / "new").exists()


def test_the_shell_says_which_it_is(tmp_path, saved, capsys):
    """Exit code 1 below a file; 0 where nothing was begun, without calling that well; 0 and well for a database."""
    (tmp_path / "notes.txt").write_text("of somebody")
    for path, code, last in (
        (tmp_path / "notes.txt" / "p.sqlite3", 1, "Something is wrong."),
        (tmp_path / "new" / "p.sqlite3", 0, "Nothing is wrong; no database is there yet."),
        (saved, 0, "All is well."),
    ):
        assert main(["doctor", "--database", str(path)]) == code
        assert capsys.readouterr().out.splitlines()[-1] == last


def test_a_lost_database_is_brought_back_by_name(saved):
    """The command with the last good backup and the place."""
    made = write_backup(saved, now=NOW)
    saved.unlink()
    found = told(saved, "file")
    assert (found.words, found.well) == ("not there", False)
    assert found.remedy == f"Bring it back: plumeline restore {made.path} --database {saved}"


def test_spoilt_backups_are_named_and_the_good_one_before_them(saved):
    """The newest of two is spoilt: put that aside. Both: none of them is good, and both are to go."""
    good = write_backup(saved, now=NOW)
    bad = write_backup(saved, now=NOW + timedelta(hours=1))
    bad.path.write_bytes(b"spoilt")
    found = told(saved, "backups", NOW + timedelta(hours=2))
    assert not found.well
    assert found.words == f"2, the last good one is 2 hours old: {good.path}"
    assert found.remedy == f"Put these aside, they do not read back: {bad.path}"
    good.path.write_bytes(b"spoilt")
    found = told(saved, "backups")
    assert (found.well, found.words) == (False, "2, none of them good")
    assert found.remedy.endswith(f"{bad.path}, {good.path}")


def test_five_lost_photos_are_named_at_most(store, path):
    """Six are gone: the count says so, and the line stays one that can be read."""
    photos = [jpeg(number * 40) for number in range(6)]
    store.captures.receive(text(item("photo", photos=[named(data) for data in photos])))
    for data in photos:
        store.photos.put_whole(sha(data), data)
    assert told(path, "photos").words == "6, each file is what it was"
    for name in named_in(path):
        place_of(path.parent / "photos", name).unlink()
    found = told(path, "photos")
    assert (found.well, found.words) == (False, "6 of 6 files are gone or damaged")
    assert found.remedy.count(", ") == 4


@pytest.mark.parametrize(
    ("step", "well", "words"),
    [("0003", True, "older (step 0003)"), ("9999", False, "of a newer version (step 9999)")],
)
def test_tables_of_another_version_are_told(step, well, words, path):
    """Older ones are brought up by serve; newer ones need that version."""
    at_step(path, "0003")
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("UPDATE alembic_version SET version_num = ?", (step,))
    found = told(path, "tables")
    assert (found.well, found.words) == (well, words)
    assert ("plumeline serve" in found.remedy) is well


@pytest.mark.parametrize(("free_mb", "well"), [(499, False), (500, True)])
def test_room_for_the_next_backup_is_looked_for(free_mb, well, saved, monkeypatch):
    """500 MB at least for a small database, three times its size for a large one."""
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: Usage(0, 0, free_mb << 20))
    found = told(saved, "room on the disk")
    assert (found.well, found.words) == (well, f"{free_mb} MB free")
    assert found.remedy == ("" if well else "Make room: 500 MB are wanted for the next backup.")


def test_a_large_database_wants_three_times_its_size(tmp_path, monkeypatch):
    """A backup and the old file beside the new one; said of a file that is no database, too."""
    path = tmp_path / "plumeline.sqlite3"
    path.touch()
    os.truncate(path, 200 << 20)
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: Usage(0, 0, 599 << 20))
    assert "600 MB are wanted" in told(path, "room on the disk").remedy
    assert not told(path, "pages").well


def test_a_journal_that_is_not_the_right_one_is_told(saved, monkeypatch):
    """Where something else holds the file in the other journal; the right one is said to be right."""
    found = told(saved, "journal")
    assert (found.well, found.remedy) == (True, "")
    assert found.words.endswith("is right")
    monkeypatch.setattr(doctor, "journal_for", lambda _: "memory")
    found = told(saved, "journal")
    assert not found.well
    assert "every commit reaches the disk" in found.words
    assert "right" not in found.words
    assert found.remedy == "It should be memory: close what else holds the file."


def test_a_place_is_told_with_the_way_out_only_where_it_is_wrong(saved, monkeypatch):
    """On a disk of this machine nothing is to be done; elsewhere the folder is to be moved."""
    found = told(saved, "place")
    assert (found.words, found.well, found.remedy) == ("a disk of this machine", True, "")
    monkeypatch.setattr(doctor, "what_is_wrong", lambda _: "the folder is on a network drive (nfs)")
    found = told(saved, "place")
    assert (found.words, found.well) == ("the folder is on a network drive (nfs)", False)
    assert found.remedy.endswith("--database FILE.")


def test_a_database_of_before_there_were_files_holds_none(path):
    """Its contents can't be other than saved."""
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("CREATE TABLE alembic_version (version_num TEXT)")
    assert told(path, "contents").words == "none yet"
