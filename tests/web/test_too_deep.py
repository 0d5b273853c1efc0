"""One wrong sounding, deeper than any compressor reaches: the job stays open, and every refusal says where to look."""

from __future__ import annotations

import re

import pytest
from tests.web.test_standing import listed, notices

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder, write_zip
from plumeline.web.standing import look_at_all

SLIP = b"""lon,lat,depth_ft
-79.5631,35.8652,84
-79.5629079,35.8652778,12.6
-79.5627105,35.8653147,8.7
-79.5629974,35.8653175,12.2
-79.5629696,35.8654633,8.7
-79.5631334,35.8654461,5.4
"""
"""8.4 ft with its point lost; too few soundings around it for the survey to leave it out."""
NAMED = "The deepest sounding is 84 ft (25.6 m), row 2 of soundings.csv: check it."


@pytest.fixture
def pond(browser):
    """The demo pond with six soundings, its compressor and diffusers left open."""
    files = dict(read_folder(demo_folder()).files)
    job = files["job.toml"].decode()
    job = re.sub(r"\n\[air\.compressor\].*?(?=\n\[air\.cabinet\])", "", job, flags=re.DOTALL)
    job = re.sub(r"\n\[\[air\.diffusers\]\].*?(?=\n\[(?!\[air\.diffusers)|\Z)", "", job, flags=re.DOTALL)
    files |= {"job.toml": job.encode(), "soundings.csv": SLIP}
    assert browser.bring_in(write_zip(Folder("slip", files))).status_code == 303
    return browser.store.ponds.rows()[0].id


@pytest.mark.parametrize("page", ["air", "layout", "plan"])
def test_a_refusal_names_the_sounding_and_leads_to_it(browser, pond, page):
    """Layout, air and plan can't be shown: 422, with the sounding and links to survey and shore."""
    answer = browser.get(f"/ponds/{pond}/{page}")
    assert answer.status_code == 422
    assert NAMED in answer.text
    alert = answer.text.split('role="alert"', 1)[1]
    for there in ("survey", "shore"):
        assert f'href="/ponds/{pond}/{there}"' in alert
        assert browser.get(f"/ponds/{pond}/{there}").status_code == 200


@pytest.mark.parametrize("page", ["survey", "reading"])
def test_what_rests_on_no_layout_is_shown(browser, pond, page):
    """The page says why there is no layout, and shows its numbers, which open, and its notices."""
    answer = browser.get(f"/ponds/{pond}/{page}")
    assert answer.status_code == 200
    assert NAMED in answer.text
    opens = re.search(rf'class="opens" href="(/ponds/{pond}/workings/{page}/[^"]+)"', answer.text)
    assert opens
    assert browser.get(opens[1]).status_code == 200
    assert ('aria-label="The pond holds' in answer.text) == (page == "survey")
    found = browser.get(f"/api/v1/ponds/{pond}/stages/{page}").json()
    assert found["survey"]["max_depth_m"] > 25.0 if page == "survey" else found["reading"]
    assert browser.get(f"/api/v1/ponds/{pond}/stages/air").status_code == 422


def test_the_pond_keeps_its_warnings(browser, pond):
    """The list's warnings stand on the pond's page too, beside why there is no layout."""
    look_at_all(browser.store, browser.client.app.state.site.designs)
    answer = browser.get(f"/ponds/{pond}")
    assert answer.status_code == 200
    assert NAMED in answer.text
    assert f'href="/ponds/{pond}/shore"' in answer.text.split("No layout yet", 1)[1]
    without_reason = [
        row for row in listed(browser) if "deepest sounding is 84 ft (25.6 m), row" not in row[1]
    ]
    assert "danger" in dict(without_reason)
    assert without_reason == notices(answer.text)


def test_the_mended_sounding_opens_all(browser, pond):
    """With the point put back, every page is there again."""
    fields = {"path": "soundings.csv", "text": SLIP.decode().replace(",84\n", ",8.4\n"), "number": "1",
              "author": "crew", "reason": "row 2"}  # fmt: skip
    assert browser.post(f"/ponds/{pond}/files/edit", fields).status_code == 303
    for page in ("survey", "reading", "layout", "air", "plan"):
        answer = browser.get(f"/ponds/{pond}/{page}")
        assert answer.status_code == 200
        assert "No layout yet" not in answer.text
