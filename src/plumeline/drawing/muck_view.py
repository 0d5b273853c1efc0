"""The soft muck from above: lines of equal thickness, the probes, and where it is thickest."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
from contourpy import FillType, contour_generator
from scipy import ndimage
from shapely import Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from plumeline.drawing.in_tables import placed_twins
from plumeline.drawing.labels import Box, Room
from plumeline.drawing.measures import depth_levels_m, depth_unit, depth_words
from plumeline.drawing.plan_view import (
    PAGE_SHEET,
    Frame,
    Sheet,
    frame_about,
    key_of,
    rings_of_shape,
    shore_shapes,
)
from plumeline.drawing.scene import Area, Disc, Scene, Shape, Text, sheet
from plumeline.job.document import Job
from plumeline.palette import DEEP, INK, PAPER, muck_colour
from plumeline.stages.survey import Survey
from plumeline.stages.survey.result import Muck
from plumeline.twins import Twin
from plumeline.units import show
from plumeline.units.showing import System

MOST_DOTS = 300


def muck_scene(survey: Survey, job: Job, system: System = "us", paper: Sheet = PAGE_SHEET) -> Scene | None:
    """Return the muck from above; None where it is not known.

    Args:
        survey: the basin.
        job: with its probes.
        system: units of the labels.
        paper: what it is drawn on.
    """
    muck = survey.muck
    if muck is None:
        return None
    frame = frame_about(np.array(survey.outline_xy[0]), paper)
    levels = depth_levels_m(muck.thickest_m, system)
    room = Room(Box(0.0, 0.0, paper.pond_width_mm, paper.pond_height_mm))
    shapes: list[Shape] = [
        sheet(paper.width_mm, paper.height_mm),
        *_bands(survey, muck, levels, frame),
        *shore_shapes(survey, frame),
    ]
    probes = _probes(survey, job)
    shapes += [Disc(*frame.at((x, y)), 0.7, PAPER, INK, 0.3) for x, y, _ in probes]
    at = frame.at(muck.thickest_xy)
    room.taken.append(Box(at[0] - 2.0, at[1] - 2.0, at[0] + 2.0, at[1] + 2.0))
    shapes.append(Disc(at[0], at[1], 1.6, PAPER, INK, 0.5))
    words = f"thickest, {show(muck.thickest_m, 'm', system)}"
    shapes.append(replace(room.place(at, words, 2.8, gap_mm=2.2), plate=PAPER))
    shapes += _key(levels, muck, system, paper)
    shapes += key_of((), survey.max_depth_m, frame, system, diffuser=False, depths=False, paper=paper)
    words = (
        f"Soft muck from above, north up, from {muck.probe_count} probes: at most "
        f"{show(muck.thickest_m, 'm', system)}, on the mean {show(muck.mean_m, 'm', system)}."
    )
    return Scene("muck", paper.width_mm, paper.height_mm, words, tuple(shapes), _twins(probes, system))


def _probes(survey: Survey, job: Job) -> list[tuple[float, float, float]]:
    """Return place and thickness of each probe, at most some three hundred, evenly out of the file."""
    probed = [item for item in job.pond.soundings if item.muck_m is not None]
    xy = survey.plane.many_to_xy(tuple(item.place for item in probed))
    every = np.unique(np.linspace(0, len(probed) - 1, min(MOST_DOTS, len(probed))).astype(int))
    return [(float(xy[n, 0]), float(xy[n, 1]), float(probed[n].muck_m or 0.0)) for n in every]


def _bands(survey: Survey, muck: Muck, levels_m: tuple[float, ...], frame: Frame) -> list[Shape]:
    """Return the water in the tints of the muck's thickness, the thin first."""
    found: list[Shape] = []
    thick = _carried_out(muck.grid.thickness_m)
    for n, level_m in enumerate(levels_m):
        shape = survey.polygon if n == 0 else _thicker_than(survey, muck, thick, level_m)
        outlines = tuple(frame.path(ring) for ring in rings_of_shape(shape))
        tint = muck_colour(n / max(len(levels_m) - 1, 1))
        found.append(Area(outlines, tint, INK if n else "none", 0.15))
    return found


def _carried_out(values: np.ndarray) -> np.ndarray:
    """Return values with those of the nearest cell where there is none, so that lines reach the shore."""
    at = ndimage.distance_transform_edt(np.isnan(values), return_distances=False, return_indices=True)
    return np.asarray(values[at[0], at[1]])


def _thicker_than(survey: Survey, muck: Muck, thick_m: np.ndarray, level_m: float) -> BaseGeometry:
    generator = contour_generator(x=muck.grid.x_m, y=muck.grid.y_m, z=thick_m, fill_type=FillType.OuterOffset)
    filled: Any = generator.filled(level_m, float(thick_m.max()) + 1.0)
    whole: BaseGeometry = Polygon()
    for outline, starts in zip(filled[0], filled[1], strict=True):
        rings = [outline[a:b] for a, b in pairwise(starts)]
        whole = whole.union(make_valid(Polygon(rings[0], rings[1:])))
    return whole.intersection(survey.polygon)


def _key(levels_m: tuple[float, ...], muck: Muck, system: System, paper: Sheet) -> list[Shape]:
    left, top = paper.key_left_mm, paper.key_top_mm + 2.5
    found: list[Shape] = [
        Text(left, paper.key_top_mm, f"muck, {depth_unit(system)}", 3.0, colour=DEEP, bold=True)
    ]
    for n, (upper, lower) in enumerate(zip(levels_m, [*levels_m[1:], muck.thickest_m], strict=True)):
        y = top + 5.0 * n
        box = ((left, y), (left + 8.0, y), (left + 8.0, y + 5.0), (left, y + 5.0))
        found.append(Area((box,), muck_colour(n / max(len(levels_m) - 1, 1)), INK, 0.2))
        words = f"{depth_words(upper, system)} to {depth_words(lower, system)}"
        found.append(Text(left + 10.0, y + 3.5, words, 2.8))
    y = top + 5.0 * len(levels_m) + 6.0
    return [*found, Disc(left + 2.2, y - 1.0, 0.7, PAPER, INK, 0.3), Text(left + 6.0, y, "probe", 2.8)]


def _twins(probes_m: list[tuple[float, float, float]], system: System) -> tuple[Twin, ...]:
    rows = [(f"probe {n}", *item) for n, item in enumerate(probes_m, start=1)]
    return placed_twins("Muck probed", "probe", "muck", rows, system, decimal_count=2)
