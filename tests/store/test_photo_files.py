"""Photos stand in files: in every backup, back at a restore, looked through by the doctor."""

from __future__ import annotations

import hashlib
import os
import shutil
from datetime import UTC, datetime, timedelta

import pytest
from tests.capture_items import item, jpeg, named, parts, sha, text

from plumeline.errors import InputError
from plumeline.files.pictures import written_anew
from plumeline.store import open_store
from plumeline.store.backups import restore, write_backup
from plumeline.store.doctor import examine
from plumeline.store.errors import NotThereError, ReadOnlyError
from plumeline.store.photo_files import keep_file, named_in, place_of, sound
from plumeline.store.photos import PhotoSizeError

NOW = datetime(2026, 8, 12, tzinfo=UTC)


@pytest.fixture
def photos(store):
    """Three photos of an item, held."""
    found = [jpeg(number) for number in (0, 80, 160)]
    store.captures.receive(text(item("photo", photos=[named(data) for data in found])))
    for data in found:
        assert store.photos.put_whole(sha(data), data).held
    return found


def test_a_backup_has_its_photos_once_and_a_restore_brings_them_back(store, photos, path, tmp_path):
    """Two backups share one folder of photos; after the loss of all, the item is held again with each photo."""
    elsewhere = tmp_path / "usb"
    shown = [store.photos.picture(sha(data)) for data in photos]
    for count, now in enumerate((NOW, NOW.replace(day=13))):
        made = write_backup(path, elsewhere / f"{count}.sqlite3", now=now)
        assert (made.photos.count, made.photos.lost) == (3, ())
        assert made.rows["capture_item"] == 1
    assert len(list((elsewhere / "photos").rglob("*.jpg"))) == 3
    store.close()
    shutil.rmtree(path.parent)
    done = restore(elsewhere / "1.sqlite3", path, now=NOW)
    assert (done.photos.count, done.photos.lost) == (3, ())
    again = open_store(path)
    try:
        assert [again.photos.picture(sha(data)) for data in photos] == shown
        assert again.captures.receipts([item("photo")["id"]])[0].held
    finally:
        again.close()


def test_a_photo_that_is_damaged_is_never_shown_and_is_found(store, photos, path, tmp_path):
    """One changed byte: refused, told by the doctor and by the backup, mended by a restore."""
    write_backup(path, now=datetime.now(UTC))
    assert examine(path).well
    place = place_of(path.parent / "photos", named_in(path)[0])
    data = bytearray(place.read_bytes())
    data[len(data) // 2] ^= 1
    place.write_bytes(data)
    spoilt = next(one for one in photos if store.photos.path_of(_kept(one)) == place)
    with pytest.raises(NotThereError, match="damaged"):
        store.photos.picture(sha(spoilt))
    found = next(one for one in examine(path).findings if one.what == "photos")
    assert (found.well, found.words) == (False, "1 of 3 files are gone or damaged")
    made = write_backup(path, tmp_path / "usb" / "later.sqlite3", now=NOW)
    assert made.photos.lost == (place.stem,)
    place.unlink()
    store.close()
    restore(next((path.parent / "backups").glob("*.sqlite3")), path, now=NOW)
    assert next(one for one in examine(path).findings if one.what == "photos").well


def _kept(data):
    return hashlib.sha256(written_anew(data).data).hexdigest()


def test_a_backup_of_before_there_were_photos_is_still_good(path, tmp_path):
    """A database without the tables of field capture names no photo."""
    import sqlite3

    old = tmp_path / "old.sqlite3"
    with sqlite3.connect(old) as link:
        link.execute("CREATE TABLE pond (id TEXT)")
    link.close()
    assert named_in(old) == ()


def test_a_file_is_there_whole_or_not_at_all(tmp_path, monkeypatch):
    """A full disk in the middle leaves nothing behind, and no half of a photo."""
    path = tmp_path / "photos" / "ab" / "abc.jpg"

    def full(_handle):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space"):
            keep_file(path, b"x" * 1000)
    assert list(path.parent.iterdir()) == []
    keep_file(path, b"x" * 1000)
    keep_file(path, b"x" * 1000)
    assert [one.name for one in path.parent.iterdir()] == ["abc.jpg"]


def test_a_full_disk_is_told_and_the_parts_stay_for_the_next_try(store, monkeypatch):
    """503 in words: the photo is not held, and is once there is room."""
    from plumeline.store.errors import StoreError

    data = jpeg(5)

    def full(_path, _data):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("plumeline.store.photos.keep_file", full)
        with pytest.raises(StoreError, match="Make room"):
            store.photos.put_part(sha(data), 0, len(data), data)
    assert store.photos.status(sha(data)).held


def test_what_a_crash_cut_off_and_what_was_given_up_is_taken_away(store, clock):
    """A half-written file goes at the next start, parts after 60 days; young parts and whole photos stay."""
    whole, half = jpeg(1), jpeg(2, (1200, 900), noise=True)
    store.photos.put_whole(sha(whole), whole)
    left = store.photos.folder / "ab" / ".abc.jpg.0123.part"
    left.parent.mkdir()
    left.write_bytes(b"half")
    store.photos.put_part(sha(half), 0, len(half), half[:524288])
    store.photos.tidy()
    assert not left.exists()
    assert store.photos.status(sha(half)).have == (0,)
    clock.time += timedelta(days=61)
    store.photos.tidy()
    assert store.photos.status(sha(half)).have == ()
    assert store.photos.picture(sha(whole))


def test_a_file_cut_to_nothing_is_not_sound_at_a_short_look(tmp_path):
    """The short look asks for one byte, the long one for the right ones; a file that is gone is neither."""
    name = hashlib.sha256(b"").hexdigest()
    place = place_of(tmp_path, name)
    place.parent.mkdir(parents=True)
    place.write_bytes(b"")
    assert sound(tmp_path, name)
    assert not sound(tmp_path, name, whole=False)
    place.write_bytes(b"x")
    assert sound(tmp_path, name, whole=False)
    assert not sound(tmp_path, name)
    assert not sound(tmp_path, "0" * 64, whole=False)


def test_of_a_photo_in_three_parts_those_that_came_are_told(store):
    """Out of order, one twice: what is missing can be sent alone, and the last makes it whole."""
    data = jpeg(7, (1200, 900), noise=True)
    pieces = dict(parts(data))
    assert len(pieces) == 3
    for number, have in ((2, (2,)), (0, (0, 2)), (2, (0, 2))):
        assert store.photos.put_part(sha(data), number, len(data), pieces[number]).have == have
        assert store.photos.status(sha(data)).have == have
    for number in (-1, 3):
        with pytest.raises(InputError, match=f"parts 0 to 2; {number} is none"):
            store.photos.put_part(sha(data), number, len(data), pieces[2])
    with pytest.raises(InputError, match="524288 bytes; 5 came"):
        store.photos.put_part(sha(data), 1, len(data), b"short")
    assert store.photos.status(sha(data)).have == (0, 2)
    assert store.photos.put_part(sha(data), 1, len(data), pieces[1]).held
    assert store.photos.status(sha(data)).held


def test_a_photo_beyond_the_limit_is_refused_whole(store, monkeypatch):
    """At the limit it is taken, a byte more is not, and nothing of it is kept."""
    data = jpeg(3)
    monkeypatch.setattr("plumeline.store.photos.MOST_PHOTO_BYTES", len(data) - 1)
    with pytest.raises(PhotoSizeError):
        store.photos.put_whole(sha(data), data)
    assert not store.photos.status(sha(data)).held
    monkeypatch.setattr("plumeline.store.photos.MOST_PHOTO_BYTES", len(data))
    assert store.photos.put_whole(sha(data), data).held


def test_where_the_database_is_for_reading_only_no_photo_is_kept_and_none_taken_away(store, clock):
    """A part that was given up long ago stays: nothing is written to a damaged database."""
    half = jpeg(2, (1200, 900), noise=True)
    store.photos.put_part(sha(half), 0, len(half), half[:524288])
    clock.time += timedelta(days=61)
    store.database.read_only = True
    try:
        with pytest.raises(ReadOnlyError, match="nothing was saved"):
            store.photos._to_disk(written_anew(jpeg(1)))
        assert not any(store.photos.folder.rglob("*.jpg"))
        store.photos.tidy()
        assert store.photos.status(sha(half)).have == (0,)
    finally:
        store.database.read_only = False
