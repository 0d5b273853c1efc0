"""Logs of NMEA 0183 sentences: checksums, positions, depths; pynmea2 gives the second opinion."""

from __future__ import annotations

import math

import numpy as np
import pynmea2
import pytest
from tests.files.bring.made import LAT, LON, SITE, put

from plumeline.errors import InputError
from plumeline.files.bring.merge import Wish, merged
from plumeline.files.bring.nmea_in import checksum
from plumeline.files.bring.reading import read_foreign

PUBLISHED = [
    ("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,", "47"),
    ("GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W", "6A"),
    ("GPGLL,3751.65,S,14507.36,E", "77"),
]
"""Examples with their sums that stand in nearly every introduction to the format, from memory (the first two as in
DePriest, NMEA data; the third as in common manuals); pynmea2 accepts all three."""


def sentence(body: str) -> str:
    """Return a sentence with a sum that pynmea2 made, not we."""
    return f"${body}*{pynmea2.NMEASentence.checksum(body):02X}"


def angle(value: float, wide: int) -> str:
    """Return degrees as the format has them: ddmm.mmmmm."""
    whole = int(abs(value))
    return f"{whole:0{wide}d}{(abs(value) - whole) * 60:08.5f}"


def rmc(second: int, lon: float = LON, lat: float = LAT, status: str = "A") -> str:
    """Return a position of the afternoon of 11 August 2026."""
    return sentence(
        f"GPRMC,1400{second:02d}.00,{status},{angle(lat, 2)},N,{angle(lon, 3)},W,1.0,90.0,110826,,"
    )


@pytest.mark.parametrize(("body", "total"), PUBLISHED)
def test_published_sums(body, total):
    """The exclusive or of what stands between $ and * is the printed one, and that of pynmea2."""
    assert checksum(body.encode()) == int(total, 16)
    assert pynmea2.parse(f"${body}*{total}", check=True) is not None


def test_positions_equal_those_of_another_reader(tmp_path):
    """Degrees from the published sentences, as pynmea2 reads them."""
    text = "".join(f"${body}*{total}\r\n" for body, total in PUBLISHED) + rmc(20, lon=11.6, lat=48.2)
    found = read_foreign(put(tmp_path, "log.txt", text))
    theirs = pynmea2.parse(f"${PUBLISHED[0][0]}*47")
    assert found.lines[0].places[0] == pytest.approx([theirs.longitude, theirs.latitude], abs=1e-12)
    assert ("positions", "2 of RMC and GGA") in found.understood


def test_depths_get_the_place_and_time_of_their_position(tmp_path):
    """Several between two positions are spread evenly on the way; the offset to the surface is added."""
    lines = [rmc(0), sentence("SDDPT,2.0,0.3"), sentence("SDDPT,2.2,0.3"), rmc(1, lon=LON + 0.00002)]
    found = read_foreign(put(tmp_path, "log.nmea", "\n".join(lines)))
    assert found.spots.depth_m == pytest.approx([2.3, 2.5])
    assert found.spots.lon_deg == pytest.approx([LON, LON + 0.00001], abs=2e-7)
    assert np.diff(found.spots.time_s) == pytest.approx([0.5])
    assert found.spots.time_s[0] == 1786456800.0
    assert list(found.spots.row) == [2, 3]


@pytest.mark.parametrize(
    ("body", "depth_m", "caution"),
    [
        ("SDDBT,10.0,f,3.05,M,1.67,F", 3.05, "count from the transducer"),
        ("SDDBT,10.0,f,,M,,F", 3.048, "count from the transducer"),
        ("SDDBS,,f,,M,2.0,F", 3.6576, ""),
        ("SDDPT,3.0,-0.4", 3.0, "count from the transducer"),
    ],
)
def test_each_kind_of_depth(tmp_path, body, depth_m, caution):
    """Metres before feet before fathoms; what counts from the transducer is said."""
    found = read_foreign(put(tmp_path, "log.nmea", f"{rmc(0)}\n{sentence(body)}\n"))
    assert found.spots.depth_m == pytest.approx([depth_m])
    assert any(caution in words for words in found.cautions) if caution else not found.cautions


def test_one_measurement_in_two_sentences_is_taken_once(tmp_path):
    """A sounder that sends DBT and DPT measures once."""
    text = "\n".join([rmc(0), sentence("SDDBT,,f,2.0,M,,F"), sentence("SDDPT,2.0,0.3")])
    assert read_foreign(put(tmp_path, "a.nmea", text)).spots.depth_m == pytest.approx([2.3])


def test_line_noise_is_counted_by_its_rows(tmp_path):
    """Wrong sums, torn lines, void positions, lost bottoms and depths without a place are told apart."""
    good = sentence("SDDPT,2.0,0.3")
    lines = [
        good, rmc(0), good.replace("2.0", "7.0"), "noise", rmc(1, status="V"), sentence("SDDPT,,0.3"),
        rmc(2), rmc(40), good,
    ]  # fmt: skip
    lines.insert(7, good)  # between the positions of second 2 and 40: the first is still at its place
    found = read_foreign(put(tmp_path, "a.nmea", "\n".join(lines)))
    said = {aside.why: aside.rows for aside in found.asides}
    assert said == {
        "its checksum is wrong: line noise": (3,),
        "it is torn or no sentence": (4,),
        "the receiver says that its position is void": (5,),
        "the sounder has no depth": (6,),
        "no position within ten seconds before it": (1,),
    }
    assert list(found.spots.row) == [8, 10]


def test_bytes_that_turned_are_never_believed(tmp_path):
    """Every letter of a sentence changed by one bit, one at a time: no depth but the right one gets in."""
    good = sentence("SDDPT,2.0,0.3").encode()
    for index in range(1, len(good) - 3):
        bad = bytearray(good)
        bad[index] ^= 1
        path = put(tmp_path, "a.nmea", b"\n".join([rmc(0).encode(), rmc(1).encode(), bytes(bad)]))
        assert read_foreign(path).spots.count == 0, bytes(bad)


def test_midnight_passes(tmp_path):
    """GGA sentences after midnight lie on the next day before an RMC says so."""
    early = f"GPGGA,000001,{angle(LAT, 2)},N,{angle(LON, 3)},W,1,08,0.9,5,M,4,M,,"
    late = sentence(f"GPRMC,235959,A,{angle(LAT, 2)},N,{angle(LON, 3)},W,1,9,110826,,")
    found = read_foreign(put(tmp_path, "a.nmea", f"{late}\n{sentence(early)}\n{sentence('SDDPT,2.0,0.3')}\n"))
    assert found.spots.time_s[0] == 1786456800.0 + 10 * 3600 + 1
    assert found.spots.hdop_number[0] == 0.9


def test_a_log_becomes_soundings_of_a_job(tmp_path):
    """With their time, which the file of the folder keeps."""
    lines = [line for n in range(5) for line in (rmc(n, lon=LON + n * 1e-5), sentence(f"SDDPT,{n + 1},0.3"))]
    merge = merged({}, [read_foreign(put(tmp_path, "a.nmea", "\n".join(lines)))], SITE, Wish())
    assert merge.sounding_count == 5
    assert merge.files["soundings.csv"].splitlines()[-1].endswith(b",5.3,2026-08-11T14:00:04Z")


def test_a_log_without_one_whole_sentence_is_refused(tmp_path):
    """Nothing but noise is no log."""
    bad = rmc(0)[:-2] + "00"
    with pytest.raises(InputError, match="holds no whole sentence"):
        read_foreign(put(tmp_path, "a.nmea", f"{bad}\n{bad}\n"))


def test_no_day_gives_no_time(tmp_path):
    """GGA alone has a clock and no day."""
    text = sentence(f"GPGGA,140000,{angle(LAT, 2)},N,{angle(LON, 3)},W,1,08,0.9,5,M,4,M,,")
    found = read_foreign(put(tmp_path, "a.nmea", f"{text}\n{sentence('SDDPT,2.0,0.3')}\n"))
    assert math.isnan(found.spots.time_s[0])
    assert "names a day" in found.cautions[0]
