"""Photos are written anew: the picture stays, all that its file carried beside it goes."""

from __future__ import annotations

import contextlib
import io
import zipfile

import pytest
from PIL import Image
from tests.capture_items import jpeg

from plumeline.errors import InputError
from plumeline.files.pictures import preview, written_anew

PLACE = (35.86525, -79.56305)


def test_place_time_and_comments_leave_the_file_and_come_as_values():
    """Nothing but the picture is in the new file; the place is right to a decimetre."""
    data = jpeg(7, (80, 60), place=PLACE)
    assert b"nobody" in data
    assert b"2026:08:11" in data
    found = written_anew(data)
    assert b"nobody" not in found.data
    assert b"2026" not in found.data
    with Image.open(io.BytesIO(found.data)) as new:
        assert dict(new.getexif()) == {}
        assert new.info.keys() <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert (found.latitude_deg, found.longitude_deg) == (
        pytest.approx(PLACE[0], abs=1e-6),
        pytest.approx(PLACE[1], abs=1e-6),
    )
    assert found.taken_at == "2026-08-11T10:29:00-04:00"


def test_the_turn_of_the_camera_is_carried_out():
    """A photo taken upright is upright in the new file, which has no word of turning."""
    found = written_anew(jpeg(7, (80, 60), orientation=6))
    assert (found.width_px, found.height_px) == (60, 80)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA", "P", "CMYK", "1"])
def test_every_mode_of_the_kinds_that_are_read_becomes_a_jpeg(kind, mode):
    """Colours stay within what JPEG loses; what is clear becomes white."""
    colour = Image.new("RGBA", (20, 10), (200, 30, 30, 255))
    stream = io.BytesIO()
    try:
        colour.convert("RGB" if mode in ("CMYK", "1") else "RGBA").convert(mode).save(stream, kind)
    except OSError:
        pytest.skip(f"{kind} has no {mode}")
    found = written_anew(stream.getvalue())
    with Image.open(io.BytesIO(found.data)) as new:
        assert (new.format, new.mode, new.size) == ("JPEG", "RGB", (20, 10))
        red, green, blue = new.getpixel((5, 5))
        assert abs(green - blue) < 40
        assert mode in ("L", "1") or red > green + 60


def test_a_file_that_is_two_kinds_at_once_loses_the_other():
    """A zip behind a picture, and a page in its comment, are not in what is written."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("index.html", "<script>alert(1)</script>")
    both = jpeg(3) + stream.getvalue()
    assert zipfile.is_zipfile(io.BytesIO(both))
    found = written_anew(both)
    assert not zipfile.is_zipfile(io.BytesIO(found.data))
    assert b"script" not in found.data


def test_the_limit_of_pixels_is_asked_before_they_are_unpacked(monkeypatch):
    """One pixel too many is refused with the size in words."""
    monkeypatch.setattr("plumeline.files.pictures.MOST_PIXELS_COUNT", 79 * 60)
    with pytest.raises(InputError, match="80 by 60 pixels"):
        written_anew(jpeg(1, (80, 60)))


def test_any_cut_or_spoilt_byte_is_a_picture_or_a_refusal():
    """No other error comes of damaged files."""
    import random

    chance = random.Random(1)
    whole = jpeg(2, (60, 40), place=PLACE, noise=True)
    taken = 0
    for _ in range(300):
        data = bytearray(whole)
        for _ in range(chance.randrange(1, 20)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        cut = bytes(data[: chance.randrange(1, len(data) + 1)]) if chance.random() < 0.3 else bytes(data)
        with contextlib.suppress(InputError):
            written_anew(cut)
            taken += 1
    assert 0 < taken < 300


def test_a_preview_is_small():
    """At most 640 pixels a side."""
    with Image.open(io.BytesIO(preview(written_anew(jpeg(1, (1600, 900))).data))) as found:
        assert found.size == (640, 360)
