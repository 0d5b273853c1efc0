"""Files of every kind with bytes changed, torn out and put in: taken or refused in words, never anything else."""

from __future__ import annotations

import json
import random
import zipfile

import pytest
import shapely
from tests.files.bring.made import LAT, LON, SITE, ellipse, gpx, kml, kml_polygon, put, track
from tests.files.bring.test_layers import POND, write
from tests.files.bring.test_nmea import rmc, sentence

from plumeline.errors import InputError
from plumeline.files.bring.merge import Wish, merged
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.value import Asked

KINDS = ("gpx", "kml", "kmz", "csv", "nmea", "gpkg", "zip", "geojson")
TRIES = 60
PIECES = (b"9" * 20, b"-", b"nan", b"1e999", b"<", b'"', b",", b"\xff", b"\n", b"\x00")


def whole(folder, kind):
    """Return a file that is right."""
    depths = [f"<time>2026-08-11T14:00:{n:02d}Z</time><depth>{1 + n / 10}</depth>" for n in range(20)]
    place = kml(kml_polygon(ellipse(20), "x", (ellipse(9, size=0.2),)))
    features = [POND, shapely.Point(LON, LAT)]
    texts = {
        "gpx": gpx(track(ellipse(20), depths)),
        "kml": place,
        "csv": "Lat,Lon,depth_ft\n" + "".join(f"{lat},{lon},5\n" for lon, lat in ellipse(20)),
        "nmea": "\n".join(line for n in range(20) for line in (rmc(n), sentence(f"SDDPT,{n}.0,0.3"))),
        "geojson": json.dumps({
            "type": "FeatureCollection",
            "features": [
                {"type": "Feature", "properties": {"depth_ft": 3}, "geometry": json.loads(shapely.to_geojson(one))}
                for one in features
            ],
        }),
    }  # fmt: skip
    if kind in texts:
        return texts[kind].encode()
    if kind == "gpkg":
        return write(folder / "p.gpkg", [POND], ["u"], layer="l").read_bytes()
    write(folder / "p.shp", [POND] * 3)
    path = folder / "packed"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        if kind == "kmz":
            archive.writestr("doc.kml", place)
        else:
            for part in sorted(folder.glob("p.*")):
                archive.write(part, part.name)
    return path.read_bytes()


def spoilt(data, rng):
    """Return the bytes with a few of them changed."""
    found = bytearray(data)
    for _ in range(rng.choice((1, 2, 8, 30))):
        at = rng.randrange(len(found))
        match rng.randrange(4):
            case 0:
                found[at] = rng.randrange(256)
            case 1:
                found[at] ^= 1 << rng.randrange(8)
            case 2:
                del found[at : at + rng.randrange(1, min(40, len(found)))]
            case _:
                found[at:at] = rng.choice(PIECES)
    return bytes(found)


@pytest.mark.parametrize("kind", KINDS)
def test_a_spoilt_file_is_taken_or_refused_in_words(tmp_path, kind):
    """No other error than ours comes out, no path of our machine; the whole file is taken."""
    data, rng = whole(tmp_path, kind), random.Random(7)
    name = f"spoilt.{kind}"
    asked = Asked(near_deg=(LON, LAT))
    good = merged({}, [read_foreign(put(tmp_path, name, data), asked)], SITE, Wish())
    assert good.files
    for _ in range(TRIES):
        path = put(tmp_path, name, spoilt(data, rng))
        try:
            merged({}, [read_foreign(path, asked)], SITE, Wish())
        except InputError as error:
            words = str(error)
            assert words.strip(), "an error without words"
            assert "/tmp/" not in words.replace(str(tmp_path), ""), words


def test_a_geopackage_with_a_turned_byte_in_a_name_is_looked_at(tmp_path):
    """What is no text in the list of tables is no traceback."""
    path = write(tmp_path / "p.gpkg", [POND], ["u"], layer="l")
    data = path.read_bytes().replace(b"gpkg_extensions", b"\xd0pkg_extensions")
    path.write_bytes(data)
    assert len(read_foreign(path).areas) == 1
