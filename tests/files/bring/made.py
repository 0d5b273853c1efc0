"""Files as devices and map programs write them, made up for the tests; the pond is an ellipse at a known place."""

from __future__ import annotations

import math
from pathlib import Path

from plumeline.job.document import Site

LON, LAT = -79.5631, 35.8652
SITE = Site(latitude_deg=LAT, longitude_deg=LON, elevation_m=207.0)


def ellipse(
    count: int = 60, lon: float = LON, lat: float = LAT, size: float = 1.0
) -> list[tuple[float, float]]:
    """Return places round an ellipse of some 110 by 90 m, not closed."""
    return [
        (
            lon + size * 0.0006 * math.cos(2 * math.pi * index / count),
            lat + size * 0.0004 * math.sin(2 * math.pi * index / count),
        )
        for index in range(count)
    ]


def put(folder: Path, name: str, text: str | bytes) -> Path:
    """Write a file and return its path."""
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def gpx(points: str, *, spaces: str = "") -> str:
    """Return a GPX 1.1 file around its points."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1" {spaces}>\n{points}\n</gpx>\n'
    )


def track(places: list[tuple[float, float]], inside: list[str] | None = None, name: str = "round") -> str:
    """Return a track of one segment, a row for each point."""
    inside = inside or [""] * len(places)
    rows = "\n".join(
        f'<trkpt lat="{lat:.8f}" lon="{lon:.8f}">{more}</trkpt>'
        for (lon, lat), more in zip(places, inside, strict=True)
    )
    return f"<trk><name>{name}</name><trkseg>\n{rows}\n</trkseg></trk>"


def kml(body: str) -> str:
    """Return a KML file around its placemarks."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2" '
        f'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document>\n{body}\n</Document></kml>\n'
    )


def coordinates(places: list[tuple[float, float]]) -> str:
    """Return places as KML writes them, closed."""
    return " ".join(f"{lon:.8f},{lat:.8f},0" for lon, lat in [*places, places[0]])


def kml_polygon(
    places: list[tuple[float, float]], name: str, islands: tuple[list[tuple[float, float]], ...] = ()
) -> str:
    """Return a placemark with a polygon."""
    inner = "".join(
        f"<innerBoundaryIs><LinearRing><coordinates>{coordinates(ring)}</coordinates></LinearRing></innerBoundaryIs>"
        for ring in islands
    )
    return (
        f"<Placemark><name>{name}</name><Polygon><outerBoundaryIs><LinearRing><coordinates>\n{coordinates(places)}\n"
        f"</coordinates></LinearRing></outerBoundaryIs>{inner}</Polygon></Placemark>"
    )
