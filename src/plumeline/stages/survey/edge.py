"""What the job says of the water's edge: depth where walls stand, all round or on a stretch, and the banks' slope.

All round, the surface is d(x) = h + w(x)^p f(x), h the depth at the edge. Along a stretch of wall no bank begins: there
w does not come to zero (basin.py), and the depth at the wall's foot counts as readings, as sure as one word for a wall.
The slope counts as readings too: depths h + s / run in 24 places at a short way s off the banks, each with an error of
a quarter; those count that have no sounding within 6 m. Where soundings come in to the shore they say more, and the
slope is not used. What a told slope errs all round at once is in the band by unsounded.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, substring

from plumeline.errors import InputError
from plumeline.job.document import Pond, Wall
from plumeline.notices import Notice, caution, note
from plumeline.stages.survey.along import even_places
from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface
from plumeline.stages.survey.plane import LocalPlane
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.unsounded import Strip
from plumeline.units import both

BANK_PLACES = 24
BANK_AWAY_M = 2.0
BANK_AWAY_FRACTION = 0.2
"""Of the way from the shore to its farthest water: in a small pond the banks end sooner."""
BANK_ERROR_FRACTION = 0.25
"""Of the depth of each place of the banks."""
BANK_UNSOUNDED_M = 6.0
"""A place of the banks counts where no sounding lies nearer: nothing within some 8 m of the shore."""
UNSOUNDED = (
    "Along the shore no sounding comes near the banks, and nobody said how steep they are: on a pond dug flat the "
    "volume comes out a seventh too large so, and the band is made as wide as that asks. Tell "
    "pond.bank_slope, taken with pole and tape and not by eye, or sound off them on four sides, near the shore."
)
WALL_PLACES = 8
WALL_AWAY_M = 0.3
WALL_ERROR_FRACTION = 0.25
"""Of a wall's depth, for each of its places: all together err by a tenth. Judgement."""
FAR_FROM_SHORE_M = 30.0
MOST_WALLED_FRACTION = 0.9


@dataclass(frozen=True, eq=False)
class Stretch:
    """A wall as a line on the shore, and the depth at its foot."""

    line: LineString
    depth_m: float


@dataclass(frozen=True, eq=False)
class Edge:
    """The depth at the water's edge.

    Attributes:
        all_round_m: that of the whole shore where no stretch of wall stands.
        walls: the stretches as lines on the shore, with the depth at their foot.
        walled_m: their length in all.
        mean_m: mean depth along the shore.
    """

    all_round_m: float
    walls: tuple[Stretch, ...]
    walled_m: float
    mean_m: float

    @property
    def lines(self) -> BaseGeometry:
        """The walls as one geometry."""
        return shapely.union_all([wall.line for wall in self.walls])


def edge_of(pond: Pond, polygon: Polygon, plane: LocalPlane) -> Edge:
    """Return the depth at the water's edge as the job says it, 0 where it says nothing.

    Raises:
        InputError: the end of a wall lies far from the shore, or walls take the whole of it.
    """
    all_round_m = pond.shore_depth_m or 0.0
    walls = tuple(
        Stretch(_stretch(wall, polygon, plane, n), wall.depth_m) for n, wall in enumerate(pond.walls, start=1)
    )
    if not walls:
        return Edge(all_round_m, (), 0.0, all_round_m)
    walled_m, length_m = float(shapely.union_all([wall.line for wall in walls]).length), float(polygon.length)
    if walled_m > MOST_WALLED_FRACTION * length_m:
        raise InputError(
            f"walls take {both(walled_m, 'm')} of {both(length_m, 'm')} of shore.",
            remedy="Say pond.shore_depth where walls stand all round, and leave pond.walls to stretches.",
            place="pond.walls",
        )
    foot_m2 = sum(wall.line.length * wall.depth_m for wall in walls)
    mean_m = (foot_m2 + (length_m - walled_m) * all_round_m) / length_m
    return Edge(all_round_m, walls, walled_m, mean_m)


def _stretch(wall: Wall, polygon: Polygon, plane: LocalPlane, number: int) -> LineString:
    """Return a wall as a line along the shore, the shorter way round."""
    ring = LineString(polygon.exterior.coords)
    at = []
    for name, place in (("start", wall.start), ("end", wall.end)):
        point = shapely.Point(plane.to_xy(place))
        away_m = float(ring.distance(point))
        if away_m > FAR_FROM_SHORE_M:
            raise InputError(
                f"the {name} of wall {number} lies {both(away_m, 'm')} from the shore.",
                remedy="Give two places on the shore; the wall takes the shorter way along it between them.",
                place=f"pond.walls, {name}",
            )
        at.append(float(ring.project(point)))
    low, high = sorted(at)
    if high == low:
        raise InputError(
            f"start and end of wall {number} are the same place on the shore.",
            remedy="Give the two ends of the wall.",
            place="pond.walls",
        )
    if high - low <= 0.5 * ring.length:
        return LineString(substring(ring, low, high).coords)
    over = [*substring(ring, high, ring.length).coords, *list(substring(ring, 0.0, low).coords)[1:]]
    return LineString(over)


def lowered(points: Points, wall_m: float) -> Points:
    """Return soundings as depths under the foot of a wall all round."""
    return replace(points, depth_m=points.depth_m - wall_m) if wall_m else points


def raised(surface: DepthSurface, basin: Basin, wall_m: float) -> DepthSurface:
    """Return a surface drawn under the foot of a wall all round, with the water above that."""
    if not wall_m:
        return surface
    more_m3 = wall_m * float(basin.area_m2.sum())
    return replace(
        surface,
        depth_m=np.where(basin.wet, np.maximum(surface.depth_m + wall_m, 0.0), 0.0),
        volume_p05_m3=surface.volume_p05_m3 + more_m3,
        volume_p95_m3=surface.volume_p95_m3 + more_m3,
        cases=replace(surface.cases, volume_m3=surface.cases.volume_m3 + more_m3),
    )


def with_edge(points: Points, run_number: float | None, edge: Edge, basin: Basin) -> Points:
    """Return soundings (under a wall all round) with what is said of walls and banks as readings among them.

    Args:
        points: soundings; they get the banks' slope where they leave the banks out.
        run_number: run of the banks for one of fall; None: nothing is said.
        edge: the water's edge.
        basin: the grid.
    """
    said = [_feet(wall.line, wall.depth_m - edge.all_round_m, basin.polygon) for wall in edge.walls]
    if run_number is not None:
        said.append(_banks(run_number, edge, basin, points))
    if not said:
        return points
    xy, depth_m, own_m = (np.concatenate(column) for column in zip(*said, strict=True))
    count = len(points.depth_m)
    line = None if points.line_index is None else np.append(points.line_index, np.full(len(xy), -1))
    return Points(
        xy=np.vstack([points.xy, xy]),
        depth_m=np.append(points.depth_m, depth_m),
        count=np.append(points.count, np.ones(len(xy))),
        line_index=line,
        own_error_m=np.append(np.zeros(count), own_m),
    )


def _feet(line: LineString, depth_m: float, polygon: Polygon) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return places at the foot of a wall, (n, 2), the depth there and its own error, (n)."""
    inner = polygon.buffer(-WALL_AWAY_M)
    at = shapely.line_interpolate_point(line, (np.arange(WALL_PLACES) + 0.5) / WALL_PLACES, normalized=True)
    xy = np.array([nearest_points(inner, point)[0].coords[0] for point in at])
    return xy, np.full(len(xy), depth_m), np.full(len(xy), WALL_ERROR_FRACTION * abs(depth_m) + 1e-3)


def told_fraction(run_number: float | None, points: Points, edge: Edge, basin: Basin) -> float:
    """Return the part of the banks for which a slope counts that was told; 0 where none was.

    Args:
        run_number: run of the banks for one of fall; None: nothing is said.
        points: soundings.
        edge: the water's edge.
        basin: the grid.
    """
    places_xy = _bank_places(edge, basin)
    if run_number is None or not len(places_xy):
        return 0.0
    return len(_left_out(places_xy, points)) / len(places_xy)


def bank_notices(
    pond: Pond, points: Points, strip: Strip, volume_m3: float, se_m3: float
) -> tuple[Notice, ...]:
    """Return where a slope said of the banks is not used, or is wanted and was not said.

    Args:
        pond: as the job says it.
        points: soundings.
        strip: what lies between them and the shore.
        volume_m3: of the pond.
        se_m3: its standard error without what the strip leaves open.
    """
    if pond.bank_run_number is None:
        return (caution("banks-unsounded", UNSOUNDED),) if strip.worth_saying(volume_m3, se_m3) else ()
    used, track = strip.told_fraction, points.line_index is not None
    if used == 1.0 or (used and not track):
        return ()
    what = "is used along a part of the shore alone: elsewhere" if used else "is not used:"
    who = "the lines of this track" if track else "the soundings"
    text = f"The slope of the banks {what} {who} come in to the shore and say themselves how the banks begin."
    return (note("bank-slope-unused", text),)


def bank_away_m(basin: Basin) -> float:
    """Return how far off the shore the banks' slope counts as a reading [m]."""
    return min(BANK_AWAY_M, BANK_AWAY_FRACTION * float(np.nanmax(basin.shore_distance_m)))


def _banks(
    run_number: float, edge: Edge, basin: Basin, points: Points
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return places off the banks, none beside a wall nor where they are sounded, the depth there and its error."""
    depth_m, xy = bank_away_m(basin) / run_number, _left_out(_bank_places(edge, basin), points)
    return xy, np.full(len(xy), depth_m), np.full(len(xy), BANK_ERROR_FRACTION * depth_m)


def _left_out(places_xy: np.ndarray, points: Points) -> np.ndarray:
    """Return those of the places (n, 2) near which there is no sounding."""
    away_m, _ = cKDTree(points.xy).query(places_xy)
    return np.asarray(places_xy[away_m > BANK_UNSOUNDED_M])


def _bank_places(edge: Edge, basin: Basin) -> np.ndarray:
    """Return even places at a way off the banks, none beside a wall, (n, 2)."""
    away_m = bank_away_m(basin)
    inner = shapely.get_parts(basin.polygon.buffer(-away_m))
    rings = [LineString(ring.coords) for part in inner for ring in (part.exterior, *part.interiors)]
    points = even_places(rings, BANK_PLACES)
    if edge.walls:
        points = points[shapely.distance(points, edge.lines) > 2.0 * away_m]
    return shapely.get_coordinates(points).reshape(-1, 2)
