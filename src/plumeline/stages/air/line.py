"""The trunk: its pieces with what the tables know of their pipe, and how the air cools along them."""

from __future__ import annotations

import difflib
import math
from dataclasses import replace
from itertools import pairwise

from plumeline.errors import InputError
from plumeline.job.document import AirSystem, Fitting, Job, PipeSegment
from plumeline.science import air as air_science
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.sources import read_table
from plumeline.stages.air.fittings import fittings_loss_number
from plumeline.stages.air.results import BranchSpec, LinePoint, LineSpec, TrunkPiece

OPEN_AIR_COEFFICIENT_W_M2_K = 8.0
"""Heat transfer from a pipe to still air: a round value, from memory."""
SOIL_CONDUCTIVITY_W_M_K = 1.0
"""Moist soil: a round value, from memory."""
DESIGN_COVER_M = 0.45
"""Cover of a trunk that is designed here: 18 in."""
DESIGN_PIPES = ("pe-3/4", "pe-1", "pe-1-1/4")
"""Trunks tried where the job names none, the smallest first."""
SAFE_MARGIN_DEGC = 10.0
"""How far the air must be under a pipe's service limit before that pipe may begin."""


def pipe_row(name: str, place: str) -> dict[str, str]:
    """Return one row of the table of pipes.

    Raises:
        InputError: no pipe has that name; the near names are given.
    """
    table = {row["name"]: row for row in read_table("pipes")}
    if name not in table:
        near = difflib.get_close_matches(name, table, n=3) or ["pe-3/4", "pe-1", "tubing-1/2"]
        raise InputError(
            f"there is no pipe named {name!r}.", remedy=f"Near names: {', '.join(near)}.", place=place
        )
    return table[name]


def _piece(segment: PipeSegment, air: AirSystem, place: str) -> TrunkPiece:
    """Return one segment with what the tables know of its pipe."""
    if not segment.pipe:
        if segment.bore_m is None:
            raise InputError(
                "a piece of trunk has neither pipe nor bore.", remedy="Name its pipe.", place=place
            )
        row = {"material": "unknown", "outside_diameter_m": "", "rating_pa": ""}
    else:
        row = pipe_row(segment.pipe, place)
    bore_m = segment.bore_m if segment.bore_m is not None else float(row["bore_m"])
    outside_m = float(row["outside_diameter_m"]) if row["outside_diameter_m"] else 1.25 * bore_m
    if bore_m >= outside_m:
        raise InputError(
            f"the bore {bore_m * 1000:.1f} mm is not smaller than the outside diameter of {segment.pipe}, "
            f"{outside_m * 1000:.1f} mm.",
            remedy="Check the bore, or leave it out.",
            place=place,
        )
    walls = {wall["material"]: wall for wall in read_table("pipe_materials")}
    wall = walls.get(row["material"], {"conductivity_w_m_k": "0.3", "metal": "no"})
    return TrunkPiece(
        pipe=segment.pipe or "pipe by its bore",
        material=row["material"],
        metal=wall["metal"] == "yes",
        length_m=segment.length_m,
        bore_m=bore_m,
        outside_diameter_m=outside_m,
        roughness_m=float(row.get("roughness_m") or air.roughness_m),
        conductivity_w_m_k=float(wall["conductivity_w_m_k"]),
        cover_m=segment.cover_m,
        minor_loss_number=segment.minor_loss_number + losses_of(segment.fittings, bore_m),
        check_valve_pa=segment.check_valve_pa,
        plug_height_m=segment.standing_water_m,
        start_elevation_m=segment.start_elevation_m,
        end_elevation_m=segment.end_elevation_m,
        service_limit_degc=float(row.get("service_limit_degc") or 60.0),
        rating_pa=float(row["rating_pa"]) if row["rating_pa"] else None,
    )


def losses_of(fittings: tuple[Fitting, ...], bore_m: float) -> float:
    """Return the velocity heads lost in fittings of a bore."""
    return fittings_loss_number(tuple((item.name, item.count) for item in fittings), bore_m)


def used_lines(job: Job, branches: tuple[BranchSpec, ...]) -> set[str]:
    """Return the names of the lines beyond the manifold from which a branch hangs, if by way of another line."""
    above = {line.name: line.hangs_from for line in job.air.lines}
    used: set[str] = set()
    for spec in branches:
        name = spec.hangs_from
        while name in above and name not in used:
            used.add(name)
            name = above[name]
    return used


def given_lines(job: Job, branches: tuple[BranchSpec, ...]) -> tuple[LineSpec, ...]:
    """Return the lines beyond the manifold that the job names and that carry air to a branch."""
    used = used_lines(job, branches)
    return tuple(
        LineSpec(line.name, line.hangs_from, _piece(line, job.air, f"air.lines[{index}]"))
        for index, line in enumerate(job.air.lines)
        if line.name in used
    )


def given_trunk(job: Job) -> tuple[TrunkPiece, ...]:
    """Return the trunk that the job names, as built before as planned; empty when it names none."""
    built = job.as_built.trunk if job.as_built else ()
    segments = built or job.air.trunk
    return tuple(_piece(part, job.air, f"air.trunk[{index}]") for index, part in enumerate(segments))


def designed_trunk(job: Job, pipe: str) -> tuple[TrunkPiece, ...]:
    """Return a buried trunk of one pipe along the job's route.

    Raises:
        InputError: the job gives no length of route.
    """
    length_m = job.air.route_length_m
    if length_m is None:
        raise InputError(
            "the way from the compressor to the manifold is not known.",
            remedy="Give air.route_length, or the trunk segment by segment.",
            place="air.route_length",
        )
    segment = PipeSegment(
        pipe=pipe,
        length_m=length_m,
        cover_m=DESIGN_COVER_M,
        start_elevation_m=job.air.rise_m,
        end_elevation_m=0.0 if job.air.rise_m is not None else None,
    )
    return (_piece(segment, job.air, "air.route_length"),)


def cooling_length_m(piece: TrunkPiece, mass_flow_kg_s: float, temperature_degc: float) -> float:
    """Return the length [m] over which air in a piece loses 63 % of its excess temperature."""
    temperature_k = temperature_degc + 273.15
    viscosity_pa_s = air_science.viscosity_sutherland_1893(temperature_k)
    reynolds_number = reynolds_number_reynolds_1883(mass_flow_kg_s, piece.bore_m, viscosity_pa_s)
    conductivity = air_science.conductivity_us_standard_atmosphere_1976(temperature_k)
    inside = air_science.nusselt_number_gnielinski_2013(reynolds_number) * conductivity / piece.bore_m
    outside_m = piece.outside_diameter_m
    if piece.cover_m > 0.0:
        shape = air_science.shape_factor_incropera_2007(piece.cover_m + 0.5 * outside_m, outside_m)
        resistance = 1.0 / (shape * SOIL_CONDUCTIVITY_W_M_K)
    else:
        resistance = 1.0 / (OPEN_AIR_COEFFICIENT_W_M2_K * math.pi * outside_m)
    conductance = air_science.line_conductance_incropera_2007(
        inside, piece.bore_m, outside_m, piece.conductivity_w_m_k, resistance
    )
    return air_science.cooling_length_incropera_2007(mass_flow_kg_s, conductance)


def surroundings_degc(piece: TrunkPiece, air_degc: float, soil_degc: float) -> float:
    """Return the temperature [°C] around a piece: soil where it is covered, else the open air."""
    return soil_degc if piece.cover_m > 0.0 else air_degc


def cooled(
    pieces: tuple[TrunkPiece, ...],
    outlet_degc: float,
    mass_flow_kg_s: float,
    air_degc: float,
    soil_degc: float,
) -> tuple[TrunkPiece, ...]:
    """Return the pieces with the temperature of their air at start, end and in the mean [°C]."""
    result = []
    start_degc = outlet_degc
    for piece in pieces:
        around_degc = surroundings_degc(piece, air_degc, soil_degc)
        length_m = cooling_length_m(piece, mass_flow_kg_s, start_degc)
        end_degc = air_science.line_temperature_incropera_2007(
            start_degc, around_degc, piece.length_m, length_m
        )
        mean_degc = around_degc + (start_degc - end_degc) * length_m / piece.length_m
        result.append(
            replace(
                piece,
                start_temperature_degc=start_degc,
                mean_temperature_degc=mean_degc,
                end_temperature_degc=end_degc,
            )
        )
        start_degc = end_degc
    return tuple(result)


def line_points(
    pieces: tuple[TrunkPiece, ...], mass_flow_kg_s: float, air_degc: float, soil_degc: float
) -> tuple[LinePoint, ...]:
    """Return the temperature of the air at steps along a trunk that `cooled` has filled."""
    points = [LinePoint(0.0, pieces[0].start_temperature_degc)]
    passed_m = 0.0
    for piece in pieces:
        around_degc = surroundings_degc(piece, air_degc, soil_degc)
        length_m = cooling_length_m(piece, mass_flow_kg_s, piece.start_temperature_degc)
        steps = [0.5 * length_m * step for step in range(1, 13) if 0.5 * length_m * step < piece.length_m]
        for distance_m in [*steps, piece.length_m]:
            temperature_degc = air_science.line_temperature_incropera_2007(
                piece.start_temperature_degc, around_degc, distance_m, length_m
            )
            points.append(LinePoint(passed_m + distance_m, temperature_degc))
        passed_m += piece.length_m
    return tuple(points)


def metal_length_m(
    pieces: tuple[TrunkPiece, ...],
    hot_outlet_degc: float,
    mass_flow_kg_s: float,
    around_degc: float,
    cover_m: float = 0.0,
) -> float | None:
    """Return the first length [m] of metal, in open air or under soil, after which the trunk's plastic may begin.

    The metal is the trunk's own where it begins with some, else steel of the plastic's size.

    The air must have cooled to `SAFE_MARGIN_DEGC` under the service limit of the first pipe that is not
    metal. None where the surroundings are too warm for that at any length; 0 where no plastic follows or the
    air leaves the compressor cool enough.
    """
    plastic = next((piece for piece in pieces if not piece.metal), None)
    if plastic is None:
        return 0.0
    target_degc = plastic.service_limit_degc - SAFE_MARGIN_DEGC
    if hot_outlet_degc <= target_degc:
        return 0.0
    if around_degc >= target_degc:
        return None
    if pieces[0].metal:
        steel = replace(pieces[0], cover_m=cover_m)
    else:
        walls = {wall["material"]: wall for wall in read_table("pipe_materials")}
        steel_w_m_k = float(walls["steel"]["conductivity_w_m_k"])
        steel = replace(plastic, metal=True, cover_m=cover_m, conductivity_w_m_k=steel_w_m_k)
    length_m = cooling_length_m(steel, mass_flow_kg_s, hot_outlet_degc)
    return length_m * math.log((hot_outlet_degc - around_degc) / (target_degc - around_degc))


def rating_fraction(material: str, temperature_degc: float) -> float | None:
    """Return the share of its rating that a plastic keeps at a temperature; None where it is not to be used.

    Linear between the rows of the table; 1 below its first row, and for materials without a row.
    """
    rows = [row for row in read_table("pressure_derating") if row["material"] == material]
    if not rows:
        return 1.0
    points = [(float(row["temperature_degc"]), float(row["rating_fraction"])) for row in rows]
    if temperature_degc <= points[0][0]:
        return points[0][1]
    for (low_degc, low), (high_degc, high) in pairwise(points):
        if temperature_degc <= high_degc + 1e-6:
            return low + (high - low) * (temperature_degc - low_degc) / (high_degc - low_degc)
    return None
