"""Places held against the job's position: exchanged numbers and a lost sign are put right, and that is said."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring.value import Brought
from plumeline.files.outline_checks import NEAR_M, distance_m
from plumeline.job.document import Site
from plumeline.units import far_away

Turn = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]

TURNS: tuple[tuple[str, Turn], ...] = (
    ("", lambda lon, lat: (lon, lat)),
    ("longitude and latitude have changed places", lambda lon, lat: (lat, lon)),
    ("the sign of the longitude is the wrong one (east for west)", lambda lon, lat: (-lon, lat)),
    ("the sign of the latitude is the wrong one (north for south)", lambda lon, lat: (lon, -lat)),
    ("longitude and latitude have changed places, and one sign is wrong", lambda lon, lat: (-lat, lon)),
)


@dataclass(frozen=True)
class Side:
    """How places were turned to lie at the site; no words where they did already."""

    words: str = ""


def put_right(brought: Sequence[Brought], site: Site | None) -> tuple[Sequence[Brought], Side]:
    """Return files whose places lie at the site.

    Args:
        brought: what was read.
        site: the job's position; None leaves everything as it is.

    Raises:
        InputError: they lie elsewhere, whichever way they are turned.
    """
    if site is None:
        return brought, Side()
    found, said = [], []
    for one in brought:
        places = _places(one)
        if not len(places):
            found.append(one)
            continue
        # the nearest place decides: a file of a whole county may hold the pond
        words, turn = _turned(one, places, site)
        found.append(_with(one, turn) if words else one)
        if words:
            said.append(f"{one.file}: {words}; that was put right, for so the places lie at the site.")
    return found, Side(" ".join(said))


def _places(one: Brought) -> np.ndarray:
    parts = [ring for area in one.areas for ring in area.rings] + [line.places for line in one.lines]
    parts.append(np.column_stack([one.spots.lon_deg, one.spots.lat_deg]))
    whole = np.vstack([part for part in parts if len(part)] or [np.empty((0, 2))])
    whole = whole[np.isfinite(whole).all(axis=1)]
    some: np.ndarray = whole[:: max(1, len(whole) // 2000)]
    return some


def _turned(one: Brought, places: np.ndarray, site: Site) -> tuple[str, Turn]:
    nearest_m = np.inf
    for words, turn in TURNS:
        lon, lat = turn(*places.T)
        if max(np.abs(lat).max(), np.abs(lon).max() / 2) > 90.0:
            continue
        away_m = min(distance_m(float(a), float(b), site) for a, b in zip(lon, lat, strict=True))
        if not words:
            nearest_m = away_m
        if away_m <= NEAR_M:
            return words, turn
    _refuse_slips(one, places)
    lon, lat = np.median(places, axis=0)
    said = f"{far_away(nearest_m)} from" if np.isfinite(nearest_m) else "nowhere near"
    raise InputError(
        f"the places, around {lat:.5f}, {lon:.5f}, lie {said} the site's position "
        f"({site.latitude_deg:.5f}, {site.longitude_deg:.5f}).",
        remedy="Check the position in job.toml, the reference system (--crs), and whether it is the right file.",
        place=one.file,
    )


def _refuse_slips(one: Brought, places: np.ndarray) -> None:
    """Name the first place that there is not on the earth, where most of the others are: a slip of the pen.

    Raises:
        InputError: with its row, where the file has one for each place.
    """
    lon, lat = places.T
    none = (np.abs(lat) > 90.0) | (np.abs(lon) > 180.0)
    if not 0 < none.sum() < len(places) / 2:
        return
    wrong_lon, wrong_lat = places[none][0]
    rows = one.spots.row[(one.spots.lon_deg == wrong_lon) & (one.spots.lat_deg == wrong_lat)]
    where = f"row {rows[0]}: " if len(rows) else ""
    raise InputError(
        f"{where}there is no place at latitude {wrong_lat:g}, longitude {wrong_lon:g}.",
        remedy="Latitudes reach from -90 to 90, longitudes from -180 to 180. Mend it there, or take that row out, and "
        "bring the file again.",
        place=one.file,
    )


def _with(one: Brought, turn: Turn) -> Brought:
    def each(places: np.ndarray) -> np.ndarray:
        return np.column_stack(turn(*places.T))

    lon, lat = turn(one.spots.lon_deg, one.spots.lat_deg)
    spots = replace(one.spots, lon_deg=lon, lat_deg=lat)
    return replace(
        one,
        areas=tuple(replace(area, rings=tuple(each(ring) for ring in area.rings)) for area in one.areas),
        lines=tuple(replace(line, places=each(line.places)) for line in one.lines),
        spots=spots,
    )
