"""The line's own height along its route, and the low points in which water gathers."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from plumeline.job.document import RoutePoint

DESIGN_COVER_M = 0.45
"""Cover where a station gives none: 18 in, as for a trunk that is designed."""
LEAST_DIP_M = 0.002
"""Dips shallower than this are the roughness of the ground."""
WATER_DENSITY_KG_M3 = 1000.0
GRAVITY_M_S2 = 9.80665
STRETCH_STEPS = 40


@dataclass(frozen=True)
class ProfilePoint:
    """A point of the pipe's run: distance from the compressor, height of the pipe and of the ground over it."""

    station_m: float
    pipe_elevation_m: float
    ground_elevation_m: float


@dataclass(frozen=True)
class LowPoint:
    """A place where the pipe lies lower than to both sides, or lower than what follows it."""

    station_m: float
    pipe_elevation_m: float
    at_compressor: bool
    """The first station itself: water runs back to the compressor."""
    dip_m: float
    """How far it lies under the lower of the crests to its sides; at the compressor, under the crest after it."""
    rise_after_m: float
    """How far it lies under the crest that follows: what the air must lift the water to blow it out."""
    from_m: float
    to_m: float
    """The stretch that drains to it."""
    condensate_kg_d: float
    seal_kg: float | None
    """Water that fills the bore there and stops the air until it is lifted; None where the dip is too shallow."""
    days_to_seal_d: float | None
    plug_pressure_pa: float
    """Pressure that a full plug of water adds at most: the head of the rise after it; 0 where none can form."""


def pipe_run(route: tuple[RoutePoint, ...], outside_diameter_m: float) -> tuple[ProfilePoint, ...]:
    """Return the run of the pipe's middle, with a step wherever the cover changes.

    Args:
        route: the stations.
        outside_diameter_m: of the pipe.
    """
    found: list[ProfilePoint] = []
    for here, after in pairwise(route):
        cover_m = DESIGN_COVER_M if here.cover_m is None else here.cover_m
        below_m = cover_m + (0.5 * outside_diameter_m if cover_m > 0.0 else -0.5 * outside_diameter_m)
        for point in (here, after):
            place = ProfilePoint(point.station_m, point.elevation_m - below_m, point.elevation_m)
            if not found or place != found[-1]:
                found.append(place)
    return tuple(found)


def low_points(
    run: tuple[ProfilePoint, ...], bore_m: float, fallen_kg_d: Callable[[float], float]
) -> tuple[LowPoint, ...]:
    """Return the places where water gathers, from the compressor on.

    Args:
        run: the pipe's run; water that reaches its last point has left the line.
        bore_m: inside diameter [m].
        fallen_kg_d: water that has fallen out between the compressor and a station [kg/d], rising with it.
    """
    # level stretches lean with the air, by less than any survey sees
    heights = [
        point.pipe_elevation_m - 1e-9 * point.station_m - 1e-10 * index for index, point in enumerate(run)
    ]
    minima = [
        index
        for index in range(len(run) - 1)
        if heights[index] < heights[index + 1] and (index == 0 or heights[index] < heights[index - 1])
    ]
    found = []
    for index in minima:
        before, after = _crest(heights, index, -1), _crest(heights, index, 1)
        rise_m = run[after].pipe_elevation_m - run[index].pipe_elevation_m
        dip_m = (
            rise_m if index == 0 else min(rise_m, run[before].pipe_elevation_m - run[index].pipe_elevation_m)
        )
        if dip_m < LEAST_DIP_M:
            continue
        water_kg_d = fallen_kg_d(run[after].station_m) - fallen_kg_d(run[before].station_m)
        seal_kg = _seal_kg(run, index, bore_m) if dip_m > bore_m and index > 0 else None
        found.append(
            LowPoint(
                station_m=run[index].station_m,
                pipe_elevation_m=run[index].pipe_elevation_m,
                at_compressor=index == 0,
                dip_m=dip_m,
                rise_after_m=rise_m,
                from_m=run[before].station_m,
                to_m=run[after].station_m,
                condensate_kg_d=water_kg_d,
                seal_kg=seal_kg,
                days_to_seal_d=seal_kg / water_kg_d if seal_kg is not None and water_kg_d > 0.0 else None,
                plug_pressure_pa=WATER_DENSITY_KG_M3 * GRAVITY_M_S2 * rise_m if seal_kg is not None else 0.0,
            )
        )
    return tuple(found)


def _crest(heights_m: list[float], index: int, step: int) -> int:
    """Return where the pipe stops rising, going from a point one way."""
    while 0 <= index + step < len(heights_m) and heights_m[index + step] > heights_m[index]:
        index += step
    return index


def _seal_kg(run: tuple[ProfilePoint, ...], index: int, bore_m: float) -> float:
    """Return the water that fills the bore at a low point to its crown.

    On each side the water ends where the slope has risen by one bore; the part of the bore under a level surface is
    there one half in the mean, whatever the slope.
    """
    area_m2 = 0.25 * math.pi * bore_m**2
    wet_m = _wet_length_m(run, index, -1, bore_m) + _wet_length_m(run, index, 1, bore_m)
    return WATER_DENSITY_KG_M3 * 0.5 * area_m2 * wet_m


def _wet_length_m(run: tuple[ProfilePoint, ...], index: int, step: int, bore_m: float) -> float:
    """Return the length along the pipe from a low point until it has risen by one bore; never less than half a bore."""
    length_m, low_m = 0.0, run[index].pipe_elevation_m
    while 0 <= index + step < len(run):
        here, after = run[index], run[index + step]
        rise_m, step_m = after.pipe_elevation_m - here.pipe_elevation_m, abs(after.station_m - here.station_m)
        if after.pipe_elevation_m >= low_m + bore_m:
            missing_m = low_m + bore_m - here.pipe_elevation_m
            length_m += math.hypot(step_m, rise_m) * missing_m / rise_m
            break
        length_m += math.hypot(step_m, rise_m)
        index += step
    return max(length_m, 0.5 * bore_m)


def slopes(run: tuple[ProfilePoint, ...]) -> tuple[tuple[float, float, float], ...]:
    """Return (from, to, fall a metre) of each stretch; a fall below zero climbs towards the water."""
    return tuple(
        (here.station_m, after.station_m, (here.pipe_elevation_m - after.pipe_elevation_m) / length_m)
        for here, after in pairwise(run)
        if (length_m := after.station_m - here.station_m) > 0.0
    )
