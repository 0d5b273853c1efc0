"""Taking another number of diffusers changes their own lines of job.toml; comments and every other line stay."""

from __future__ import annotations

import tomllib

import pytest

from plumeline.demo import demo_folder
from plumeline.files.listed_diffusers import with_diffuser_names

DEMO = (demo_folder() / "job.toml").read_bytes()
BARE = b'# a pond\nname = "x"  # its name\n\n[air]\nslack = "8 %"\n'


def names(data):
    return [item["name"] for item in tomllib.loads(data.decode())["air"].get("diffusers", [])]


def without(data):
    """Return what a file says besides its diffusers."""
    found = tomllib.loads(data.decode())
    found["air"].pop("diffusers", None)
    return found


def comments(data):
    return [line.split("#", 1)[1] for line in data.decode().splitlines() if "#" in line]


@pytest.mark.parametrize(
    "data", [DEMO, DEMO.replace(b"\n", b"\r\n"), BARE], ids=["demo", "crlf", "none listed"]
)
@pytest.mark.parametrize(
    ("kept", "new"),
    [((), ("D1",)), ((), ("D1", "D2", "D3", "D4")), (("A", "B", "C"), ("D1", "D2")), (("A", "C"), ())],
)
def test_comments_and_other_lines_stay(data, kept, new):
    """By Python's own reader of TOML: the names are those wanted, everything else is as it was, no comment is lost."""
    kept = tuple(name for name in kept if name in names(data))
    found = with_diffuser_names(data, kept, new)
    assert names(found) == [*kept, *new]
    assert without(found) == without(data)
    assert comments(found) == comments(data)
    assert found.count(b"\r\n") == (found.count(b"\n") if b"\r\n" in data else 0)


def test_a_line_of_comment_inside_a_diffuser_that_goes_stays_and_more_come_behind_the_last():
    """Comments above, inside and behind; the table after the diffusers is the same."""
    data = BARE + (
        b'\n# the deep one\n[[air.diffusers]]\n# moved in May\nname = "A"\n'
        b"place = { x_m = 1.0, y_m = 2.0 }  # by hand\n"
        b"\n# what is wanted\n[wishes]\nturnover_per_day = 1.0\n"
    )
    fewer = with_diffuser_names(data, (), ("D1",)).decode()
    for words in ("# the deep one", "# moved in May", "# what is wanted"):
        assert words in fewer
    more = with_diffuser_names(data, ("A",), ("D1",)).decode()
    assert more.replace('\n\n[[air.diffusers]]\nname = "D1"', "", 1).encode() == data


def test_what_is_no_text_is_left_to_the_caller():
    """None, and no guess."""
    assert with_diffuser_names(b"\xff\xfe", (), ("D1",)) is None
