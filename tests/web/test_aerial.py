"""The aerial photo: brought in and written anew, laid by known points, kept with the folder, refused in words."""

from __future__ import annotations

import io
import json
import re
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from plumeline.errors import InputError
from plumeline.stages.survey.plane import LocalPlane
from plumeline.web.aerial import Aerial, Mark, fit_of

PLANE = LocalPlane(-79.56, 35.86)


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    return browser


def photo(width_px=800, height_px=600):
    """Return a JPEG that says where it was taken."""
    stream = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "secret words"
    Image.new("RGB", (width_px, height_px), "green").save(stream, "JPEG", exif=exif)
    return stream.getvalue()


def bring(browser, data, number=1):
    fields = {"number": str(number), "author": "Ada"}
    return browser.post(f"/ponds/{browser.pond}/aerial", fields, files={"photo": ("a.jpg", data, "")})


def lay(browser, points, number=2, action="lay"):
    fields = {"number": str(number), "author": "Ada", "points": points, "action": action}
    return browser.post(f"/ponds/{browser.pond}/aerial/points", fields)


def laid(pixels, turn):
    """Return a photo of points whose places a matrix says."""
    marks = []
    for across_px, down_px in pixels:
        place = PLANE.to_point(*(turn @ (across_px, down_px, 1.0)))
        marks.append(Mark(across_px=across_px, down_px=down_px, **place.model_dump()))
    return Aerial(width_px=1000, height_px=1000, points=marks)


def test_the_fit_finds_turn_scale_and_stretch():
    """Two points find a turn and a scale; four a stretch too; one that is off is told in metres."""
    turn = 0.3 * np.array([[np.cos(0.7), np.sin(0.7), -100.0], [np.sin(0.7), -np.cos(0.7), 60.0]])
    two = fit_of(laid([(100, 200), (800, 500)], turn), PLANE)
    assert two.turn_m_px == pytest.approx(turn, abs=5e-3)
    assert two.residual_m is None
    stretch = turn * np.array([[1.0, 1.2, 1.0], [1.1, 1.0, 1.0]])
    square = [(0, 0), (1000, 0), (1000, 1000), (0, 1000)]
    four = fit_of(laid(square, stretch), PLANE)
    assert four.turn_m_px == pytest.approx(stretch, abs=5e-3)
    assert four.residual_m < 5e-3
    off = laid(square, stretch)
    moved = PLANE.to_xy(PLANE.to_point(*(stretch @ (0, 0, 1.0))))
    place = PLANE.to_point(moved[0] + 4.0, moved[1])
    off.points[0] = Mark(across_px=0, down_px=0, **place.model_dump())
    # a corner of a square that is 4 m off leaves 1 m at each corner of the best stretch
    assert fit_of(off, PLANE).residual_m == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("pixels", "turn", "words"),
    [
        ([(5, 5), (6, 6)], np.array([[0.3, 0, 0], [0, -0.3, 0]]), "one spot"),
        ([(0, 0), (500, 500), (900, 900)], np.array([[0.3, 0, 0], [0, -0.3, 0]]), "one line"),
        ([(0, 0), (900, 0), (0, 900)], np.array([[0.3, 0, 0], [0, 0.3, 0]]), "mirrored"),
    ],
)
def test_points_that_can_t_hold_a_photo_are_refused(pixels, turn, words):
    """One spot, one line, exchanged points."""
    with pytest.raises(InputError, match=words):
        fit_of(laid(pixels, turn), PLANE)


def test_a_photo_is_laid_kept_shown_exported_and_taken_away(place):
    """Written anew without its words; in the folder and its zip; on plan and shore; away again."""
    assert bring(place, photo()).status_code == 303
    files = place.store.ponds.folder(place.pond).files
    assert b"secret words" not in files["aerial.jpg"]
    assert "two known points are needed" in place.get(f"/ponds/{place.pond}/aerial").text
    points = "100, 100, -200 ft, 150 ft\n700, 100, 200 ft, 150 ft\n700, 500, 200 ft, -120 ft\n"
    points += "100, 500, -198 ft, -120 ft\n"
    assert lay(place, points).status_code == 303
    page = place.get(f"/ponds/{place.pond}/aerial").text
    assert re.search(r"at the points .*(in|ft).* are left", page)
    assert "100, 100, -200.0 ft, 150.0 ft" in page
    for name in ("plan", "shore"):
        data = json.loads(
            re.search(r'id="data">(.*?)</script>', place.get(f"/ponds/{place.pond}/{name}").text, re.S)[1]
        )
        assert data["aerial"]["width_px"] == 800
        across = [data["aerial"]["matrix"][0], data["aerial"]["matrix"][1]]
        # 600 px are 400 ft, to the scale of the drawing
        assert np.hypot(*across) * 600 == pytest.approx(400 * 0.3048 * data["frame"]["scale_mm_m"], rel=0.01)
        shown = place.get(data["aerial"]["href"])
        assert shown.headers["content-type"] == "image/jpeg"
    from plumeline.store import read_zip

    zipped = read_zip(place.get(f"/ponds/{place.pond}/folder.zip").content)
    assert {"aerial.jpg", "aerial.json"} <= set(zipped.files)
    assert lay(place, "", 3, "away").status_code == 303
    assert "aerial.jpg" not in place.store.ponds.folder(place.pond).files


def bomb():
    """Return a PNG that says it is 60,000 by 60,000 pixels."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<svg onload='alert(1)'/>", "no picture of a kind"),
        (bomb(), "megapixels"),
        (photo()[:300], "picture"),
        (b"\xff\xd8" + b"0" * (20 * 1024 * 1024), "larger than 20 MB"),
    ],
)
def test_what_is_no_photo_is_refused_and_nothing_changes(place, data, words):
    """A script, a bomb, half a photo, one that is too large: 422 in words."""
    refused = bring(place, data)
    assert refused.status_code == 422
    assert words in refused.text
    assert place.store.ponds.revision(place.pond).number == 1


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ("1, 2, 3 ft", "line 1"),
        ("100, 100, 0 ft, 0 ft\n9000, 100, 0 ft, 9 ft", "no place on the photo"),
        ("100, nan, 0 ft, 0 ft", "no place on the photo"),
        ("100, 100, 0, 0 ft", "has no unit"),
        ("100, 100, 0 ft, 0 ft\n101, 100, 90 ft, 0 ft", "one spot"),
    ],
)
def test_points_that_can_t_be_are_said_and_stay(place, points, words):
    """422 with the line, and the text as typed."""
    assert bring(place, photo()).status_code == 303
    refused = lay(place, points)
    assert refused.status_code == 422
    assert words in refused.text
    assert points.splitlines()[-1] in refused.text


def test_a_file_of_points_that_was_spoilt_by_hand_shows_no_photo_and_no_error(place):
    """aerial.json is anybody's to write: the pages stay."""
    files = dict(place.store.ponds.folder(place.pond).files)
    files |= {"aerial.jpg": photo(), "aerial.json": b'{"points": [{"across_px": "x"}]}'}
    place.store.ponds.save_files(place.pond, files, expected_number=1, author="Ada", reason="by hand")
    for name in ("aerial", "plan", "shore"):
        assert place.get(f"/ponds/{place.pond}/{name}").status_code == 200
    assert place.get(f"/ponds/{place.pond}/aerial.jpg").status_code == 404
