"""The manifold on the shore and the branch lines along the bottom."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import ceil, hypot

import numpy as np
import shapely

from plumeline.errors import InputError
from plumeline.job.document import Diffuser, Job, Place
from plumeline.notices import Notice, caution
from plumeline.sources import read_table
from plumeline.stages.layout.kept_out import XY, Ways
from plumeline.stages.layout.together import Lines
from plumeline.stages.layout.trunk import ways_over_land, weight_of
from plumeline.stages.survey import Survey
from plumeline.units import both

SHORE_PLACES = 90
CUT_STEP_M = 1.524
"""Lines are cut to the next 5 ft."""
SAMPLE_M = 0.5
FAR_FROM_WATER_M = 30.0
FAR_IN_WATER_M = 5.0
"""A manifold farther out can't be reached from the bank; a phone's place errs by about as much."""
TOGETHER_M = 1.0
"""So near to the manifold lines may lie over each other: they come together there."""
FARTHEST_POWER_M = 20_000.0


@dataclass(frozen=True)
class Branch:
    """A line on the plan, its length on the bottom, the length it gets and the length to cut."""

    path_xy: tuple[tuple[float, float], ...]
    run_m: float
    length_m: float
    cut_m: float
    pipe: str
    bore_m: float


@dataclass(frozen=True, eq=False)
class Stands:
    """Where the manifold may stand, and what the lines from there come to.

    Attributes:
        places_xy: the job's own place, or places on the shore outside the keep-out zones, (m, 2).
        trunk_m: the trunk's way over land to each, (m); None where its start is not known.
        trunk_weight_number: metres of branch that a metre of trunk counts for.
        reason: why it stands where it will.
        notices: what there is to say of the job's own place.
    """

    places_xy: np.ndarray
    trunk_m: np.ndarray | None
    trunk_weight_number: float
    reason: str
    notices: tuple[Notice, ...] = ()

    def lines(
        self,
        ways: Ways,
        led: Mapping[str, Sequence[XY]],
        pool_xy: np.ndarray,
        placed: list[tuple[Diffuser, XY]],
        rest: list[Diffuser],
    ) -> Lines:
        """Return the lines from each place to the places of diffusers that have one, and to candidates for the rest.

        Args:
            ways: ways for lines.
            led: the bends of each line that the job leads through places, by diffuser.
            pool_xy: candidates, (k, 2).
            placed: diffusers with their places.
            rest: diffusers without one.
        """
        water_xy = np.array([ways.nearest((float(x), float(y))) for x, y in self.places_xy])
        land_m = np.hypot(*(self.places_xy - water_xy).T)[:, None]

        def to(diffuser: Diffuser, ends_xy: np.ndarray) -> np.ndarray:
            stops = np.array(led.get(diffuser.name, ())).reshape(-1, 2)
            if not len(stops):
                return np.asarray(land_m + ways.distances(water_xy, ends_xy))
            between_m = sum(float(ways.distances(a[None], b[None])[0, 0]) for a, b in pairwise(stops))
            first, last = ways.distances(water_xy, stops[:1]), ways.distances(stops[-1:], ends_xy)
            return np.asarray(land_m + first + between_m + last)

        trunk_m = np.zeros(len(water_xy)) if self.trunk_m is None else self.trunk_m * self.trunk_weight_number
        fixed_m = sum((to(item, np.array([xy]))[:, 0] for item, xy in placed), np.zeros(len(water_xy)))
        return Lines(tuple(to(item, pool_xy) for item in rest), fixed_m, trunk_m)


def stands_of(job: Job, given: Place | None, survey: Survey, ways: Ways) -> Stands:
    """Return where the manifold may stand.

    Args:
        job: its power's place and prices say what the trunk counts for.
        given: the job's own place of the manifold, or None: anywhere on the shore.
        survey: the basin.
        ways: ways through it for lines.

    Raises:
        InputError: the compressor's place is no place at the pond.
    """
    if given is not None:
        xy, reason, notices = _given(given, survey, ways)
        return Stands(np.array([xy]), None, 1.0, reason, notices)
    shore_line = survey.polygon.exterior
    at = [shore_line.interpolate(n / SHORE_PLACES, normalized=True) for n in range(SHORE_PLACES)]
    places = np.array([(point.x, point.y) for point in at])
    places = places[ways.free(places)]
    if job.power.place is None or survey.outline_assumed:
        reason = "the place on the shore with the shortest branches in all; the trunk's start is not known"
        return Stands(places, None, 1.0, reason)
    start = survey.plane.to_xy(job.power.place)
    away_m = float(survey.polygon.distance(shapely.Point(start)))
    if away_m > FARTHEST_POWER_M:
        raise InputError(
            f"the compressor's place lies {both(away_m, 'm')} from the pond, and no air line is as long.",
            remedy="Check that longitude and latitude are not exchanged and no sign is lost, or leave it out.",
            place="power.place",
        )
    weight, why = weight_of(job)
    trunk_m = ways_over_land(survey.polygon, start, places)
    reason = f"the place on the shore with the least line in all, trunk and branches; {why}"
    return Stands(places, trunk_m, weight, reason)


def _given(given: Place, survey: Survey, ways: Ways) -> tuple[tuple[float, float], str, tuple[Notice, ...]]:
    """Return the job's own place, or the assumed shore's nearest to it, and what there is to say of it."""
    xy = survey.plane.to_xy(given)
    shore = ways.nearest(xy)
    away_m = hypot(xy[0] - shore[0], xy[1] - shore[1])
    out_m = float(survey.polygon.boundary.distance(shapely.Point(xy)))
    if away_m == 0.0 and out_m > FAR_IN_WATER_M and not survey.outline_assumed:
        text = (
            f"The manifold stands {both(out_m, 'm')} out in the water: its valves can't be reached from the bank, and "
            "the trunk's length over land ends at the shore. Check its place, or give it one on the shore."
        )
        return xy, "where the job puts it", (caution("manifold-in-water", text),)
    if away_m <= FAR_FROM_WATER_M:
        return xy, "where the job puts it", ()
    if survey.outline_assumed:
        return (
            shore,
            "the assumed shore's nearest place to the job's own; the outline is not known",
            (),
        )
    text = f"The manifold stands {both(away_m, 'm')} from the water; every branch is that much longer."
    return xy, "where the job puts it", (caution("manifold-far", text),)


def bore_of(job: Job, diffuser: Diffuser) -> tuple[str, float]:
    """Return a branch's pipe (empty where only its bore is given) and inside diameter [m].

    Raises:
        InputError: the pipe is not in the table.
    """
    if diffuser.branch_bore_m is not None:
        return diffuser.branch_pipe, diffuser.branch_bore_m
    name = diffuser.branch_pipe or job.air.branch_pipe
    bores = {row["name"]: float(row["bore_m"]) for row in read_table("pipes")}
    if name not in bores:
        near = difflib.get_close_matches(name, bores, n=3) or ["tubing-1/2", "tubing-3/8"]
        raise InputError(
            f"no pipe '{name}' in the table of pipes.",
            remedy=f"Near names: {', '.join(near)}; or give branch_bore.",
            place="air.diffusers",
        )
    return name, bores[name]


def length_on_bottom(survey: Survey, path_xy: np.ndarray, rise_m: float) -> float:
    """Return the length [m] of a line that lies on the bottom along a way (k, 2), then rises to its membrane.

    Equation: Σ √(Δs² + Δd²) over steps of half a metre, d the depth, plus the rise.
    """
    places = [path_xy[:1]]
    for start, end in pairwise(path_xy):
        steps = max(1, ceil(float(np.hypot(*(end - start))) / SAMPLE_M))
        places.append(start + (end - start) * (np.arange(1, steps + 1) / steps)[:, None])
    xy = np.concatenate(places)
    depth = survey.grid.sample(xy[:, 0], xy[:, 1])
    along = np.hypot(*np.diff(xy, axis=0).T)
    return float(np.hypot(along, np.diff(depth)).sum()) + max(rise_m, 0.0)


def bends_of(diffuser: Diffuser, survey: Survey) -> tuple[tuple[float, float], ...]:
    """Return the places that a branch is led through, in turn from the manifold.

    Raises:
        InputError: one of them lies outside the water.
    """
    found = tuple(survey.plane.to_xy(place) for place in diffuser.branch_through)
    for number, xy in enumerate(found, start=1):
        if not survey.polygon.covers(shapely.Point(xy)):
            raise InputError(
                f"the line of '{diffuser.name}' is led through a place outside the water (bend {number}).",
                remedy="Move it into the water, or leave it out.",
                place="air.diffusers, branch_through",
            )
    return found


def crossing_notices(lines: dict[str, tuple[tuple[float, float], ...]]) -> tuple[Notice, ...]:
    """Return which lines cross each other: shortest ways from one manifold never do, lines led by hand may.

    Args:
        lines: by diffuser.
    """
    shapes = {name: shapely.LineString(path) for name, path in lines.items() if len(path) > 1}
    pairs = []
    for first, second in combinations(shapes, 2):
        met = shapely.intersection(shapes[first], shapes[second])
        # lines that lie side by side on their first way meet in a piece; a crossing is a point far from the manifold
        points = [part for part in shapely.get_parts(met) if part.geom_type == "Point"]
        start = shapely.Point(lines[first][0])
        if any(shapely.distance(point, start) > TOGETHER_M for point in points):
            pairs.append(f"{first} and {second}")
    if not pairs:
        return ()
    text = (
        f"The lines of {', of '.join(pairs)} cross. The upper one lies on the lower one: neither can be lifted alone, "
        "and a dip holds water. Lead one round the other, or place the manifold elsewhere."
    )
    return (caution("lines-cross", text),)


def branch_of(
    job: Job,
    survey: Survey,
    ways: Ways,
    manifold_xy: tuple[float, float],
    diffuser: Diffuser,
    stops_xy: Sequence[XY],
    rise_m: float,
) -> Branch:
    """Return the branch of one diffuser: over land to the nearest water, then the shortest way through it.

    A line that the job leads through places takes the shortest way from each to the next. Keep-out zones are gone
    round where the water lets the line.

    Args:
        job: its pipes and slack.
        survey: the basin.
        ways: ways through it for lines.
        manifold_xy: where the branch begins.
        diffuser: of the branch.
        stops_xy: places that it is led through, the diffuser's own last.
        rise_m: from the bottom to the membrane.

    Raises:
        InputError: a pipe is not known.
    """
    shore = ways.nearest(manifold_xy)
    stops = [shore, *stops_xy]
    pieces = [ways.path(start, end) for start, end in pairwise(stops)]
    path = np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])])
    if shore != manifold_xy:
        path = np.vstack([np.array([manifold_xy]), path])
    run_m = length_on_bottom(survey, path, rise_m)
    length_m = diffuser.branch_length_m
    if length_m is None:
        length_m = run_m * (1.0 + job.air.slack_fraction)
    pipe, bore_m = bore_of(job, diffuser)
    cut_m = round(ceil(length_m / CUT_STEP_M - 1e-9) * CUT_STEP_M, 6)
    return Branch(tuple((float(x), float(y)) for x, y in path), run_m, length_m, cut_m, pipe, bore_m)
