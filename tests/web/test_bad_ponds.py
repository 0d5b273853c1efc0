"""Ponds as nobody should bring them, on the pages: what is wrong and what would be right, and nothing lost."""

from __future__ import annotations

import html
import re

import pytest
from tests.bad_ponds import BRINGING, IN_FOLDER
from tests.cli.conftest import TEN_ANSWERS
from tests.files.bring.made import LAT, LON
from tests.web.conftest import Browser

from plumeline.store import Folder, open_store, write_zip

TEN = TEN_ANSWERS.replace("35.8652, -79.5631", f"{LAT}, {LON}")


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """One server for all files; each pond is a new one."""
    store = open_store(tmp_path_factory.mktemp("bad") / "plumeline.sqlite3")
    yield Browser(store)
    store.close()


def pond_of(place, name, files):
    """Bring a folder in and return the id of its pond."""
    before = {row.id for row in place.store.ponds.rows()}
    answer = place.bring_in(write_zip(Folder("pond", files)), f"{name}.zip")
    assert answer.status_code == 303, answer.text
    return next(row.id for row in place.store.ponds.rows() if row.id not in before)


def words_of(page):
    # numbers are links: the words are what stands between the tags
    return " ".join(html.unescape(re.sub(r"<[^>]*>", "", page.text)).split())


@pytest.mark.parametrize("name", BRINGING, ids=str)
def test_a_file_is_taken_or_refused_in_words_and_the_old_revision_stays(place, name):
    """Shown with its words; taken as the next revision only where that can be, and the first is there still."""
    bad = BRINGING[name]
    pond = pond_of(place, "bring", {"job.toml": TEN.encode()})
    sent = place.post(f"/ponds/{pond}/bring", files={"file": (bad.name, bad.data(), "")})
    page = place.get(sent.headers["location"]) if sent.status_code == 303 else sent
    said = words_of(page)
    for words in bad.said:
        assert words in said
    assert not any(sign in said for sign in ("Traceback", "/tmp/", "--crs", "--columns", "--pond"))
    assert page.status_code in (200, 422)
    if sent.status_code != 303:
        assert not bad.taken
    key = sent.headers.get("location", "file=").split("file=")[1]
    done = place.post(f"/ponds/{pond}/bring/take", {"file": key, "number": "1", "author": "Ada"})
    assert done.status_code == (303 if bad.taken else 422)
    assert place.store.ponds.revision(pond).number == (2 if bad.taken else 1)
    assert place.store.ponds.folder(pond, 1).files["job.toml"] == TEN.encode()
    if bad.corner_count:
        assert len(place.store.ponds.revision(pond).job.pond.outline[0]) == bad.corner_count


@pytest.mark.parametrize("name", IN_FOLDER, ids=str)
def test_a_pond_that_its_job_does_not_fit_is_said_on_its_page(place, name):
    """A notice with the way out where the rest can be worked out, else a refusal as 422."""
    asked = IN_FOLDER[name]
    pond = pond_of(place, "fit", {"job.toml": (TEN + asked.more).encode(), **asked.files})
    page = place.get(f"/ponds/{pond}/{asked.stage}")
    assert page.status_code == (422 if asked.refused else 200)
    for words in asked.said:
        assert words in words_of(page)
