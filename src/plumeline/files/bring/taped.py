"""A traced shore set right by one distance that was taped on the ground."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from plumeline.errors import InputError, PlumelineError
from plumeline.files.bring.angles import angle_deg
from plumeline.files.bring.ponds import Pond
from plumeline.units import both, parse

NEAR_M = 30.0
"""A place that is named lies no farther than this from the corner that is meant."""
LEAST_M = 5.0
"""Over a shorter distance the tape says nothing of the scale of a pond."""
WIDEST_FRACTION = 2.0
EXAMPLE = "35.9102, -79.7204 to 35.9101, -79.7190 = 412 ft"


@dataclass(frozen=True)
class Taped:
    """A distance between two corners.

    Attributes:
        first_deg: longitude and latitude of the one.
        last_deg: of the other.
        length_m: as taped.
    """

    first_deg: tuple[float, float]
    last_deg: tuple[float, float]
    length_m: float


def parse_taped(text: str) -> Taped:
    """Return a distance from ``35.9102, -79.7204 to 35.9101, -79.7190 = 412 ft``.

    Raises:
        InputError: it is none.
    """
    where, equals, length = text.partition("=")
    ends = [_place(part) for part in where.split(" to ")]
    first, last = ends if len(ends) == 2 else (None, None)
    if not equals or first is None or last is None:
        raise InputError(
            f"'{text.strip()[:80]}' is no taped distance.",
            remedy=f"Write latitude and longitude of both corners: {EXAMPLE}.",
            place="--taped",
        )
    if length.strip().replace(".", "").replace(",", "").isdigit():
        raise InputError(
            f"the taped distance {length.strip()[:30]} has no unit.",
            remedy="Write it as 412 ft.",
            place="--taped",
        )
    try:
        length_m = parse(length.strip(), "m")
    except PlumelineError as error:
        raise InputError(error.message, remedy=error.remedy, place="--taped") from error
    if not length_m >= LEAST_M:
        raise InputError(
            f"{both(length_m, 'm')} is too short to set a shore's scale by.",
            remedy=f"Tape at least {both(LEAST_M, 'm')}, best across the whole pond.",
            place="--taped",
        )
    return Taped(first, last, length_m)


def _place(text: str) -> tuple[float, float] | None:
    parts = [angle_deg(part) for part in text.split(",")]
    if len(parts) != 2 or parts[0] is None or parts[1] is None or abs(parts[0]) > 90.0:
        return None
    return parts[1], parts[0]


def scaled(pond: Pond, taped: Taped) -> Pond:
    """Return a pond made larger or smaller about its middle, so that the taped distance is right on it.

    Raises:
        InputError: no corner is where the distance ends, or the two differ so much that one of them must be wrong.
    """
    from pyproj import Geod

    geod = Geod(ellps="WGS84")
    corners = np.vstack(pond.rings)
    ends = []
    for lon, lat in (taped.first_deg, taped.last_deg):
        away_m = geod.inv(
            corners[:, 0], corners[:, 1], np.full(len(corners), lon), np.full(len(corners), lat)
        )[2]
        index = int(np.argmin(away_m))
        if away_m[index] > NEAR_M:
            raise InputError(
                f"no corner of the shore lies at {lat:.6f}, {lon:.6f}: the nearest is {both(away_m[index], 'm')} away.",
                remedy="Name two corners as they lie in the file.",
                place="--taped",
            )
        ends.append(corners[index])
    drawn_m = geod.inv(ends[0][0], ends[0][1], ends[1][0], ends[1][1])[2]
    if drawn_m <= 0.0:
        raise InputError("both ends are the same corner.", remedy="Name two, far apart.", place="--taped")
    factor = taped.length_m / drawn_m
    if not 1.0 / WIDEST_FRACTION <= factor <= WIDEST_FRACTION:
        raise InputError(
            f"between these corners the drawing has {both(drawn_m, 'm')}, the tape {both(taped.length_m, 'm')}.",
            remedy="One of them is of other corners, or in another unit.",
            place="--taped",
        )
    middle = np.array(pond.middle)
    words = (
        f"drawn {both(drawn_m, 'm')}, taped {both(taped.length_m, 'm')}: the shore was scaled by {factor:.4f}, its "
        f"area by {factor**2:.4f}"
    )
    return replace(
        pond,
        rings=tuple(middle + factor * (ring - middle) for ring in pond.rings),
        area_m2=pond.area_m2 * factor**2,
        words=(*pond.words, words),
    )
