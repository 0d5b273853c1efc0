"""The stage: from outline and soundings, or area and greatest depth, to the basin."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import ndimage

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.sources.priors import SCORE_95
from plumeline.stages.survey import soundings as readings
from plumeline.stages.survey.basin import Basin, basin_of, extend, walled_basin
from plumeline.stages.survey.cleaning import without_faults
from plumeline.stages.survey.contours import even_contours, hypsograph, polygon_below, rings_of
from plumeline.stages.survey.depths import DepthSurface, depth_surface
from plumeline.stages.survey.edge import (
    Edge,
    bank_notices,
    edge_of,
    lowered,
    raised,
    told_fraction,
    with_edge,
)
from plumeline.stages.survey.levels import level_days, level_notices
from plumeline.stages.survey.methods import better_surface
from plumeline.stages.survey.muck import muck_of
from plumeline.stages.survey.outline import outline_of
from plumeline.stages.survey.plane import LocalPlane, plane_of
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import (
    DepthGrid,
    LeftOut,
    MethodError,
    NextSounding,
    Ring,
    ShoreEffect,
    Survey,
    VolumeCases,
)
from plumeline.stages.survey.shape import shape_exponent, shape_ratio, volume_from_shape
from plumeline.stages.survey.shore import shore_effect
from plumeline.stages.survey.spot_errors import spot_errors
from plumeline.stages.survey.suggest import next_soundings
from plumeline.stages.survey.twice import without_twins
from plumeline.stages.survey.unsounded import Banks, banks_of, untold_surface
from plumeline.units import both, plain

FEWEST_SOUNDINGS = 3
TRANSDUCER = (
    "These soundings look like a sonar's track, and nobody said how deep its transducer hung: by that much the pond "
    "may be deeper everywhere, and the band of the volume does not hold it. Give pond.transducer_depth (0 where the "
    "sounder adds it itself), or check by weighted line in two places."
)


@dataclass(frozen=True, eq=False)
class _Depths:
    """Depths on the basin's cells at the level of the survey, and how sure they are."""

    depth_m: np.ndarray
    volume_se_m3: float
    volume_p05_m3: float
    volume_p95_m3: float
    deepest_sounding_m: float | None
    reading_error_m: float | None
    sounding_count: int
    left_out: tuple[LeftOut, ...]
    method: str
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    cases: VolumeCases | None = None
    tried: tuple[MethodError, ...] = ()
    blocks_count: int = 0
    tried_count: int = 0
    taken_under_way: bool = False
    next_soundings: tuple[NextSounding, ...] = ()
    shore: ShoreEffect | None = None
    depth_error_m: np.ndarray | None = None


def survey(job: Job, seed: int = 1, *, suggests: bool = True) -> Survey:
    """Return the basin of a job's pond.

    Args:
        job: needs an outline with at least three soundings, or area or outline with the greatest depth.
        seed: for the draw of soundings by which the surface's unknowns are weighed, where there are many.
        suggests: whether it is also worked out where to sound next, how sure the depth is at each place, and what the
            volume were had nobody spoken of walls and banks; a shore that is being dragged shows none of them.

    Returns:
        The basin at today's level, with its volume's error band.

    Raises:
        InputError: the outline crosses itself; no depth is known; the level offset leaves no water.

    Source: depths.py (surface and error), basin.py (cells), shape.py (without soundings).
    """
    plane = plane_of(job)
    outline = outline_of(job, plane)
    basin = basin_of(outline.polygon)
    in_water = without_twins(readings.inside_shore(job, plane, outline.polygon), job)
    in_water = without_faults(in_water, job.pond.keep_rows)
    found = readings.without_wild(in_water, basin, job.pond.keep_rows)
    if len(found.depth_m) >= FEWEST_SOUNDINGS and found.depth_m.max() > 0:
        depths = _from_soundings(job, found, basin, plane, seed, suggests=suggests)
    else:
        depths = _from_shape(job, found, basin)
    muck, muck_notices = muck_of(job, found, basin, depths.depth_m)
    level = _at_level(basin, depths, job.pond.level_offset_m)
    days = level_days(job.pond.soundings)
    said = (*level_notices(job, days), *depths.notices, *muck_notices)
    grid, polygon = level.grid, outline.polygon
    hypso = hypsograph(np.nan_to_num(grid.depth_m), grid.cell_area_m2)
    volume_m3, area_m2 = hypso.volume_below_m3[0], hypso.area_m2[0]
    shift_m3 = volume_m3 - float((depths.depth_m * basin.area_m2).sum())
    return Survey(
        area_m2=area_m2,
        perimeter_m=level.perimeter_m if level.perimeter_m is not None else float(polygon.length),
        volume_m3=volume_m3,
        volume_se_m3=depths.volume_se_m3,
        volume_p05_m3=max(depths.volume_p05_m3 + shift_m3, 0.0),
        volume_p95_m3=depths.volume_p95_m3 + shift_m3,
        mean_depth_m=volume_m3 / area_m2,
        max_depth_m=hypso.depth_m[-1],
        deepest_sounding_m=None
        if depths.deepest_sounding_m is None
        else depths.deepest_sounding_m + job.pond.level_offset_m,
        hypsograph=hypso,
        outline_xy=level.outline_xy,
        outline_assumed=outline.assumed,
        plane=plane,
        contours=even_contours(grid, hypso.depth_m[-1]),
        grid=grid,
        sounding_count=depths.sounding_count,
        left_out=depths.left_out,
        reading_error_m=depths.reading_error_m,
        method=depths.method,
        notices=(*outline.notices, *said, *level.notices, *_size_notices(area_m2, volume_m3)),
        assumptions=(*outline.assumptions, *depths.assumptions, *level.assumptions),
        tried=depths.tried,
        blocks_count=depths.blocks_count,
        tried_count=depths.tried_count,
        taken_under_way=depths.taken_under_way,
        next_soundings=depths.next_soundings,
        shore=depths.shore,
        muck=muck,
        level_days=days,
        volume_cases=depths.cases,
    )


def _from_soundings(
    job: Job, found: readings.Sorted, basin: Basin, plane: LocalPlane, seed: int, *, suggests: bool
) -> _Depths:
    sounded = readings.thinned(found)
    at_edge = edge_of(job.pond, basin.polygon, plane)
    wall_m, unraised = at_edge.all_round_m, basin
    if at_edge.walls:
        basin = walled_basin(basin, at_edge.lines)
    points = with_edge(lowered(sounded, wall_m), job.pond.bank_run_number, at_edge, basin)
    floor_m = -wall_m
    smooth = depth_surface(points, basin, seed, floor_m=floor_m)
    one_line = readings.line_notices(found.xy, basin.polygon)
    volume_m3 = float(((smooth.depth_m + wall_m) * basin.area_m2).sum())
    told = told_fraction(job.pond.bank_run_number, sounded, at_edge, basin)
    banks, se_m3 = banks_of(sounded.xy, basin, at_edge.lines, smooth.depth_m, told), smooth.volume_se_m3
    strip = banks.strip
    more_m3 = readings.unsaid_fraction(points, one_line=bool(one_line)) * volume_m3
    more_m3 = float(np.hypot(more_m3, strip.more_m3(se_m3)))
    surface, tried, blocks = better_surface(points, basin, smooth, floor_m=floor_m, more_m3=more_m3)
    said = job.pond.shore_depth_m is not None or job.pond.walls or job.pond.bank_run_number is not None
    without = untold_surface(sounded, unraised, seed) if said and suggests else None
    shore = shore_effect(basin, smooth, at_edge, job.pond, without)
    errors_m = spot_errors(points, basin, smooth, surface.depth_m) if suggests else None
    surface, smooth = raised(surface, basin, wall_m), raised(smooth, basin, wall_m)
    count, edge = len(found.depth_m), _edge_words(at_edge)
    thin = f", averaged to {plain(len(sounded.depth_m), 0)} places" if len(sounded.depth_m) < count else ""
    return _Depths(
        depth_m=surface.depth_m,
        volume_se_m3=surface.volume_se_m3,
        volume_p05_m3=surface.volume_p05_m3,
        volume_p95_m3=surface.volume_p95_m3,
        deepest_sounding_m=float(found.depth_m.max()),
        reading_error_m=surface.reading_error_m,
        sounding_count=count,
        left_out=found.left_out,
        method=f"{_surface_words(tried)} through {plain(count, 0)} soundings{thin}, {edge} at the shore",
        notices=(
            *_sounded_notices(job, found, basin, points),
            *bank_notices(job.pond, sounded, strip, volume_m3, se_m3),
            *one_line,
        ),
        assumptions=(
            f"depth is {edge} at the shore",
            f"a sounding errs by about {both(surface.reading_error_m, 'm')}",
        ),
        cases=surface.cases,
        tried=tried,
        blocks_count=blocks,
        tried_count=len(sounded.depth_m) if tried else 0,
        taken_under_way=points.line_index is not None,
        next_soundings=_next(points, basin, smooth, banks, volume_m3, surface.volume_se_m3)
        if suggests
        else (),
        shore=shore,
        depth_error_m=errors_m,
    )


def _edge_words(edge: Edge) -> str:
    """Return how deep the water is at its edge."""
    if edge.walls:
        deepest_m = max(wall.depth_m for wall in edge.walls)
        return f"up to {both(deepest_m, 'm')} deep along {both(edge.walled_m, 'm')} of wall"
    return f"{both(edge.mean_m, 'm')} deep" if edge.mean_m else "zero"


def _next(
    points: Points, basin: Basin, smooth: DepthSurface, banks: Banks, volume_m3: float, error_m3: float
) -> tuple[NextSounding, ...]:
    """Return where to sound next; what one line alone leaves unsaid goes once a place lies off it."""

    def unsaid_m3(xy: np.ndarray) -> float:
        one = bool(readings.line_notices(xy, basin.polygon))
        return readings.unsaid_fraction(points, one_line=one) * volume_m3

    return next_soundings(points, basin, smooth, banks, error_m3=error_m3, unsaid_m3=unsaid_m3)


def _sounded_notices(job: Job, found: readings.Sorted, basin: Basin, points: Points) -> tuple[Notice, ...]:
    """Return what cleaning said, and what there is to say of depths, sonar and number."""
    deepest_m, count = float(found.depth_m.max()), len(found.depth_m)
    notices = (*found.notices, *readings.depth_notices(job, deepest_m, basin.polygon.area))
    if points.line_index is not None and job.pond.transducer_depth_m is None:
        notices += (caution("transducer-unknown", TRANSDUCER),)
    if count < 12:
        text = (
            f"Only {count} soundings: the volume is known to no better than its band. Twenty or more "
            "are better."
        )
        notices += (note("few-soundings", text),)
    return notices


def _surface_words(tried: tuple[MethodError, ...]) -> str:
    if any(item.taken and item.name == "facets" for item in tried):
        return "facets between neighbouring soundings,"
    return "Gaussian-process surface"


def _from_shape(job: Job, found: readings.Sorted, basin: Basin) -> _Depths:
    """Return depths whose hypsograph is exactly that of the shape class, deepest far from every shore."""
    count = len(found.depth_m)
    sounded_m = float(found.depth_m.max()) if count else 0.0
    max_depth_m = max(job.pond.max_depth_m or 0.0, sounded_m)
    if not max_depth_m > 0:
        raise InputError(
            "all soundings in the water read zero." if count else "no depth of the pond is known.",
            remedy=(
                "Give pond.max_depth in job.toml, or a soundings.csv with at least three soundings in "
                "the water."
            ),
            place="pond",
        )
    area_m2, shape = float(basin.polygon.area), job.pond.shape
    estimate = volume_from_shape(area_m2, max_depth_m, shape)
    depth = _ranked(basin, max_depth_m, shape_exponent(shape_ratio(shape)[0]))
    band_m3 = SCORE_95 * estimate.volume_se_m3
    text = (
        "No soundings to draw the bottom from: volume and depths are an estimate from area, "
        "greatest depth and shape "
        f"({shape.value}), {both(max(estimate.volume_m3 - band_m3, 0.0), 'm3')} to "
        f"{both(estimate.volume_m3 + band_m3, 'm3')}. "
        "Twenty soundings would narrow the volume most."
    )
    return _Depths(
        depth_m=depth,
        volume_se_m3=estimate.volume_se_m3,
        volume_p05_m3=max(estimate.volume_m3 - band_m3, 0.0),
        volume_p95_m3=estimate.volume_m3 + band_m3,
        deepest_sounding_m=sounded_m if count else None,
        reading_error_m=None,
        sounding_count=count,
        left_out=found.left_out,
        method=f"estimate from area, greatest depth and shape ({shape.value})",
        notices=(
            caution("volume-estimated", text),
            *found.notices,
            *readings.depth_notices(job, max_depth_m, area_m2),
        ),
        assumptions=(
            f"volume is {shape_ratio(shape)[0]:.3f} of area times greatest depth "
            f"(sources/shapes.csv, {shape.value})",
            "the deepest water lies farthest from every shore",
        ),
    )


def _ranked(basin: Basin, max_depth_m: float, exponent_number: float) -> np.ndarray:
    """Return depths by rank of the cover: with a fraction F of the pond deeper, z = z_max (1 − F^(1/q)).

    Inverts A(z) = A₀ (1 − z/z_max)^q, with the mean over each cell's own span of F, so that A and V are met.
    """
    depth = np.zeros(basin.area_m2.shape)
    cover, area = basin.covers_fraction[0][basin.wet], basin.area_m2[basin.wet]
    order = np.argsort(-cover)
    upper = np.minimum(np.cumsum(area[order]) / area.sum(), 1.0)
    lower = np.append(0.0, upper[:-1])
    power = 1.0 / exponent_number + 1.0
    mean = 1.0 - (upper**power - lower**power) / (power * np.maximum(upper - lower, 1e-15))
    ranked = np.empty(len(cover))
    ranked[order] = max_depth_m * np.clip(mean, 0.0, 1.0)
    ranked[order[0]] = max_depth_m
    depth[basin.wet] = ranked
    return depth


@dataclass(frozen=True, eq=False)
class _Level:
    """The surface at today's level."""

    grid: DepthGrid
    outline_xy: tuple[Ring, ...]
    perimeter_m: float | None
    notices: tuple[Notice, ...] = ()
    assumptions: tuple[str, ...] = ()


def _at_level(basin: Basin, depths: _Depths, offset_m: float) -> _Level:
    """Return the surface with the water raised or lowered by the offset.

    Lowered, the shore is the line of that depth. Raised, nothing is known of the banks above the old shore:
    they are taken as upright.
    """
    shifted = depths.depth_m + offset_m
    extended = extend(depths.depth_m, basin.inside, basin.shore_distance_m, basin.cell_m) + offset_m
    if offset_m > 0:
        extended = np.where(basin.wet, np.maximum(extended, offset_m), extended - 2 * offset_m)
    area = np.where(shifted > (0.0 if offset_m < 0 else -1.0), basin.area_m2, 0.0)
    if not area.any():
        raise InputError(
            f"at {both(-offset_m, 'm')} below the level of the soundings the pond holds no water.",
            remedy="Check pond.level_offset: today's level minus the level of the soundings.",
            place="pond.level_offset",
        )
    depth_m = np.where(area > 0, shifted, np.nan)
    grid = DepthGrid(basin.x_m, basin.y_m, depth_m, area, extended, depths.depth_error_m)
    rings = rings_of(basin.polygon)
    if offset_m == 0:
        return _Level(grid, rings, None)
    if offset_m > 0:
        text = (
            f"The water stands {both(offset_m, 'm')} above the soundings' level; the flooded banks count as "
            "upright."
        )
        return _Level(
            grid, rings, None, (note("level-raised", text),), ("upright banks above the old shore",)
        )
    return _lowered(grid, offset_m)


def _lowered(grid: DepthGrid, offset_m: float) -> _Level:
    labels, pools = ndimage.label(grid.cell_area_m2 > 0)
    sizes = ndimage.sum(grid.cell_area_m2, labels, range(1, pools + 1))
    text = (
        f"The water stands {both(-offset_m, 'm')} below the soundings' level; the shore is drawn at "
        "that depth."
    )
    notices: tuple[Notice, ...] = (note("level-lowered", text),)
    if pools > 1 and sorted(sizes)[-2] > 0.02 * sum(sizes):
        text = "At this level the pond falls apart into separate pools; the plan is drawn for the largest."
        notices += (caution("pools", text),)
    largest = labels == int(np.argmax(sizes)) + 1
    grid = replace(
        grid,
        depth_m=np.where(largest, grid.depth_m, np.nan),
        cell_area_m2=np.where(largest, grid.cell_area_m2, 0.0),
    )
    polygon = polygon_below(grid, 0.0)
    grid = replace(grid, cell_area_m2=grid.cell_area_m2 * (polygon.area / grid.cell_area_m2.sum()))
    return _Level(grid, rings_of(polygon), float(polygon.length), notices)


def _size_notices(area_m2: float, volume_m3: float) -> tuple[Notice, ...]:
    if volume_m3 / area_m2 < 1.0:
        text = (
            f"The mean depth is {both(volume_m3 / area_m2, 'm')}: wind may mix such a pond by "
            "itself on most days."
        )
        return (note("shallow-pond", text),)
    return ()
