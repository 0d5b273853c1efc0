"""Soundings left out, put back from the survey's page and left out again, without a script."""

from __future__ import annotations

import io
import json
import re
import zipfile

import pytest
from tests.web.conftest import Browser

from plumeline.demo import demo_folder
from plumeline.store import read_folder, write_zip
from plumeline.web.shore import saved_sketch

WILD_FT = 80.0


def wild_zip():
    """Return the demo pond with one sounding that is ten times its neighbours, and the row it stands in."""
    folder = read_folder(demo_folder())
    lines = folder.files["soundings.csv"].decode().splitlines()
    heads = next(n for n, line in enumerate(lines) if not line.startswith("#"))
    row = heads + 12
    cells = lines[row].split(",")
    column = next(n for n, head in enumerate(lines[heads].split(",")) if head.strip().startswith("depth"))
    cells[column] = f"{WILD_FT:.1f}"
    lines[row] = ",".join(cells)
    folder.files["soundings.csv"] = ("\n".join(lines) + "\n").encode()
    return write_zip(folder), row + 1


@pytest.fixture
def wild(browser: Browser):
    data, row = wild_zip()
    browser.bring_in(data)
    return browser, browser.store.ponds.rows()[0].id, row


def rows_left_out(browser, pond):
    survey = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]
    return [item["row"] for item in survey["left_out"]]


def post(browser, pond, **fields):
    number = browser.store.ponds.revision(pond).number
    return browser.post(f"/ponds/{pond}/survey/rows", {"number": str(number), "author": "crew", **fields})


def test_the_plan_shows_what_was_left_out_and_leads_to_its_button(wild):
    """One cross for the one wild sounding, a link to its line in the list; numbered marks for the next places.

    The drawing stands there twice, for a page and for a phone; one of them is shown.
    """
    browser, pond, row = wild
    page = browser.get(f"/ponds/{pond}/survey").text
    assert rows_left_out(browser, pond) == [row]
    assert re.findall(r'<a href="#(left-out-\d+)"', page) == 2 * [f"left-out-{row}"]
    assert f'<li id="left-out-{row}">' in page
    survey = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]
    drawing = page.split('<figure class="soundings">')[1].split("</figure>")[0]
    assert drawing.count(">about ") == 2 * len(survey["next_soundings"]) > 0


def test_a_sounding_is_put_back_and_left_out_again(wild):
    """Each tap is a revision; only the line of the rows changes in the file; the volume goes there and back."""
    browser, pond, row = wild
    before = zipfile.ZipFile(io.BytesIO(browser.get(f"/ponds/{pond}/folder.zip").content))
    name = next(name for name in before.namelist() if name.endswith("job.toml"))
    old = before.read(name).decode().splitlines()
    volume = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]["volume_m3"]
    assert post(browser, pond, back=str(row)).status_code == 303
    assert rows_left_out(browser, pond) == []
    there = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]["volume_m3"]
    assert there > 1.02 * volume
    after = zipfile.ZipFile(io.BytesIO(browser.get(f"/ponds/{pond}/folder.zip").content))
    new = after.read(name).decode().splitlines()
    assert [line for line in new if line not in old] == [f"keep_rows = [{row}]"]
    assert [line for line in old if line not in new] == []
    assert f"sounding of row {row} put back" in browser.get(f"/ponds/{pond}/history").text
    assert post(browser, pond, out=str(row)).status_code == 303
    assert rows_left_out(browser, pond) == [row]
    again = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]["volume_m3"]
    assert again == pytest.approx(volume, rel=1e-9)


def test_a_row_that_is_not_there_is_refused(wild):
    """Nothing is saved, and the words say which row."""
    browser, pond, _ = wild
    number = browser.store.ponds.revision(pond).number
    answer = post(browser, pond, back="9000")
    assert answer.status_code == 422
    assert "no sounding in row 9000" in answer.text
    assert browser.store.ponds.revision(pond).number == number


def test_an_old_page_changes_nothing(wild):
    """A button on a page that somebody overtook is refused; the pond stays as it is."""
    browser, pond, row = wild
    assert post(browser, pond, back=str(row)).status_code == 303
    stale = browser.post(f"/ponds/{pond}/survey/rows", {"number": "1", "author": "crew", "back": str(row)})
    assert stale.status_code == 409
    assert browser.store.ponds.revision(pond).number == 2


def test_a_row_put_back_stays_so_when_a_line_above_it_goes(wild):
    """A sounding above it is taken out on the page of the shore: the row that was put back is the line above now."""
    browser, pond, row = wild
    assert post(browser, pond, back=str(row)).status_code == 303
    revision = browser.store.ponds.revision(pond)
    sketch = saved_sketch(revision.job, revision.number)
    gone = sketch["soundings"].pop(0)
    assert gone["index"] == 0
    sent = {"number": str(revision.number), "author": "crew", "sketch": json.dumps(sketch)}
    assert browser.post(f"/ponds/{pond}/shore", sent).status_code == 303
    after = browser.store.ponds.revision(pond).job.pond
    assert len(after.soundings) == len(revision.job.pond.soundings) - 1
    assert after.keep_rows == (row - 1,)
    assert rows_left_out(browser, pond) == []
