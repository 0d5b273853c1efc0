"""KML and KMZ read, and what they must not be able to do."""

from __future__ import annotations

import stat
import zipfile

import numpy as np
import pytest
from tests.files.bring.made import ellipse, gpx, kml, kml_polygon, put

from plumeline.errors import InputError
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.value import Asked, Source

POINT = (
    "<Placemark><name>A</name><ExtendedData><Data name='{}'><value>{}</value></Data></ExtendedData>"
    "<Point><coordinates>-79.5631,35.8652</coordinates></Point></Placemark>"
)
LOL = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'


def packed(path, members, mode=0):
    """Write an archive of names and bytes."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            info = zipfile.ZipInfo(name)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = mode << 16
            archive.writestr(info, data)
    return path


def test_polygons_keep_their_islands_and_names(tmp_path):
    """The outer ring comes first, the inner one after it, in longitude and latitude."""
    shore, island = ellipse(30), ellipse(12, size=0.2)
    found = read_foreign(put(tmp_path, "a.kml", kml(kml_polygon(shore, "upper", (island,)))))
    assert [area.name for area in found.areas] == ["upper"]
    assert np.allclose(found.areas[0].rings[0][:-1], shore, atol=1e-8)
    assert np.allclose(found.areas[0].rings[1][:-1], island, atol=1e-8)


@pytest.mark.parametrize(
    ("field", "value", "depth_m"), [("depth_ft", "10", 3.048), ("Depth", "11 ft 6 in", 3.5052)]
)
def test_a_points_depth_is_read_from_its_data(tmp_path, field, value, depth_m):
    """The unit stands in the name of the field or in its value."""
    found = read_foreign(put(tmp_path, "p.kml", kml(POINT.format(field, value))))
    assert found.spots.depth_m == pytest.approx([depth_m])


def test_a_depth_without_a_unit_is_asked_for(tmp_path):
    """It is not guessed; told, it is taken."""
    path = put(tmp_path, "p.kml", kml(POINT.format("Depth", "10")))
    found = read_foreign(path)
    assert not found.spots.has_depth.any()
    assert '--columns "depth=Depth:ft"' in found.cautions[0]
    told = read_foreign(path, Asked({"depth": Source("Depth", "ft")}))
    assert told.spots.depth_m == pytest.approx([3.048])


def test_a_track_of_points_in_time_is_a_line(tmp_path):
    """gx:Track has its places in elements of their own."""
    coords = "".join(f"<gx:coord>{lon} {lat} 0</gx:coord>" for lon, lat in ellipse(10))
    found = read_foreign(put(tmp_path, "t.kml", kml(f"<Placemark><gx:Track>{coords}</gx:Track></Placemark>")))
    assert np.allclose(found.lines[0].places, ellipse(10))


def test_what_a_file_links_to_is_named_and_not_fetched(tmp_path, monkeypatch):
    """No socket is opened for a NetworkLink; it stands among what is left out."""
    import socket

    monkeypatch.setattr(socket, "socket", None)
    link = "<NetworkLink><Link><href>http://far.test/more.kml</href></Link></NetworkLink>"
    found = read_foreign(put(tmp_path, "l.kml", kml(link + kml_polygon(ellipse(), "here"))))
    assert len(found.areas) == 1
    assert found.asides[0].why == "it only links to another place (NetworkLink)"


@pytest.mark.parametrize(
    "text",
    [
        kml("<Placemark><name>&b;</name></Placemark>").replace("<kml", LOL + "<kml", 1),
        gpx("").replace("<gpx", '<!DOCTYPE x SYSTEM "file:///etc/passwd"><gpx', 1),
    ],
    ids=["entities", "a file of the machine"],
)
def test_entities_and_document_types_are_refused(tmp_path, text):
    """The bomb of entities and the door to other files stay shut, with the row."""
    with pytest.raises(InputError, match=r"row \d+: holds a document type or an entity"):
        read_foreign(put(tmp_path, "x.kml", text))


def test_elements_nested_without_end_are_refused(tmp_path):
    """A hundred thousand folders in each other stop at the limit."""
    with pytest.raises(InputError, match="nests or counts more elements"):
        read_foreign(put(tmp_path, "deep.kml", kml("<Folder>" * 100_000)))


def test_a_packed_file_is_read_whatever_else_is_in_it(tmp_path):
    """The first .kml counts; pictures and what the packing program adds do not."""
    inside = kml(kml_polygon(ellipse(), "packed"))
    members = [("__MACOSX/._doc.kml", b"x"), ("doc.kml", inside), ("files/photo.jpg", b"\xff\xd8")]
    found = read_foreign(packed(tmp_path / "a.kmz", members))
    assert (found.kind, found.file, found.areas[0].name) == ("KMZ", "a.kmz", "packed")


@pytest.mark.parametrize(
    ("members", "mode", "words"),
    [
        ([("doc.kml", b"0" * 50_000_000)], 0, "would swell"),
        ([(f"{n}.kml", b"") for n in range(501)], 0, "holds 501 members"),
        ([("../doc.kml", b"<kml/>")], 0, "would land outside"),
        ([("/etc/doc.kml", b"<kml/>")], 0, "would land outside"),
        ([("C:\\doc.kml", b"<kml/>")], 0, "would land outside"),
        ([("doc.kml", b"/etc/passwd")], stat.S_IFLNK | 0o777, "only points elsewhere"),
    ],
    ids=["bomb", "many", "up", "absolute", "drive", "link"],
)
def test_archives_that_nobody_should_open_are_refused(tmp_path, members, mode, words):
    """Bombs, paths that lead outside and links are told apart and named."""
    with pytest.raises(InputError, match=words):
        read_foreign(packed(tmp_path / "bad.kmz", members, mode))


def test_a_member_that_lies_about_its_size_is_stopped(tmp_path):
    """The size in the directory is not believed when bytes come out."""
    path = packed(tmp_path / "lie.kmz", [("doc.kml", kml("<Folder/>" * 2000))])
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x01\x02") + 24
    data[at : at + 4] = (100).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(InputError, match=r"would swell|is damaged|is broken off"):
        read_foreign(path)
