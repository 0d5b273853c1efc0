"""The line of the cut: from shore to shore through every diffuser, with the depth of the bottom along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import LineString

from plumeline.drawing.scene import XY
from plumeline.stages.layout import Layout
from plumeline.stages.survey import Survey

SAMPLES = 241


@dataclass(frozen=True, eq=False)
class Section:
    """A cut through the basin.

    Attributes:
        distance_m: along the line, from the first shore (samples).
        bottom_m: depth of the bottom there (samples).
        diffuser_at_m: where each diffuser stands along the line, in the order of the layout.
    """

    distance_m: np.ndarray
    bottom_m: np.ndarray
    diffuser_at_m: tuple[float, ...]


def section_through(survey: Survey, layout: Layout) -> Section:
    """Return the cut through all diffusers, in order along the line that fits them best.

    It bends at each diffuser, so that each stands in it at its own depth, and goes on straight to the shore.
    """
    places = np.array([(item.x_m, item.y_m) for item in layout.diffusers])
    middle = places.mean(axis=0)
    heading = _heading(survey, places)
    order = np.argsort((places - middle) @ heading, kind="stable")
    inner = places[order]
    first = inner[1] - inner[0] if len(inner) > 1 else heading
    last = inner[-1] - inner[-2] if len(inner) > 1 else heading
    start = _to_shore(survey, inner[0], -first)
    end = _to_shore(survey, inner[-1], last)
    corners = np.vstack([start, inner, end])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    distance = np.unique(np.concatenate([np.linspace(0.0, along[-1], SAMPLES), along]))
    x, y = (np.interp(distance, along, corners[:, k]) for k in (0, 1))
    bottom = survey.grid.sample(x, y)
    at = np.empty(len(places))
    at[order] = along[1:-1]
    return Section(distance, bottom, tuple(float(v) for v in at))


def _heading(survey: Survey, places: np.ndarray) -> np.ndarray:
    """Return the direction of the line that fits the places best, or of the pond's long side."""
    points = places if len(places) > 1 else np.array(survey.outline_xy[0])
    spread = points - points.mean(axis=0)
    return np.asarray(np.linalg.svd(spread, full_matrices=False)[2][0])


def _to_shore(survey: Survey, place: np.ndarray, heading: np.ndarray) -> XY:
    """Return where a straight line from a place first meets the shore."""
    size = float(np.hypot(*heading)) or 1.0
    far = place + heading / size * 4.0 * float(np.sqrt(survey.area_m2) + survey.perimeter_m)
    part = LineString([place, far]).intersection(survey.polygon)
    parts = [part] if isinstance(part, LineString) else getattr(part, "geoms", ())
    pieces = [piece for piece in parts if isinstance(piece, LineString)]
    nearest = min(pieces, key=lambda piece: min(np.hypot(*(np.array(xy) - place)) for xy in piece.coords))
    ends = np.array(nearest.coords)
    x, y = ends[np.argmax(np.hypot(*(ends - place).T))]
    return float(x), float(y)
