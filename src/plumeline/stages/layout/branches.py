"""The manifold on the shore and the branch lines along the bottom."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import ceil, hypot

import numpy as np
import shapely

from plumeline.errors import InputError
from plumeline.job.document import Diffuser, Job, Place
from plumeline.notices import Notice, caution
from plumeline.sources import read_table
from plumeline.stages.layout.kept_out import Ways
from plumeline.stages.survey import Survey
from plumeline.units import both

SHORE_PLACES = 90
CUT_STEP_M = 1.524
"""Lines are cut to the next 5 ft."""
SAMPLE_M = 0.5
FAR_FROM_WATER_M = 30.0
TOGETHER_M = 1.0
"""So near to the manifold lines may lie over each other: they come together there."""


@dataclass(frozen=True)
class Branch:
    """A line on the plan, its length on the bottom, the length it gets and the length to cut."""

    path_xy: tuple[tuple[float, float], ...]
    run_m: float
    length_m: float
    cut_m: float
    pipe: str
    bore_m: float


def manifold_of(
    given: Place | None, survey: Survey, ways: Ways, standing_xy: np.ndarray
) -> tuple[tuple[float, float], str, tuple[Notice, ...]]:
    """Return the manifold's place, why it is there, and what there is to say.

    Args:
        given: the job's own place, or None: the place on the shore with the least total way to the diffusers.
        survey: the basin.
        ways: ways through it for lines.
        standing_xy: the diffusers, (n, 2).
    """
    if given is not None:
        xy = survey.plane.to_xy(given)
        shore = ways.nearest(xy)
        away_m = hypot(xy[0] - shore[0], xy[1] - shore[1])
        if away_m > FAR_FROM_WATER_M and survey.outline_assumed:
            reason = "the assumed shore's nearest place to the job's own; the outline is not known"
            return shore, reason, ()
        if away_m > FAR_FROM_WATER_M:
            text = (
                f"The manifold stands {both(away_m, 'm')} from the water; every branch is that much longer."
            )
            return xy, "where the job puts it", (caution("manifold-far", text),)
        return xy, "where the job puts it", ()
    shore_line = survey.polygon.exterior
    at = [shore_line.interpolate(n / SHORE_PLACES, normalized=True) for n in range(SHORE_PLACES)]
    places = np.array([(point.x, point.y) for point in at])
    total = ways.water.distances(places, standing_xy).sum(axis=1)
    total[~ways.free(places)] = np.inf
    best = int(np.argmin(total))
    reason = "the place on the shore with the shortest branches in all; the trunk's end was not given"
    return (float(places[best, 0]), float(places[best, 1])), reason, ()


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
    xy: tuple[float, float],
    rise_m: float,
) -> Branch:
    """Return the branch of one diffuser: over land to the nearest water, then the shortest way through it.

    A line that the job leads through places takes the shortest way from each to the next. Keep-out zones are gone
    round where the water lets the line.

    Raises:
        InputError: a pipe is not known, or a place that the line is led through is no water.
    """
    shore = ways.nearest(manifold_xy)
    stops = [shore, *bends_of(diffuser, survey), xy]
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
