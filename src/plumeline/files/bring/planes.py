"""Numbers of another reference system to longitude and latitude, and a suggestion where a file names none."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from plumeline.errors import InputError
from plumeline.units import far_away

NEAR_M = 20_000.0
MOST_SUGGESTED = 3
_WGS_84 = "EPSG:4326"


def known_crs(text: str, place: str) -> Any:
    """Return the reference system of a name, a number or a definition.

    Args:
        text: ``EPSG:2264``, ``2264``, or the text of a .prj file.
        place: for messages.

    Raises:
        InputError: it is not known, or not one of places on the map.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    asked = text.strip()
    try:
        found = CRS.from_user_input(int(asked) if asked.isdigit() else asked)
    except (CRSError, ValueError, OverflowError):
        raise InputError(
            f"'{asked[:60]}' is no reference system that is known here.",
            remedy="Give its EPSG number, as EPSG:2264; it stands in the surveyor's or the map's legend.",
            place=place,
        ) from None
    if found.is_compound:
        found = found.sub_crs_list[0]
    if found.is_bound and found.source_crs is not None:
        found = found.source_crs
    if not (found.is_geographic or found.is_projected):
        raise InputError(
            f"{found.name} is not a system of places on a map.",
            remedy="Give a projected or a geographic one, as EPSG:2264.",
            place=place,
        )
    return found


def is_plain(crs: Any) -> bool:
    """Return whether the system's numbers are those of WGS 84 already."""
    return bool(crs.is_geographic and crs.to_epsg() == 4326)


def crs_words(crs: Any) -> str:
    """Return a reference system in words, with the unit of its numbers."""
    number = crs.to_epsg(min_confidence=70)
    unit = crs.axis_info[0].unit_name if crs.axis_info else "unit not said"
    return f"{crs.name}{f' (EPSG:{number})' if number else ''}, in {unit}"


def to_lon_lat(x: np.ndarray, y: np.ndarray, crs: Any) -> tuple[np.ndarray, np.ndarray]:
    """Return longitudes and latitudes; what lies outside the system becomes NaN.

    Args:
        x: eastings or longitudes, shape (n,), in the unit of the system.
        y: northings or latitudes, shape (n,).
        crs: from ``known_crs``.
    """
    if is_plain(crs) or len(x) == 0:
        return x, y
    from pyproj import Transformer

    turn = Transformer.from_crs(crs, _WGS_84, always_xy=True)
    lon, lat = turn.transform(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    bad = ~(np.isfinite(lon) & np.isfinite(lat))
    return np.where(bad, np.nan, lon), np.where(bad, np.nan, lat)


def looks_plane(x: np.ndarray, y: np.ndarray) -> bool:
    """Return whether numbers are too large to be degrees."""
    if len(x) == 0:
        return False
    return bool(np.nanmedian(np.abs(x)) > 180.0 or np.nanmedian(np.abs(y)) > 180.0)


def are_degrees(x: np.ndarray, y: np.ndarray, near_deg: tuple[float, float] | None) -> bool:
    """Return whether numbers under the headings of a plane are longitudes and latitudes at the site.

    Args:
        x: under the heading of the eastings, shape (n,).
        y: under that of the northings, shape (n,).
        near_deg: longitude and latitude of the site; without it nothing is told apart.
    """
    if near_deg is None or looks_plane(x, y):
        return False
    from pyproj import Geod

    lon, lat = float(np.nanmedian(x)), float(np.nanmedian(y))
    if abs(lat) > 90.0:
        return False
    return bool(Geod(ellps="WGS84").inv(*near_deg, lon, lat)[2] < NEAR_M)


def suggested(x: float, y: float, near_deg: tuple[float, float] | None) -> tuple[str, ...]:
    """Return systems in which a place lies at the site, the nearest first, each with its distance.

    Args:
        x: of a place in the middle of the file.
        y: of it.
        near_deg: longitude and latitude of the site; None gives no suggestion.
    """
    if near_deg is None:
        return ()
    from pyproj import Geod
    from pyproj.aoi import AreaOfInterest
    from pyproj.database import query_crs_info
    from pyproj.enums import PJType

    lon, lat = near_deg
    around = AreaOfInterest(lon - 0.01, lat - 0.01, lon + 0.01, lat + 0.01)
    infos = query_crs_info(
        auth_name="EPSG", pj_types=[PJType.PROJECTED_CRS], area_of_interest=around, contains=True
    )
    geod, found = Geod(ellps="WGS84"), []
    for info in infos:
        place = _placed(x, y, info.code)
        if place is None:
            continue
        away_m = geod.inv(lon, lat, *place)[2]
        if math.isfinite(away_m) and away_m < NEAR_M:
            found.append((_wide(info), round(away_m), int(info.code), info.name))
    found.sort()
    return tuple(
        f"EPSG:{code} ({name}) puts it {far_away(away_m)} from the site"
        for _, away_m, code, name in found[:MOST_SUGGESTED]
    )


def _wide(info: Any) -> float:
    """Return how wide a system's area is: the narrower, the likelier it was meant."""
    area = info.area_of_use
    return 1.0 if area is None else round((area.east - area.west) * (area.north - area.south))


def _placed(x: float, y: float, code: str) -> tuple[float, float] | None:
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    try:
        turn = Transformer.from_crs(f"EPSG:{code}", _WGS_84, always_xy=True, allow_ballpark=True)
        lon, lat = turn.transform(x, y)
    except ProjError:
        return None
    return (lon, lat) if math.isfinite(lon) and math.isfinite(lat) and abs(lat) <= 90.0 else None


def no_system(
    file: str, x: float, y: float, near_deg: tuple[float, float] | None, heads: str = ""
) -> InputError:
    """Return the error for numbers of a plane that no reference system is named for.

    Args:
        file: for messages.
        x: of a place in the middle of the file.
        y: of it.
        near_deg: longitude and latitude of the site.
        heads: the headings of a plane that the numbers stand under; empty where they stand under those of degrees.
    """
    hints = suggested(x, y, near_deg)
    words = f" By the site's position: {'; '.join(hints)}." if hints else ""
    what = f"{heads} are east and north of a plane" if heads else "that is no longitude and latitude"
    return InputError(
        f"a place in the middle is ({x:.10g}, {y:.10g}): {what}, and the file names no reference system.",
        remedy=f"Name the one its numbers are in, in metres or feet, as --crs EPSG:2264.{words}",
        place=file,
    )
