"""The name that was typed goes on to the next form; an id stands once on a page; the largest file is as said."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from PIL import Image

from plumeline.store.folder import MOST_ZIP_BYTES
from plumeline.web.guard import MOST_UPLOAD_BYTES
from plumeline.web.site import FOLDER


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    return browser


def test_the_name_of_a_gauge_is_offered_on_the_shore_and_stands_in_the_history(place):
    """Typed once; the forms of a shore's file and of a wall have it too, each in a field of its own."""
    fields = {"number": "1", "author": "Cy Ü", "time": "2026-08-12T10:30", "place": "compressor"}
    assert place.post(f"/ponds/{place.pond}/visits", {**fields, "pressure": "6.2 psig"}).status_code == 303
    page = place.get(f"/ponds/{place.pond}/shore").text
    assert page.count('value="Cy Ü"') == 3
    assert '<td role="cell" data-of="by">Cy Ü</td>' in place.get(f"/ponds/{place.pond}/history").text


def test_the_name_typed_with_a_photo_from_the_air_or_a_file_of_another_program_is_kept(place):
    """Both pages offer it again, and so does every other form."""
    image = io.BytesIO()
    Image.new("RGB", (64, 48), "green").save(image, "JPEG")
    photo = {"photo": ("pond.jpg", image.getvalue())}
    sent = {"number": "1", "author": "Cy Ü"}
    assert place.post(f"/ponds/{place.pond}/aerial", sent, files=photo).status_code == 303
    assert place.get(f"/ponds/{place.pond}/aerial").text.count('value="Cy Ü"') == 2
    table = b"lon,lat,depth_ft\n-79.56312,35.86521,9\n-79.56300,35.86530,8\n-79.56290,35.86515,7\n"
    where = place.post(f"/ponds/{place.pond}/bring", {}, files={"file": ("a.csv", table)}).headers["location"]
    taken = {
        "number": "2",
        "author": "Di",
        "file": where.partition("=")[2],
        "take": "soundings",
        "depths": "add",
    }
    assert place.post(f"/ponds/{place.pond}/bring/take", taken).status_code == 303
    assert place.get(f"/ponds/{place.pond}/shore").text.count('value="Di"') == 3


@pytest.mark.parametrize("name", ["shore", "aerial", "plan", "visits"])
def test_an_id_stands_once_on_a_page(place, name):
    """Labels lead to their own fields where a page has two forms with a name."""
    found = re.findall(
        r'<(?:input|select|textarea)[^>]* id="([^"]+)"', place.get(f"/ponds/{place.pond}/{name}").text
    )
    assert len(found) == len(set(found))


def test_the_largest_file_is_the_one_that_is_said():
    """The store's limit, the guard's with the form around it, docs and pages agree."""
    said = f"{MOST_ZIP_BYTES // 1024**2} MB"
    assert MOST_ZIP_BYTES < MOST_UPLOAD_BYTES <= MOST_ZIP_BYTES + 1024**2
    for name in ("ponds.html", "captures.html", "bring.html"):
        assert said in (FOLDER / "templates" / name).read_text()
    assert f"A zip is taken up to {said}" in (Path(__file__).parents[2] / "docs" / "web.md").read_text()
