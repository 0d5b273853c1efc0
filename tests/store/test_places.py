"""Places where a database would come to harm are refused with the reason."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from plumeline.store import open_store, places
from plumeline.store.backups import restore, write_backup
from plumeline.store.doctor import examine
from plumeline.store.errors import StoreError
from plumeline.store.locks import held

MOUNTS = (
    "/dev/vda / ext4 rw 0 0\n"
    "proc /proc proc rw 0 0\n"
    "box:/ponds /srv/the\\040office nfs4 rw 0 0\n"
    "/dev/vdb /srv/the\\040office/disk ext4 rw 0 0\n"
    "someone@box: /home/a/box fuse.sshfs rw 0 0\n"
)


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/a", ""), ("/srv/the office", "nfs4"), ("/srv/the office/ponds", "nfs4"), ("/srv/the office/disk/x", ""),
        ("/home/a/box/deep/er", "fuse.sshfs"), ("/home/a/boxes", ""),
    ],
)  # fmt: skip
def test_the_kind_of_the_drive_is_that_of_the_nearest_mount(folder, kind):
    """As in /proc/mounts, blanks written \\040."""
    assert places.network_kind(Path(folder), MOUNTS) == kind


@pytest.mark.parametrize("marks", [[".sync_0a1b2c.db"], [".stfolder"], ["._sync_77ab.db-wal", "._sync_77ab.db"],
                                   [".somesync.log"], [".thing", ".thing.cache"]])  # fmt: skip
def test_a_synchronised_folder_is_refused_below_its_top_too(marks, tmp_path):
    """Nothing is made there."""
    for name in marks:
        (tmp_path / name).touch()
    path = tmp_path / "ponds" / "plumeline.sqlite3"
    with pytest.raises(StoreError, match=r"keeps .* alike on several machines.*--database FILE"):
        open_store(path)
    assert not path.parent.exists()
    assert [item.words for item in examine(path).findings if item.what == "place" and not item.well]


@pytest.mark.parametrize(
    "marks", [[".cache"], [".rsync.log"], [".rsync-filter"], [".config", ".thing.cache"], ["sync.log"]]
)
def test_an_ordinary_home_is_no_synchronised_folder(marks, tmp_path):
    """Hidden names that mean nothing."""
    for name in marks:
        (tmp_path / name).touch()
    assert places.what_is_wrong(tmp_path / "plumeline.sqlite3") == ""


def test_a_database_on_a_network_drive_is_refused_but_can_still_be_saved_from_there(
    monkeypatch, store, oak, path, tmp_path
):
    """The reason is said; a backup of it to elsewhere is written."""
    store.ponds.add(oak, author="", reason="")
    store.close()
    table = tmp_path / "mounts"
    table.write_text(f"/dev/vda / ext4 rw 0 0\nbox:/x {path.parent} nfs4 rw 0 0\n")
    monkeypatch.setattr(places, "MOUNTS", table)
    with pytest.raises(StoreError, match="network drive"):
        open_store(path)
    made = write_backup(path, tmp_path / "saved.sqlite3", now=datetime(2026, 8, 12, tzinfo=UTC))
    assert made.rows["pond"] == 1


def test_a_new_database_and_its_folder_are_its_owner_s_alone(tmp_path):
    """Readings and passwords of the house: nobody else on the machine may look (POSIX modes 0700 and 0600)."""
    path = tmp_path / "home" / "plumeline.sqlite3"
    open_store(path).close()
    assert path.parent.stat().st_mode & 0o777 == 0o700
    assert path.stat().st_mode & 0o777 == 0o600


def test_where_a_mac_keeps_folders_alike_is_refused(tmp_path):
    """Below Library, the two folders of the system's own (Apple's names, from memory); another Library is none."""
    for name in ("CloudStorage", "Mobile Documents"):
        (tmp_path / "Library" / name / "house").mkdir(parents=True)
        assert places.synchronised(tmp_path / "Library" / name / "house") == tmp_path / "Library" / name
    (tmp_path / "Books" / "CloudStorage").mkdir(parents=True)
    assert places.synchronised(tmp_path / "Books" / "CloudStorage") is None


def test_a_table_of_mounts_with_a_broken_line_is_read_on():
    """A line of fewer than three words says nothing."""
    assert places.network_kind(Path("/srv/x"), "half\n\nbox:/x /srv/x nfs rw 0 0\n") == "nfs"


@pytest.mark.parametrize("below", ["ponds.sqlite3", "deep/ponds.sqlite3"])
def test_a_place_below_a_file_is_refused_in_words(below, tmp_path):
    """By restore, backup, a new database and the lock alike: what is wrong, where, and what would be right."""
    good = tmp_path / "good" / "ponds.sqlite3"
    open_store(good).close()
    now = datetime(2026, 8, 11, tzinfo=UTC)
    made = write_backup(good, now=now)
    (tmp_path / "notes").write_text("of somebody")
    there = tmp_path / "notes" / below

    def lock():
        with held(there, "serve"):
            pytest.fail("held")

    for option, work in (
        ("--database FILE", lambda: restore(made.path, there, now=now)),
        ("--out FILE", lambda: write_backup(good, there, now=now)),
        ("--database FILE", lambda: open_store(there)),
        ("--database FILE", lock),
    ):
        with pytest.raises(StoreError) as refused:
            work()
        assert f"nothing can stand below '{tmp_path / 'notes'}': that is a file." in str(refused.value)
        assert str(refused.value).startswith(str(there))
        assert option in str(refused.value)
    assert (tmp_path / "notes").read_text() == "of somebody"


def test_a_folder_that_cannot_be_made_is_told_with_its_reason(tmp_path, monkeypatch):
    """The system's reason stands in brackets behind what it means."""

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "mkdir", full)
    with pytest.raises(StoreError, match=r"the folder '.*new' can't be made \(No space left on device\)\."):
        places.make_folder_of(tmp_path / "new" / "ponds.sqlite3", "--database")


def test_a_mac_has_no_table_of_mounts_to_be_read(monkeypatch, tmp_path):
    """The table of another system is not asked there."""
    table = tmp_path / "mounts"
    table.write_text(f"box:/x {tmp_path} nfs4 rw 0 0\n")
    monkeypatch.setattr(places, "MOUNTS", table)
    assert "network drive" in places.what_is_wrong(tmp_path / "plumeline.sqlite3")
    monkeypatch.setattr(places.sys, "platform", "darwin")
    assert places.what_is_wrong(tmp_path / "plumeline.sqlite3") == ""
