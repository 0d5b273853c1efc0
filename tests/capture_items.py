"""Items and photos as phones make them, for tests."""

from __future__ import annotations

import hashlib
import io
import json
import uuid

from PIL import Image

PART = 524288
DEVICE = "01920000-0000-7000-8000-00000000d001"
OTHER = "01920000-0000-7000-8000-00000000d002"
MADE_AT = "2026-08-11T07:30:00.000-04:00"
BODIES = {
    "profile": {
        "place": "deepest sounding",
        "secchi": "",
        "rows": [
            {"depth": "1", "temperature": "82", "oxygen": "8.2", "note": ""},
            {"depth": "12 ft 6 in", "temperature": "61", "oxygen": "0,1", "note": "smells"},
        ],
        "units": {"depth": "ft", "temperature": "degF", "oxygen": "mg/L"},
        "position": None,
    },
    "gauge": {
        "what": "at the compressor", "pressure": "5.8", "unit": "psig", "flow": "4.1", "flow_unit": "scfm",
        "position": None,
    },
    "sounding": {
        "depth": "11 ft 3 in", "unit": "ft", "muck": "8 in", "level": "2.4",
        "position": {"latitude_deg": 35.86525, "longitude_deg": -79.56305, "accuracy_m": 4.0, "how": "gps"},
    },
    "shore": {
        "what": "shore",
        "remark": "steep at the dam",
        "places": {
            "latitude_deg": [35.8648, 35.8648, 35.8656, 35.8656],
            "longitude_deg": [-79.5637, -79.5625, -79.5625, -79.5637],
            "accuracy_m": [4.0, 3.5, 6.0, None],
            "after_s": [0.0, 90.0, 170.5, None],
        },
    },
    "note": {"text": "Geese on the dam; the gate was left open."},
    "photo": {"caption": "the cabinet", "position": None},
}  # fmt: skip


def item(kind="note", number=0, *, device=DEVICE, body=None, photos=(), **more):
    """Return an item as a dict: the how many-eth of a device."""
    seed = f"{device}-{kind}-{number}"
    return {
        "format": 1,
        "id": more.pop("id", str(uuid.uuid5(uuid.NAMESPACE_URL, seed))),
        "device_id": device,
        "device_name": "phone one",
        "author": "crew",
        "pond_id": None,
        "pond_name_typed": None,
        "kind": kind,
        "made_at": MADE_AT,
        "time_zone": "America/New_York",
        "gps_at": None,
        "clock_skew_s": 0.0,
        "counter": number,
        "supersedes": None,
        "base_number": None,
        "body": {**BODIES[kind], **(body or {})},
        "photos": list(photos),
        **more,
    }


def text(made):
    """Return the bytes that a phone sends of an item."""
    return json.dumps(made, ensure_ascii=False).encode()


def sha(data):
    return hashlib.sha256(data).hexdigest()


def jpeg(seed=0, size=(64, 48), *, place=None, orientation=None, noise=False):
    """Return a JPEG: of one colour or of noise, with a place and a turn where asked for."""
    import random

    chance = random.Random(seed)
    if noise:
        found = Image.frombytes("RGB", size, chance.randbytes(size[0] * size[1] * 3))
    else:
        found = Image.new("RGB", size, (seed % 256, 90, 120))
    words = Image.Exif()
    if orientation:
        words[274] = orientation
    if place:
        words[306] = "2026:08:11 10:29:00"
        words.get_ifd(34665)[36867] = "2026:08:11 10:29:00"
        words.get_ifd(34665)[36881] = "-04:00"
        lat, lon = place
        words.get_ifd(34853).update(
            {1: "N" if lat >= 0 else "S", 2: _dms(lat), 3: "E" if lon >= 0 else "W", 4: _dms(lon)}
        )
    stream = io.BytesIO()
    found.save(stream, "JPEG", quality=95, exif=words, comment=b"taken by nobody")
    return stream.getvalue()


def _dms(value):
    value = abs(value)
    return (float(int(value)), float(int(value * 60 % 60)), value * 3600 % 60)


def named(data, *, keep_place=False, kind="image/jpeg"):
    """Return how an item names a photo."""
    return {"sha256": sha(data), "size_bytes": len(data), "type": kind, "keep_place": keep_place}


def parts(data):
    """Return the parts of a photo with their numbers."""
    return [(n, data[start : start + PART]) for n, start in enumerate(range(0, len(data), PART))]
