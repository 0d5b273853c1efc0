"""A shore that somebody walked with a phone: read, said in words, and put into the outline of the folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring.hemisphere import put_right
from plumeline.files.bring.ponds import Pond, ponds_of
from plumeline.files.bring.value import Area, Brought
from plumeline.files.field_items import ShoreBody
from plumeline.files.findings import Findings
from plumeline.files.geojson import FILE, read_outline
from plumeline.files.outline_checks import distance_m
from plumeline.files.shore_lines import with_shore
from plumeline.job.document import Point, Site
from plumeline.units import both

WALK = "the walk"


def walked(body: ShoreBody, site: Site | None = None) -> Pond:
    """Return the shore of a walk, its loops cut off and its corners thinned as of any outline.

    Args:
        body: what the phone sent.
        site: the job's position; None leaves out whether the walk lies there.

    Raises:
        InputError: it crosses itself, encloses nothing, or lies elsewhere.
    """
    ring = np.column_stack([body.places.longitude_deg, body.places.latitude_deg])
    brought = Brought(WALK, "walk", areas=(Area((ring,)),))
    found, side = put_right([brought], site)
    (pond,) = ponds_of(found)
    return pond if not side.words else Pond(**{**pond.__dict__, "words": (side.words, *pond.words)})


def shore_words(body: ShoreBody) -> tuple[str, ...]:
    """Return what a walk says, in words: its points, how good they are, how far its ends lie apart.

    Args:
        body: what the phone sent.

    Raises:
        InputError: as in `walked`.
    """
    pond = walked(body)
    places = body.places
    good_m = [value for value in places.accuracy_m if value is not None]
    typed_count = len(places.latitude_deg) - len(good_m)
    step_m = _steps_m(body)
    points = f"{len(places.latitude_deg)} points"
    points += f", {typed_count} of them typed" if typed_count else ""
    if good_m:
        points += f", good to {both(float(np.median(good_m)), 'm')}, the worst to {both(max(good_m), 'm')}"
    way = f"{both(sum(step_m[:-1]), 'm')} of way, the ends {both(step_m[-1], 'm')} apart and joined by a straight line"
    way += f", the longest step {both(max(step_m[:-1]), 'm')}"
    return (points, way, f"area: {both(pond.area_m2, 'm2')}", *pond.words)


def _steps_m(body: ShoreBody) -> list[float]:
    """Return the distances from point to point, that from the last to the first behind them."""
    pairs = list(zip(body.places.longitude_deg, body.places.latitude_deg, strict=True))
    found = []
    for (lon, lat), (next_lon, next_lat) in zip(pairs, [*pairs[1:], pairs[0]], strict=True):
        here = Site(latitude_deg=lat, longitude_deg=lon, elevation_m=0.0)
        found.append(distance_m(next_lon, next_lat, here))
    return found


def with_walk(files: Mapping[str, bytes], body: ShoreBody, site: Site | None, *, picked: bool) -> bytes:
    """Return outline.geojson with a walk in it.

    Args:
        files: of the folder.
        body: what the phone sent.
        site: the job's position.
        picked: it was picked over the shore that is there.

    Raises:
        InputError: as in `walked`; another shore is there and this one was not picked; an island that is in no pond.
    """
    pond = walked(body, site)
    old = _rings(files.get(FILE), site)
    rings = _with_island(pond, old) if body.what == "island" else _in_its_place(pond, old, picked=picked)
    return with_shore(files.get(FILE), [_points(ring) for ring in rings])


def _rings(data: bytes | None, site: Site | None) -> list[np.ndarray]:
    """Return the rings that are there, as they lie at the site, the shore first; none where there is no outline."""
    if data is None:
        return []
    with TemporaryDirectory(prefix="plumeline-") as folder:
        path = Path(folder) / FILE
        path.write_bytes(data)
        rings = tuple(np.array(ring) for ring in read_outline(path, Findings()))
    if not rings:
        return []
    (brought,), _ = put_right([Brought(FILE, "outline", areas=(Area(rings),))], site)
    return list(brought.areas[0].rings)


def _points(ring: np.ndarray) -> list[Point]:
    return [Point(longitude_deg=round(float(lon), 8), latitude_deg=round(float(lat), 8)) for lon, lat in ring]


def _in_its_place(pond: Pond, old: list[np.ndarray], *, picked: bool) -> list[np.ndarray]:
    """Return the walk in place of the shore that is there, with those of its islands that lie inside."""
    from shapely import Polygon

    if not old:
        return [*pond.rings]
    shore = Polygon(pond.rings[0])
    inside = [ring for ring in old[1:] if shore.contains(Polygon(ring))]
    if not picked:
        (before,) = ponds_of([Brought(FILE, "outline", areas=(Area(tuple(old)),))])
        gone = len(old) - 1 - len(inside)
        islands = f" Its {len(inside)} islands stay." if inside else ""
        islands += f" {gone} of its islands would lie outside and go." if gone else ""
        raise InputError(
            f"the job has a shore already, of {both(before.area_m2, 'm2')}; the walk holds {both(pond.area_m2, 'm2')}, "
            f"{100 * (pond.area_m2 / before.area_m2 - 1):+.0f} %.{islands}",
            remedy="Pick this one to put it in its place; the old one stays in the history. Or set it aside.",
        )
    return [pond.rings[0], *inside]


def _with_island(pond: Pond, old: list[np.ndarray]) -> list[np.ndarray]:
    """Return the shore that is there with one island more, wound the other way."""
    from shapely import Polygon

    if not old:
        raise InputError(
            "an island was walked, and the job has no shore around it yet.",
            remedy="Take the walk round the pond first.",
        )
    island = Polygon(pond.rings[0])
    if not Polygon(old[0], old[1:]).contains(island):
        raise InputError(
            "the island that was walked does not lie in the water of the job's shore.",
            remedy="Take a walk round the pond first that goes round it, or draw it on the page of the shore.",
        )
    return [*old, pond.rings[0][::-1]]
