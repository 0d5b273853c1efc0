"""Ponds as nobody should bring them, made up for the tests of shell and web, and what must be said of each."""

from __future__ import annotations

import io
import json
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pyproj import Transformer
from shapely import Polygon
from tests.files.bring.made import LAT, LON, ellipse, gpx, kml, kml_polygon, track
from tests.files.bring.test_layers import write

LOBES = [
    (LON + 0.0003 * x, LAT + 0.0002 * y)
    for x, y in [(-2, 0), (-1, 1), (0, 0), (1, 1), (2, 0), (1, -1), (0, 0), (-1, -1)]
]
SWOLLEN = b"0" * 50_000_000


@dataclass(frozen=True)
class Bad:
    """One file.

    Attributes:
        name: of the file.
        data: what makes its bytes.
        said: words that stand on the page and in the shell, each of them.
        taken: whether a shore is taken all the same, once that is confirmed.
        corner_count: of that shore; 0 leaves it open.
    """

    name: str
    data: Callable[[], bytes]
    said: tuple[str, ...]
    taken: bool = False
    corner_count: int = 0


def zipped(*members: tuple[str, bytes], link: str = "") -> bytes:
    """Return an archive; ``link`` is a member that points elsewhere."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as out:
        for name, data in members:
            out.writestr(name, data)
        if link:
            info = zipfile.ZipInfo(link)
            info.external_attr = 0o120777 << 16
            out.writestr(info, "/etc/passwd")
    return stream.getvalue()


def geopackage(*commands: str) -> bytes:
    """Return a GeoPackage with the pond, after some commands that no map program gives."""
    with tempfile.TemporaryDirectory() as place:
        path = write(Path(place) / "pond.gpkg", [Polygon(ellipse())], ["a"], layer="pond")
        base = sqlite3.connect(path)
        base.executescript("PRAGMA foreign_keys = OFF;")
        for row in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            base.execute(f'DROP TRIGGER "{row[0]}"')
        for command in commands:
            base.executescript(command)
        base.commit()
        base.close()
        return path.read_bytes()


def polygon(places: list[tuple[float, float]]) -> Callable[[], bytes]:
    return lambda: kml(kml_polygon(places, "pond")).encode()


def geojson(ring: list[tuple[float, float]]) -> bytes:
    geometry = {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}
    return json.dumps({"type": "Feature", "properties": {}, "geometry": geometry}).encode()


def in_survey_feet() -> bytes:
    """The shore in US survey feet of a state plane (EPSG:2264), in a GeoJSON that does not say so."""
    to_feet = Transformer.from_crs(4326, 2264, always_xy=True)
    return geojson([to_feet.transform(*place) for place in ellipse()])


def linked() -> bytes:
    body = "<NetworkLink><Link><href>http://ponds.test/more.kml</href></Link></NetworkLink>"
    return zipped(("doc.kml", kml(body + kml_polygon(ellipse(), "pond")).encode()))


BRINGING = {
    "three points": Bad(
        "a.kml", polygon(ellipse(3)), ("only 3 corners", "hardly a pond's shape"), taken=True, corner_count=3
    ),
    "300 000 points": Bad(
        "a.geojson",
        lambda: geojson(ellipse(300_000)),
        ("300 000 corners were thinned", "the area changed by"),
        taken=True,
    ),
    "touching itself": Bad(
        "a.kml", polygon(LOBES), ("touches or crosses itself near", "two ponds as two polygons")
    ),
    "wound the wrong way": Bad("a.kml", polygon(ellipse()[::-1]), ("shore",), taken=True, corner_count=60),
    "wrong hemisphere": Bad(
        "a.gpx",
        lambda: gpx(track(ellipse(60, lon=-LON))).encode(),
        ("the sign of the longitude is the wrong one", "that was put right"),
        taken=True,
        corner_count=60,
    ),
    "survey feet": Bad("a.geojson", in_survey_feet, ("EPSG:2264",)),
    "two ponds": Bad(
        "a.kml",
        lambda: kml(
            kml_polygon(ellipse(), "upper") + kml_polygon(ellipse(50, lon=LON + 0.01), "lower")
        ).encode(),
        ("there are 2 ponds", "'upper'", "'lower'", "Say which one, by name or number"),
    ),
    "KMZ that swells": Bad(
        "a.kmz", lambda: zipped(("doc.kml", SWOLLEN)), ("would swell", "Unpack it yourself")
    ),
    "KMZ that leads out": Bad("a.kmz", lambda: zipped(("../doc.kml", b"<kml/>")), ("would land outside",)),
    "KMZ that links": Bad("a.kmz", lambda: zipped(link="doc.kml"), ("only points elsewhere",)),
    "KMZ that fetches": Bad(
        "a.kmz", linked, ("it only links to another place",), taken=True, corner_count=60
    ),
    "GeoPackage that swells": Bad("a.zip", lambda: zipped(("pond.gpkg", SWOLLEN)), ("would swell",)),
    "GeoPackage that runs code": Bad(
        "a.gpkg",
        lambda: geopackage("CREATE VIRTUAL TABLE trap USING fts5(x)"),
        ("runs code of its own",),
    ),
    "GeoPackage that links": Bad(
        "a.gpkg",
        lambda: geopackage("UPDATE gpkg_contents SET table_name = 'elsewhere.pond'"),
        ("is no table",),
    ),
}


def oval(depth_of: Callable[[float, float], float], *, along: bool = False) -> dict[str, bytes]:
    """Return outline and soundings of an oval pond of some 110 by 90 m.

    Args:
        depth_of: depth [m] from the part of the way to the shore, east and north, each from -1 to 1.
        along: all soundings on one line from west to east.
    """
    rows = ["lon,lat,depth_m"]
    for i in range(-9, 10):
        for j in [0] if along else range(-9, 10, 3):
            u, v = i / 10, j / 10
            if u * u + v * v < 0.85:
                rows.append(f"{LON + 0.0006 * u:.7f},{LAT + 0.0004 * v:.7f},{depth_of(u, v):.2f}")
    return {"outline.geojson": geojson(ellipse()), "soundings.csv": ("\n".join(rows) + "\n").encode()}


def bowl(deepest_m: float) -> Callable[[float, float], float]:
    return lambda u, v: deepest_m * (1 - u * u - v * v) + 0.05


def ring_toml(size: float) -> str:
    """Return an oval about the middle of the pond as job.toml has it."""
    corners = (
        f"{{ longitude_deg = {lon:.7f}, latitude_deg = {lat:.7f} }}" for lon, lat in ellipse(12, size=size)
    )
    return f"[{', '.join(corners)}]"


@dataclass(frozen=True)
class Asked:
    """One folder with a pond that its job does not fit.

    Attributes:
        files: outline and soundings.
        more: job.toml is the ten answers with this behind them.
        stage: command and page that says it.
        said: words, each of them.
        refused: nothing can be worked out; else it is a notice.
    """

    files: dict[str, bytes]
    more: str
    stage: str
    said: tuple[str, ...]
    refused: bool = False


DEEP_DIFFUSER = '\n[[air.diffusers]]\nname = "A"\ndepth = "{}"\n'
IN_FOLDER = {
    "soundings on one line": Asked(
        oval(bowl(4.0), along=True), "", "survey", ("All 19 soundings", "Sound a line across")
    ),
    "all soundings shallower than the diffuser": Asked(
        oval(bowl(1.5)), DEEP_DIFFUSER.format("9 m"), "layout",
        ("No place is deep enough for diffuser A", "sound there, or give a depth that the pond has"),
    ),
    "no place deep enough for a plume": Asked(
        oval(bowl(0.6)), "", "layout", ("shallower than", "where a plume moves little")
    ),
    "keep-out over all deep water": Asked(
        oval(bowl(4.0)), f"\n[wishes]\nkeep_out = [{ring_toml(0.8)}]\n", "layout",
        ("The keep-out zones cover all the deep water", "make the zones smaller"),
    ),
    "keep-out over the whole pond": Asked(
        oval(bowl(4.0)), f"\n[wishes]\nkeep_out = [{ring_toml(1.5)}]\n", "layout",
        ("the keep-out zones leave no water for a diffuser", "Make them smaller"), refused=True,
    ),
}  # fmt: skip
