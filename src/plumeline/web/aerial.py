"""An aerial photo laid under the plan: fitted by known points, kept with the pond's folder."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from plumeline.drawing.plan_view import Frame
from plumeline.errors import InputError
from plumeline.job.document import Point
from plumeline.stages.survey.plane import LocalPlane
from plumeline.units import far_away
from plumeline.web.typed_places import typed_length

PICTURE = "aerial.jpg"
FILE = "aerial.json"
MOST_POINTS = 30
FEWEST_POINTS = 2
APART_PX = 10.0
ROUND_FRACTION = 1e-3
"""Points nearer to one line than this part of their spread do not hold the photo."""


class Mark(BaseModel):
    """A place that is known on the photo and on the ground."""

    model_config = ConfigDict(extra="forbid")
    across_px: float = Field(ge=0.0, le=100_000.0)
    down_px: float = Field(ge=0.0, le=100_000.0)
    longitude_deg: float = Field(ge=-180.0, le=180.0)
    latitude_deg: float = Field(ge=-90.0, le=90.0)


class Aerial(BaseModel):
    """What aerial.json holds: the photo's size and the points by which it lies."""

    model_config = ConfigDict(extra="forbid")
    picture: str = PICTURE
    width_px: int = Field(ge=1, le=100_000)
    height_px: int = Field(ge=1, le=100_000)
    points: list[Mark] = Field(default=[], max_length=MOST_POINTS)


@dataclass(frozen=True)
class Fit:
    """How pixels become metres of the plane.

    Attributes:
        turn_m_px: shape (2, 3): metres east and north from (across, down, 1).
        residual_m: root mean square of what is left at the points; None where no point is left over to tell.
        kind: in words.
    """

    turn_m_px: np.ndarray
    residual_m: float | None
    kind: str


def aerial_of(files: Mapping[str, bytes]) -> Aerial | None:
    """Return the photo of a folder; None where there is none or its file can't be read."""
    if PICTURE not in files or FILE not in files:
        return None
    try:
        return Aerial.model_validate_json(files[FILE])
    except ValidationError:
        return None


def fit_of(aerial: Aerial, plane: LocalPlane) -> Fit | None:
    """Return how the photo lies: turned and scaled by two points, stretched too from three on; None with fewer.

    Raises:
        InputError: the points lie on one spot or line, or would mirror the photo.
    """
    if len(aerial.points) < FEWEST_POINTS:
        return None
    pixels = np.array([(mark.across_px, mark.down_px) for mark in aerial.points])
    places = tuple(
        Point(longitude_deg=mark.longitude_deg, latitude_deg=mark.latitude_deg) for mark in aerial.points
    )
    ground = plane.many_to_xy(places)
    spread = [np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False) for xy in (pixels, ground)]
    if spread[0][0] < APART_PX or spread[1][0] < 1.0:
        raise InputError(
            "the points lie on one spot.", remedy="Choose points far apart, across the whole pond."
        )
    if len(pixels) == FEWEST_POINTS:
        return Fit(_similar(pixels, ground), None, "turned and scaled by two points")
    if any(values[1] < ROUND_FRACTION * values[0] for values in spread):
        raise InputError("the points lie on one line.", remedy="Add one well to the side of it.")
    ones = np.column_stack([pixels, np.ones(len(pixels))])
    matrix = np.linalg.lstsq(ones, ground, rcond=None)[0].T
    # pixels count down, the plane counts north: a photo that is not mirrored turns the sense of round
    if np.linalg.det(matrix[:, :2]) >= 0.0:
        raise InputError("by these points the photo is mirrored.", remedy="Two of them were exchanged.")
    left = ground - ones @ matrix.T
    residual_m = float(np.sqrt((left**2).sum(axis=1).mean())) if len(pixels) > 3 else None
    return Fit(matrix, residual_m, f"turned, scaled and stretched by {len(pixels)} points")


def _similar(pixels: np.ndarray, ground: np.ndarray) -> np.ndarray:
    """Return the turn and scale that carry two pixels to two places: one complex factor."""
    from_px = complex(*(pixels[1] - pixels[0])).conjugate()  # down becomes up
    to_m = complex(*(ground[1] - ground[0]))
    factor = to_m / from_px
    turn = np.array([[factor.real, factor.imag], [factor.imag, -factor.real]])
    return np.column_stack([turn, ground[0] - turn @ pixels[0]])


def in_frame(fit: Fit, frame: Frame) -> list[float]:
    """Return the six numbers of an SVG matrix from pixels to millimetres of a frame."""
    scale = frame.scale_mm_m
    (a, c, e), (b, d, f) = fit.turn_m_px
    return [
        a * scale,
        -b * scale,
        c * scale,
        -d * scale,
        frame.centre_x_mm + (e - frame.middle_x_m) * scale,
        frame.centre_y_mm - (f - frame.middle_y_m) * scale,
    ]


def under_plan(
    files: Mapping[str, bytes], pond_path: str, number: int, frame: Frame, plane: LocalPlane
) -> dict[str, Any] | None:
    """Return what a page needs to lay the photo under its plan; None where there is none that lies.

    Args:
        files: of the pond's folder.
        pond_path: of the pond's page.
        number: of the revision.
        frame: of the drawing.
        plane: of the job.
    """
    aerial = aerial_of(files)
    try:
        fit = fit_of(aerial, plane) if aerial else None
    except InputError:
        return None
    if aerial is None or fit is None:
        return None
    return {
        "href": f"{pond_path}/aerial.jpg?revision={number}", "matrix": in_frame(fit, frame),
        "width_px": aerial.width_px, "height_px": aerial.height_px,
    }  # fmt: skip


def marks_of(text: str, aerial: Aerial, plane: LocalPlane) -> list[Mark]:
    """Return the points of a text: across and down in pixels, east and north with a unit, one a line.

    Raises:
        InputError: with the line at fault.
    """
    found = []
    for number, line in enumerate(text.replace(";", ",").splitlines(), start=1):
        parts = [part.strip() for part in line.split(",")]
        if not line.strip():
            continue
        label = f"points, line {number}"
        if len(parts) != 4:
            raise InputError(
                f"{label}: '{line.strip()[:60]}' has {len(parts)} part{'s' * (len(parts) != 1)}.",
                remedy="Write across and down in pixels, then east and north: 412, 300, -40 ft, 12 ft.",
            )
        try:
            across_px, down_px = (float(part.removesuffix("px")) for part in parts[:2])
        except ValueError:
            across_px = down_px = -1.0
        if not (0.0 <= across_px <= aerial.width_px and 0.0 <= down_px <= aerial.height_px):
            raise InputError(
                f"{label}: '{', '.join(parts[:2])[:60]}' is no place on the photo.",
                remedy=f"Pixels run from 0 to {aerial.width_px} across and to {aerial.height_px} down.",
            )
        x_m, y_m = (
            typed_length(part, f"{label}, {way}")
            for part, way in zip(parts[2:], ("east", "north"), strict=True)
        )
        if max(abs(x_m), abs(y_m)) > 100_000.0:
            raise InputError(f"{label} lies more than {far_away(100_000.0)} away.")
        place = plane.to_point(x_m, y_m)
        mark = Mark(
            across_px=across_px, down_px=down_px,
            longitude_deg=round(place.longitude_deg, 7), latitude_deg=round(place.latitude_deg, 7),
        )  # fmt: skip
        found.append(mark)
    if len(found) > MOST_POINTS:
        raise InputError(f"{len(found)} points are more than the {MOST_POINTS} that are taken.")
    return found


def written(aerial: Aerial) -> bytes:
    """Return aerial.json."""
    return (json.dumps(aerial.model_dump(), indent=1) + "\n").encode()
