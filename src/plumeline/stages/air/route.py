"""The route of the air line on land: low points, the water that gathers in them, the slope, the trench."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.stages.air.condensate import condensate_kg_d
from plumeline.stages.air.profile import (
    DESIGN_COVER_M,
    LowPoint,
    ProfilePoint,
    low_points,
    pipe_run,
    slopes,
)
from plumeline.stages.air.results import LinePoint, OperatingPoint
from plumeline.stages.air.solving import Line
from plumeline.stages.air.trench import TrenchPlan, trench_plan
from plumeline.stages.air.words import degf, feet, feet_depth, psi, psi_difference

DEFAULT_HUMIDITY_FRACTION = 0.6
"""Relative humidity at the intake where the job gives none: a hot, damp day."""
LEAST_SLOPE_FRACTION = 0.005
"""Slope under which a film of water stays: common practice, no published source."""
GALLON_KG = 3.785


@dataclass(frozen=True)
class LineState:
    """What is known of the air along the trunk, for the water in it."""

    flow_standard_m3_s: float
    compressor_pressure_pa: float
    manifold_pressure_pa: float
    ambient_pressure_pa: float
    intake_temperature_degc: float
    line_temperatures: tuple[LinePoint, ...]
    bore_m: float
    """Of the longest piece of the trunk."""
    outside_diameter_m: float


@dataclass(frozen=True)
class RouteResult:
    """The air line's way on land. Stations count from the compressor along the trench."""

    run: tuple[ProfilePoint, ...]
    length_m: float
    fall_m: float
    """Pipe at the first station over pipe at the last; below zero it climbs to the water."""
    slope_fraction: float
    slope_to_water: bool
    """Every stretch falls to the water: nothing stays in the line."""
    back_slope_m: tuple[tuple[float, float], ...]
    """Stretches that climb towards the water."""
    water_elevation_m: float | None
    frost_depth_m: float | None
    low_points: tuple[LowPoint, ...]
    condensate_kg_d: float
    """Water that falls out on the way, a day."""
    to_the_pond_kg_d: float
    """Of it, what runs on to the water by itself."""
    intake_humidity_fraction: float
    end_temperature_degc: float
    trench: TrenchPlan
    plugged_gauge_pa: float | None
    """Gauge at the compressor, valves as set, with every low point full; None where none can shut the bore."""
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]

    @property
    def plug_pressure_pa(self) -> float:
        """Pressure that full plugs in all low points would add, at most [Pa]."""
        return sum(item.plug_pressure_pa for item in self.low_points)


def line_state(line: Line, point: OperatingPoint, temperatures: tuple[LinePoint, ...]) -> LineState:
    """Return what the route asks of a solved line: its air, and the size of its pipe over most of the way."""
    longest = max(line.trunk, key=lambda piece: piece.length_m)
    return LineState(
        flow_standard_m3_s=point.flow_standard_m3_s,
        compressor_pressure_pa=point.compressor_pressure_pa,
        manifold_pressure_pa=point.manifold_pressure_pa,
        ambient_pressure_pa=line.ambient_pressure_pa,
        intake_temperature_degc=line.intake_degc,
        line_temperatures=temperatures,
        bore_m=longest.bore_m,
        outside_diameter_m=longest.outside_diameter_m,
    )


def with_route(job: Job) -> Job:
    """Return a job whose air line has the length and rise of its route where it names none itself."""
    if not job.route:
        return job
    first, last = job.route[0], job.route[-1]
    known: dict[str, float] = {}
    if not job.air.trunk and job.air.route_length_m is None:
        known["route_length_m"] = last.station_m - first.station_m
    if job.air.rise_m is None:
        water_m = job.trench.water_elevation_m
        known["rise_m"] = first.elevation_m - (last.elevation_m if water_m is None else water_m)
    return job.model_copy(update={"air": job.air.model_copy(update=known)}) if known else job


def route(job: Job, state: LineState) -> RouteResult | None:
    """Return what the route asks for and does, or None where the job has no route.

    Args:
        job: the job.
        state: the air in the trunk with the valves set.
    """
    if len(job.route) < 2:
        return None
    run = pipe_run(job.route, state.outside_diameter_m)
    given = job.air.intake_humidity_fraction
    humidity = DEFAULT_HUMIDITY_FRACTION if given is None else given
    fallen = _fallen(run, state, humidity)
    found = low_points(run, state.bore_m, fallen)
    start_m, end_m = run[0].station_m, run[-1].station_m
    total_kg_d = fallen(end_m)
    fall_m = run[0].pipe_elevation_m - run[-1].pipe_elevation_m
    trench = trench_plan(job, state.outside_diameter_m)
    end_degc = state.line_temperatures[-1].temperature_degc
    partial = RouteResult(
        run=run,
        length_m=end_m - start_m,
        fall_m=fall_m,
        slope_fraction=fall_m / (end_m - start_m),
        slope_to_water=not found,
        back_slope_m=tuple((start, end) for start, end, slope in slopes(run) if slope < -1e-6),
        water_elevation_m=job.trench.water_elevation_m,
        frost_depth_m=job.trench.frost_depth_m,
        low_points=found,
        condensate_kg_d=total_kg_d,
        to_the_pond_kg_d=total_kg_d - sum(item.condensate_kg_d for item in found),
        intake_humidity_fraction=humidity,
        end_temperature_degc=end_degc,
        trench=trench,
        plugged_gauge_pa=None,
        notices=(),
        assumptions=_assumptions(job, given),
    )
    notices = (*_water_notices(partial), *_slope_notices(partial), *trench.notices)
    return replace(partial, notices=notices)


def plugged(line: Line, result: RouteResult) -> Line:
    """Return a line with its low points full of water, each in the piece of trunk that lies there."""
    start_m = result.run[0].station_m
    scale = sum(piece.length_m for piece in line.trunk) / result.length_m
    heights_m = [0.0] * len(line.trunk)
    for item in result.low_points:
        if item.plug_pressure_pa > 0.0:
            place_m = (item.station_m - start_m) * scale
            index = 0
            while index < len(line.trunk) - 1 and place_m > line.trunk[index].length_m:
                place_m -= line.trunk[index].length_m
                index += 1
            heights_m[index] += item.rise_after_m
    trunk = tuple(
        replace(piece, plug_height_m=max(piece.plug_height_m, height_m))
        for piece, height_m in zip(line.trunk, heights_m, strict=True)
    )
    return replace(line, trunk=trunk)


def with_plugged_gauge(result: RouteResult, gauge_pa: float | None) -> RouteResult:
    """Return a route with the gauge of full dips and what is said of it; None where no air passes then."""
    if gauge_pa is None:
        words = (
            "With its low points full of water the line passes no air at all: this compressor can't lift it."
        )
        return replace(result, notices=(*result.notices, danger("route-plug-stops", words)))
    words = (
        f"With every low point full the gauge at the compressor reads up to {psi(gauge_pa)}, valves as "
        f"set: a gauge that "
        "climbs for hours and drops at once is water in the line, not a fouled membrane."
    )
    return replace(result, plugged_gauge_pa=gauge_pa, notices=(*result.notices, note("route-plugged", words)))


def _fallen(
    run: Sequence[ProfilePoint], state: LineState, humidity_fraction: float
) -> Callable[[float], float]:
    """Return the water that has fallen out between the compressor and a station, as a function of it [kg/d].

    What has fallen out does not come back: where the air warms again along the line it only stops falling.
    """
    points = state.line_temperatures
    start_m = run[0].station_m
    scale = points[-1].distance_m / (run[-1].station_m - start_m)
    stations, sums, most = [], [], 0.0
    for point in points:
        share = point.distance_m / points[-1].distance_m
        pressure_pa = state.compressor_pressure_pa + share * (
            state.manifold_pressure_pa - state.compressor_pressure_pa
        )
        most = max(
            most,
            condensate_kg_d(
                state.flow_standard_m3_s,
                pressure_pa,
                state.intake_temperature_degc,
                humidity_fraction,
                point.temperature_degc,
                state.ambient_pressure_pa,
            ),
        )
        stations.append(start_m + point.distance_m / scale)
        sums.append(most)

    def fallen(station_m: float) -> float:
        after = bisect_right(stations, station_m)
        if after == 0:
            return sums[0]
        if after == len(stations):
            return sums[-1]
        low, high = stations[after - 1], stations[after]
        share = (station_m - low) / (high - low)
        return sums[after - 1] + share * (sums[after] - sums[after - 1])

    return fallen


def _gallons(mass_kg: float) -> str:
    """Return a mass of water as a volume, "0.46 gal (1.74 L)"."""
    return pair(f"{mass_kg / GALLON_KG:.2f} gal", f"{mass_kg:.2f} L")


def _water_notices(result: RouteResult) -> list[Notice]:
    """Return what is said of the water that falls out in the line."""
    if result.condensate_kg_d < 0.005:
        return []
    soil_degc = result.end_temperature_degc
    notices = [
        note(
            "route-condensate",
            f"At the line's end ({degf(soil_degc)}) {_gallons(result.condensate_kg_d)} of water a day has "
            f"fallen out of "
            f"the air on a day as hot and damp as the intake's; "
            f"{_gallons(max(result.to_the_pond_kg_d, 0.0))} of it runs "
            "on to the pond by itself.",
        )
    ]
    for item in result.low_points:
        if item.at_compressor:
            words = (
                f"The line climbs from the compressor: {_gallons(item.condensate_kg_d)} a day runs back "
                f"to it. Give the "
                "riser a drip leg with a drain, lower than the compressor's outlet."
            )
            notices.append(caution("route-back-to-compressor", words))
            continue
        words = (
            f"Low point at {feet(item.station_m)}, {feet_depth(item.dip_m)} under its lower crest: "
            f"{_gallons(item.condensate_kg_d)} of water a day gathers there"
        )
        if item.days_to_seal_d is not None:
            words += (
                f", and {_gallons(item.seal_kg or 0.0)} shuts the bore, in {_days(item.days_to_seal_d)}. "
                f"The gauge then "
                f"climbs by up to {psi_difference(item.plug_pressure_pa)} in slugs"
            )
        words += (
            ". Fill the dip so that it falls to the pond, or fit a drip leg with a drain and mark its place."
        )
        notices.append(caution("route-low-point", words))
    frosty = [
        item.station_m
        for item in result.low_points
        if any(start <= item.station_m <= end for start, end in result.trench.frost_m)
    ]
    if frosty:
        places = ", ".join(feet(station_m) for station_m in frosty)
        words = f"Water gathers over the frost's depth at {places}: it freezes there and shuts the line in winter."
        notices.append(caution("route-low-point-freezes", words))
    if result.low_points and result.end_temperature_degc <= 0.0:
        notices.append(
            danger("route-freezes", "The soil at the pipe is at frost: water in the low points freezes.")
        )
    return notices


def _days(days_d: float) -> str:
    if days_d < 1.0:
        hours = max(1, round(24.0 * days_d))
        return f"{hours} hour{'s' if hours > 1 else ''}"
    return f"{days_d:.0f} day{'s' if round(days_d) > 1 else ''}"


def _slope_notices(result: RouteResult) -> list[Notice]:
    """Return what is said of the slope to the water."""
    if not result.slope_to_water:
        return []
    flat = [(start, end) for start, end, slope in slopes(result.run) if slope < LEAST_SLOPE_FRACTION]
    if not flat:
        return [
            note(
                "route-falls",
                f"The line falls to the water all the way, {100.0 * result.slope_fraction:.1f} %.",
            )
        ]
    length_m = sum(end - start for start, end in flat)
    words = (
        f"The line falls to the water, but {feet(length_m)} of it by less than "
        f"{100.0 * LEAST_SLOPE_FRACTION:.1f} %: "
        "a trench that is not graded with a level leaves dips there."
    )
    return [caution("route-flat", words)]


def _assumptions(job: Job, humidity_fraction: float | None) -> tuple[str, ...]:
    words = [
        "The route's elevations are of the ground; the pipe lies under it by the cover, straight between stations.",
        "Water runs down the pipe whichever way the air goes; what gathers in a dip stays there until it "
        "is drained or "
        "blown on.",
    ]
    if any(point.cover_m is None for point in job.route[:-1]):
        words.append(f"Cover where the route gives none: {feet_depth(DESIGN_COVER_M)}.")
    if job.trench.water_elevation_m is None:
        words.append(
            "The pond's water is taken at the ground of the route's last station: its level is not given."
        )
    if humidity_fraction is None:
        words.append(f"Humidity at the intake {100.0 * DEFAULT_HUMIDITY_FRACTION:.0f} %: none is given.")
    return tuple(words)
