"""Files of other programs on a page: shown as understood, put right, taken as the next revision."""

from __future__ import annotations

import re

import pytest
from tests.files.bring.made import ellipse, gpx, kml, kml_polygon, track

from plumeline.web.parked import MOST_FILES, Parked


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    site = browser.store.ponds.revision(browser.pond).job.site
    browser.at = {"lon": site.longitude_deg, "lat": site.latitude_deg}
    return browser


def send(browser, name, data):
    """Send a file and return the page that shows it, and its key."""
    data = data.encode() if isinstance(data, str) else data
    answer = browser.post(f"/ponds/{browser.pond}/bring", files={"file": (name, data, "")})
    if answer.status_code != 303:
        return answer, ""
    assert browser.store.ponds.revision(browser.pond).number == 1
    return browser.get(answer.headers["location"]), answer.headers["location"].split("file=")[1]


def take(browser, key, number="1", **told):
    fields = {"file": key, "number": number, "author": "Ada", **told}
    return browser.post(f"/ponds/{browser.pond}/bring/take", fields)


def test_a_walk_is_shown_and_taken_as_the_next_revision(place):
    """Nothing changes before it is confirmed; then the shore is the walked one and the history says from where."""
    page, key = send(place, "walk.gpx", gpx(track(ellipse(40, **place.at))))
    assert "40 track points" in page.text
    assert "were joined" in page.text
    assert take(place, key).status_code == 303
    saved = place.store.ponds.revision(place.pond)
    assert (saved.number, len(saved.job.pond.outline[0]), saved.reason) == (2, 40, "brought in: walk.gpx")
    assert len(saved.job.pond.soundings) == 45


def test_a_column_without_a_unit_is_asked_for_and_told(place):
    """The question speaks of the page and not of the shell; the answer is kept in the next look and in the taking."""
    lon, lat = place.at["lon"], place.at["lat"]
    page, key = send(place, "d.csv", f"Lat,Lon,Sonar\n{lat},{lon},10\n{lat},{lon},11\n")
    assert "no column; what the other columns are is not known: &#39;Sonar&#39;" in page.text
    assert "--" not in re.sub(r"<!--.*?-->", "", page.text.split("<main")[1])
    look = {"file": key, "depth": "Sonar"}
    asked = place.get(f"/ponds/{place.pond}/bring", params=look)
    assert "have no unit" in asked.text
    assert "--columns" not in asked.text
    assert ":m)" not in asked.text
    shown = place.get(f"/ponds/{place.pond}/bring", params={**look, "unit": "ft", "depths": "add"})
    assert "column 3, &#39;Sonar&#39;, in ft" in shown.text
    assert take(place, key, depth="Sonar", unit="ft", depths="add").status_code == 303
    depths = [item.depth_m for item in place.store.ponds.revision(place.pond).job.pond.soundings]
    assert len(depths) == 47
    assert depths[-2:] == pytest.approx([3.048, 3.3528])


def test_of_two_ponds_it_is_asked_which(place):
    """They are listed to choose from; the chosen one is taken, and without a choice nothing is."""
    other = {**place.at, "lon": place.at["lon"] + 0.01}
    text = kml(
        kml_polygon(ellipse(30, **other, size=1.5), "lower") + kml_polygon(ellipse(50, **place.at), "upper")
    )
    page, key = send(place, "two.kml", text)
    assert "there are 2 ponds" in page.text
    assert page.text.count('type="radio" name="pond"') == 2
    assert take(place, key).status_code == 422
    done = take(place, key, pond="2")
    assert done.status_code == 303, done.text
    assert len(place.store.ponds.revision(place.pond).job.pond.outline[0]) == 50


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("a.gpx", b"", "the file is empty"),
        ("a.bin", b"\x00\x01\x02\x03", "of no kind that is read here"),
        ("a.kml", b'<!DOCTYPE x [<!ENTITY a "b">]><kml>&a;</kml>', "holds a document type or an entity"),
        ("../../etc/passwd", b"lat,lon\n1,2\n", "lie "),
    ],
)
def test_a_bad_file_is_answered_in_words(place, name, data, words):
    """No trace of our machine, nothing changed."""
    page, _ = send(place, name, data)
    assert words in page.text
    assert "/tmp/" not in page.text
    assert "Traceback" not in page.text
    assert place.store.ponds.revision(place.pond).number == 1


def test_none_chosen_and_no_longer_kept(place):
    """Both are said, and nothing is changed."""
    assert place.post(f"/ponds/{place.pond}/bring").status_code == 422
    assert place.get(f"/ponds/{place.pond}/bring", params={"file": "00"}).status_code == 410
    assert take(place, "00").status_code in (410, 422)


def test_what_another_saved_in_between_is_not_overwritten(place):
    """The file is still there, held against the newer revision."""
    _, key = send(place, "walk.gpx", gpx(track(ellipse(40, **place.at))))
    assert take(place, key).status_code == 303
    late = take(place, key, number="1")
    assert late.status_code == 409
    assert "held against revision 2" in late.text


def test_files_of_another_pond_are_not_given_out_and_old_ones_go():
    """A key opens its own pond's file; beyond the room the oldest goes."""
    from plumeline.errors import InputError

    parked = Parked()
    keys = [parked.put("one", f"{n}.csv", b"x") for n in range(MOST_FILES + 1)]
    assert parked.get("one", keys[-1]).read_bytes() == b"x"
    for pond, key in (("two", keys[-1]), ("one", keys[0])):
        with pytest.raises(InputError, match="not kept here any more"):
            parked.get(pond, key)
