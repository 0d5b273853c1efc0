"""Zips that nobody trusts: paths that lead out, links, bombs, damage."""

from __future__ import annotations

import io
import stat
import zipfile

import pytest

from plumeline.errors import InputError
from plumeline.store import folder as folders
from plumeline.store import read_folder, read_zip, write_zip
from plumeline.store.folder import Folder, check_path


def packed(*items, **more):
    """Return a zip of (name or ZipInfo, content) pairs."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, **more) as found:
        for name, data in items:
            found.writestr(name, data)
    return stream.getvalue()


@pytest.mark.parametrize(
    "path",
    [
        "../job.toml", "a/../../b", "/etc/passwd", "a//b", "", ".", "a/.", "C:\\x", "c:x", "a\\b", "nul", "COM1.txt",
        "a\0b", "a\nb", "x" * 201, "a /b", "a.", "‮gpj.exe",
    ],
)  # fmt: skip
def test_a_path_that_leads_out_or_opens_nowhere_is_refused(path):
    """Up, absolute, of a drive, of a device, with marks that no file has."""
    with pytest.raises(InputError, match="no path"):
        check_path(path)


@pytest.mark.parametrize("path", ["job.toml", "photos/day one.jpg", "Fotos/Größe ½.png", ".note", "a.b.c"])
def test_a_plain_path_is_taken(path):
    """Letters of any language, blanks within, folders in folders."""
    assert check_path(path) == path


@pytest.mark.parametrize("name", ["../job.toml", "/job.toml", "a\\..\\job.toml", "x/../../job.toml"])
def test_a_zip_can_not_write_outside(name):
    """The path as it stands in the zip is judged, not what Python makes of it."""
    with pytest.raises(InputError, match="no path"):
        read_zip(packed(("job.toml", b""), (name, b"x")))


def test_a_bomb_is_stopped_by_what_comes_out_and_not_by_what_it_says(monkeypatch):
    """A header that claims 10 bytes does not get more past the limit."""
    monkeypatch.setattr(folders, "MOST_BYTES", 100_000)
    data = bytearray(packed(("job.toml", b"0" * 1_000_000)))
    with pytest.raises(InputError, match="larger than"):
        read_zip(bytes(data))
    at = data.rindex(b"PK\x01\x02")
    data[at + 24 : at + 28] = (10).to_bytes(4, "little")
    with pytest.raises(InputError, match=r"larger than|damaged|no zip"):
        read_zip(bytes(data))


def test_too_many_files_are_refused():
    """501 files are more than a pond's folder needs."""
    with pytest.raises(InputError, match="501 files"):
        read_zip(packed(*((f"f{n}", b"") for n in range(501))))


def test_a_link_in_a_zip_is_refused():
    """It could point anywhere."""
    link = zipfile.ZipInfo("job.toml")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with pytest.raises(InputError, match="link"):
        read_zip(packed((link, b"/etc/passwd")))


def test_names_that_are_one_file_elsewhere_are_refused():
    """Job.toml beside job.toml, and a file that is a folder too."""
    with pytest.raises(InputError, match="one file on some computers"):
        read_zip(packed(("job.toml", b"1"), ("Job.toml", b"2")))
    with pytest.raises(InputError, match="a file and a folder"):
        read_zip(packed(("job.toml", b"1"), ("a", b"2"), ("a/b", b"3")))


@pytest.mark.parametrize(
    "data",
    [b"", b"PK", b"not a zip at all", packed(("job.toml", b"x" * 999))[:-30]],
    ids=["nothing", "its first letters", "words", "cut short"],  # the time of day stands in a zip's bytes
)
def test_what_is_no_zip_is_said_to_be_none(data):
    """Nothing, a beginning, a text, a zip cut short."""
    with pytest.raises(InputError, match="no zip file"):
        read_zip(data)


def test_a_damaged_file_in_a_zip_is_found():
    """One byte of the content is turned; its checksum tells."""
    data = bytearray(packed((zipfile.ZipInfo("job.toml"), b"abcdefgh" * 50)))
    data[60] ^= 255
    with pytest.raises(InputError, match=r"no zip|damaged"):
        read_zip(bytes(data))


def test_a_zip_without_a_job_says_so():
    """The one file that a job folder must hold."""
    with pytest.raises(InputError, match=r"no job\.toml"):
        read_zip(packed(("readme.txt", b"hi")))


def test_the_folder_around_and_what_computers_add_are_left_off():
    """With or without a folder around it, the files are the same."""
    inner = {"job.toml": b"1", "photos/a.jpg": b"2"}
    assert read_zip(packed(*inner.items()), "my pond.zip") == Folder("my pond", inner)
    around = [(f"oak/{name}", data) for name, data in inner.items()]
    assert read_zip(
        packed(*around, ("__MACOSX/oak/._job.toml", b"junk"), ("oak/.DS_Store", b"junk"))
    ) == Folder("oak", inner)


def test_the_same_folder_gives_the_same_zip():
    """No clock goes into it."""
    assert write_zip(Folder("a", {"b": b"1", "a": b"2"})) == write_zip(Folder("a", {"a": b"2", "b": b"1"}))


def test_a_link_in_a_directory_is_refused(tmp_path):
    """What lies outside is not read."""
    (tmp_path / "job.toml").write_text("")
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "secret").symlink_to("/etc/hostname")
    with pytest.raises(InputError, match="link"):
        read_folder(tmp_path)


def test_a_zip_says_the_earliest_time_that_a_zip_can_say():
    """1980-01-01 00:00, where the dates of MS-DOS begin that the format uses (PKWARE APPNOTE 4.4.6)."""
    with zipfile.ZipFile(io.BytesIO(write_zip(Folder("a", {"b": b"1"})))) as found:
        assert [item.date_time for item in found.infolist()] == [(1980, 1, 1, 0, 0, 0)]


@pytest.mark.parametrize("name", ["ponds/may/oak.zip", "C:\\ponds\\may\\oak.zip", "oak.zip", "oak"])
def test_a_folder_without_a_name_takes_that_of_its_zip_wherever_it_lay(name):
    """A browser may send the path of the file, with either slash."""
    assert read_zip(packed(("job.toml", b"1")), name).name == "oak"


def test_the_largest_zip_is_64_mebibytes():
    """At the limit it is looked into, a byte more is refused before, with the limit in words."""
    with pytest.raises(InputError, match="no zip file"):
        read_zip(bytes(64 * 2**20))
    with pytest.raises(InputError, match="larger than 64 MB"):
        read_zip(bytes(64 * 2**20 + 1))


def test_a_zip_that_holds_a_file_twice_is_refused():
    """Which of the two was meant nobody knows."""
    with pytest.warns(UserWarning, match="Duplicate name"):
        data = packed(("job.toml", b"1"), ("job.toml", b"2"))
    with pytest.raises(InputError, match="in the zip twice"):
        read_zip(data)


def test_a_zip_behind_a_password_is_refused():
    """Bit 0 of the flags says that a file is encrypted (PKWARE APPNOTE 4.4.4)."""
    data = bytearray(packed((zipfile.ZipInfo("job.toml"), b"1")))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(InputError, match="password"):
        read_zip(bytes(data))


def test_too_many_files_and_too_large_ones_are_refused(tmp_path, monkeypatch):
    """Of a folder and of files by themselves, at the limit and beyond it."""
    monkeypatch.setattr(folders, "MOST_FILES", 2)
    monkeypatch.setattr(folders, "MOST_BYTES", 10)
    files = {"a": b"12345", "b": b"67890"}
    assert folders.checked(files) == files
    with pytest.raises(InputError, match="3 files are more than the 2"):
        folders.checked({**files, "c": b""})
    with pytest.raises(InputError, match="larger than"):
        folders.checked({**files, "b": b"678901"})
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    assert read_folder(tmp_path).files == files
    (tmp_path / "b").write_bytes(b"678901")
    with pytest.raises(InputError, match="larger than"):
        read_folder(tmp_path)
    with pytest.raises(InputError, match="not a folder"):
        read_folder(tmp_path / "b")
