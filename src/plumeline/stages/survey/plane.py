"""The local plane: longitude and latitude to metres east and north, areas kept true."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from pyproj import Proj

from plumeline.job.document import Job, LocalPoint, Place, Point


@dataclass(frozen=True)
class LocalPlane:
    """Lambert's azimuthal equal-area plane on the WGS 84 ellipsoid, with its centre.

    Source: Snyder 1987, Map projections: a working manual, USGS Professional Paper 1395, section 24 (by
    PROJ).
    """

    longitude_deg: float
    latitude_deg: float

    @cached_property
    def _proj(self) -> Proj:
        return Proj(proj="laea", ellps="WGS84", lon_0=self.longitude_deg, lat_0=self.latitude_deg)

    def to_xy(self, place: Place) -> tuple[float, float]:
        """Return a place in metres east and north of the centre; a LocalPoint passes through as it is."""
        if isinstance(place, LocalPoint):
            return place.x_m, place.y_m
        x_m, y_m = self._proj(place.longitude_deg, place.latitude_deg)
        return float(x_m), float(y_m)

    def to_point(self, x_m: float, y_m: float) -> Point:
        """Return the longitude and latitude of a place of the plane."""
        longitude_deg, latitude_deg = self._proj(x_m, y_m, inverse=True)
        return Point(longitude_deg=float(longitude_deg), latitude_deg=float(latitude_deg))

    def many_to_xy(self, places: tuple[Place, ...]) -> np.ndarray:
        """Return places as an array of shape (n, 2) in metres."""
        xy = np.array([_raw(place) for place in places], dtype=float).reshape(-1, 2)
        geographic = np.array([isinstance(place, Point) for place in places], dtype=bool)
        if geographic.any():
            x_m, y_m = self._proj(xy[geographic, 0], xy[geographic, 1])
            xy[geographic] = np.column_stack([x_m, y_m])
        return xy


def _raw(place: Place) -> tuple[float, float]:
    if isinstance(place, LocalPoint):
        return place.x_m, place.y_m
    return place.longitude_deg, place.latitude_deg


def plane_of(job: Job) -> LocalPlane:
    """Return the plane of a job.

    It is centred on the pond's shore, or on the site's position as soon as any place of the job is given in
    metres, because those are metres from that position.
    """
    ring = job.pond.outline[0] if job.pond.outline else ()
    shore = [place for place in ring if isinstance(place, Point)]
    if _any_local(job) or not shore:
        return LocalPlane(job.site.longitude_deg, job.site.latitude_deg)
    longitudes = [place.longitude_deg for place in shore]
    latitudes = [place.latitude_deg for place in shore]
    return LocalPlane((min(longitudes) + max(longitudes)) / 2, (min(latitudes) + max(latitudes)) / 2)


def _any_local(job: Job) -> bool:
    places: list[Place | None] = [place for ring in job.pond.outline for place in ring]
    places += [sounding.place for sounding in job.pond.soundings]
    places += [place for ring in job.wishes.keep_out for place in ring]
    places += [place for wall in job.pond.walls for place in (wall.start, wall.end)]
    places += [job.power.place, *(mark.place for mark in job.pond.marks)]
    parts = [job.air, job.as_designed, job.as_built]
    for part in parts:
        if part is not None:
            places += [part.manifold, *(diffuser.place for diffuser in part.diffusers)]
    return any(isinstance(place, LocalPoint) for place in places)
