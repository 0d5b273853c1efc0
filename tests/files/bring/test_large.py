"""Large files: read as a stream, and refused beyond the limits."""

from __future__ import annotations

import tracemalloc

import pytest
from tests.files.bring.made import LAT, LON, gpx, put

from plumeline.errors import InputError
from plumeline.files.bring import reading, value
from plumeline.files.bring.reading import read_foreign


def test_a_track_takes_little_more_memory_than_its_places(tmp_path):
    """Twenty thousand points in 3 MB of XML need under 16 MB at the peak: no tree of the file is made."""
    row = f'<trkpt lat="{LAT}" lon="{LON}"><time>2026-08-11T14:00:00Z</time><depth>2.5</depth></trkpt>\n'
    path = put(tmp_path, "a.gpx", gpx(f"<trk><trkseg>{row * 20_000}</trkseg></trk>"))
    read_foreign(path)
    tracemalloc.start()
    found = read_foreign(path)
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    assert found.spots.count == 20_000
    assert peak_mb < 16.0


def test_a_file_beyond_the_limit_is_not_opened(tmp_path):
    """A hole of a gigabyte costs nothing and is refused by its size."""
    path = tmp_path / "a.csv"
    with path.open("wb") as stream:
        stream.write(b"lat,lon,depth_m\n")
        stream.truncate(reading.MOST_FILE_BYTES + 1)
    with pytest.raises(InputError, match="the limit is 256 MB"):
        read_foreign(path)


@pytest.mark.parametrize("name", ["a.gpx", "a.csv"])
def test_more_places_than_the_limit_are_refused(tmp_path, monkeypatch, name):
    """Counted while they are read."""
    from plumeline.files.bring import csv_in, gpx_in

    for module in (value, csv_in, gpx_in):
        monkeypatch.setattr(module, "MOST_POINTS", 5)
    texts = {
        "a.gpx": gpx(f'<wpt lat="{LAT}" lon="{LON}"/>' * 6),
        "a.csv": "lat,lon,depth_m\n" + f"{LAT},{LON},2\n" * 6,
    }
    with pytest.raises(InputError, match="Thin it"):
        read_foreign(put(tmp_path, name, texts[name]))
