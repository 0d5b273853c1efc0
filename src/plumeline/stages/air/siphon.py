"""Water that runs back through the line into a compressor that stands lower than the pond."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.science.pipe import (
    friction_factor_churchill_1977,
    resistance_number_crane_2009,
    reynolds_number_reynolds_1883,
)
from plumeline.science.shore import water_viscosity_vogel_1921
from plumeline.stages.air.network import GRAVITY_M_S2
from plumeline.stages.air.profile import ProfilePoint
from plumeline.stages.air.solving import Line
from plumeline.stages.air.words import feet_depth

HIGH_WATER_M = 0.3
"""High water over today's where the job does not give it: one foot, judgement."""
LOOP_MARGIN_M = 0.3
"""Top of a riser loop over high water: one foot; common practice, no published source."""
ENDS_LOSS_NUMBER = 1.5
"""Velocity heads lost where water enters a branch and where it leaves it."""


@dataclass(frozen=True)
class Heights:
    """Heights over today's water [m]; None where nothing tells."""

    compressor_m: float
    crest_m: float | None
    """The highest place of the line between compressor and water, if any is known."""
    crest_station_m: float | None
    """Where it is, from the compressor; None where only the pieces' heights are known."""
    high_water_m: float
    high_water_given: bool


@dataclass(frozen=True)
class SiphonRisk:
    """Whether the pond can run into the compressor when a check valve fails, and what stops it."""

    heights: Heights
    low: bool
    """The compressor stands lower than the highest water."""
    crest_protects: bool
    """The line itself passes over the highest water with a margin."""
    loop_over_compressor_m: float | None
    """Height of a riser loop's top over the compressor; None where none is needed."""
    loop_over_water_m: float
    """The same top over today's water."""
    flow_m3_s: float
    """Water that would run to the compressor at today's level; 0 where it would not."""
    high_flow_m3_s: float
    """The same at the highest water."""
    fill_s: float | None
    """Time from the failure until the line is full and runs, at the greater of the two flows; None without one."""
    notices: tuple[Notice, ...]


def heights(job: Job, line: Line, run: Sequence[ProfilePoint] = ()) -> Heights | None:
    """Return the heights of compressor, line and high water over today's water, or None where none is known.

    Args:
        job: the job.
        line: its line.
        run: the pipe's run along route.csv; empty without one. Its first station is where the compressor stands, and
            goes before a rise or an elevation that the job names.
    """
    trench, machine = job.trench, job.air.compressor
    water_m = trench.water_elevation_m
    if water_m is None and run:
        # the route ends at the water's edge, on the ground
        water_m = run[-1].ground_elevation_m
    above_m = job.air.rise_m
    stands_m = machine.elevation_m if machine else None
    if run and water_m is not None:
        above_m = run[0].ground_elevation_m - water_m
    elif stands_m is not None and trench.water_elevation_m is not None:
        above_m = stands_m - trench.water_elevation_m
    first, last = line.trunk[0].start_elevation_m, line.trunk[-1].end_elevation_m
    if above_m is None and first is not None and last is not None:
        above_m = first - last
    if above_m is None:
        return None
    crest_m, crest_at_m = _crest(line, run, water_m, above_m, stands_m)
    given_m = job.power.high_water_m
    high_m = HIGH_WATER_M if given_m is None else given_m
    return Heights(above_m, crest_m, crest_at_m, high_m, given_m is not None)


def _crest(
    line: Line,
    run: Sequence[ProfilePoint],
    water_m: float | None,
    compressor_m: float,
    compressor_elevation_m: float | None,
) -> tuple[float | None, float | None]:
    """Return the line's highest place over today's water, and its station."""
    if run and water_m is not None:
        top = max(run, key=lambda point: point.pipe_elevation_m)
        return top.pipe_elevation_m - water_m, top.station_m
    first_m = line.trunk[0].start_elevation_m
    if first_m is None:
        return None, None
    known = [
        height
        for piece in line.trunk
        for height in (piece.start_elevation_m, piece.end_elevation_m)
        if height is not None
    ]
    # the pieces' levels hang on the compressor, whose height over the water is known: on its own level where the job
    # names it, for the trunk may start over or under it; else the trunk is taken to start at it
    return max(known) - (
        first_m if compressor_elevation_m is None else compressor_elevation_m
    ) + compressor_m, None


def siphon(job: Job, line: Line, run: Sequence[ProfilePoint] = ()) -> SiphonRisk | None:
    """Return whether and how fast the pond would run into the compressor; None where no height is known.

    Water that leaves the line at the compressor never rises over the pond's level on its way, for the line is open
    to the air there: a crest over the water stops it. So the loop's height is counted from the highest water, and
    only a line that was under water all the way can siphon on.
    """
    found = heights(job, line, run)
    if found is None:
        return None
    low = found.compressor_m < found.high_water_m
    top_m = found.high_water_m + LOOP_MARGIN_M
    protects = found.crest_m is not None and found.crest_m >= top_m
    crest_m = max(found.crest_m if found.crest_m is not None else found.compressor_m, found.compressor_m)

    def flow_m3_s(level_m: float) -> float:
        # the pipe at the water's edge lies at its level: a crest stops the water only with the margin of a loop
        passes = level_m + LOOP_MARGIN_M > crest_m
        return flood_flow_m3_s(line, level_m - found.compressor_m) if passes else 0.0

    now_m3_s, high_m3_s = flow_m3_s(0.0), flow_m3_s(found.high_water_m)
    most_m3_s = max(now_m3_s, high_m3_s)
    partial = SiphonRisk(
        heights=found,
        low=low,
        crest_protects=protects,
        loop_over_compressor_m=top_m - found.compressor_m if low and not protects else None,
        loop_over_water_m=top_m,
        flow_m3_s=now_m3_s,
        high_flow_m3_s=high_m3_s,
        fill_s=line_volume_m3(line) / most_m3_s if most_m3_s > 0.0 else None,
        notices=(),
    )
    return replace(partial, notices=_notices(partial))


def line_volume_m3(line: Line) -> float:
    """Return the volume inside trunk, lines and branches [m³]."""
    parts = [(piece.length_m, piece.bore_m) for piece in (*line.trunk, *(item.piece for item in line.lines))]
    parts += [(spec.length_m, spec.bore_m) for spec in line.branches]
    return sum(0.25 * math.pi * bore_m**2 * length_m for length_m, bore_m in parts)


def flood_flow_m3_s(line: Line, head_m: float) -> float:
    """Return the water that a head [m] drives through the branches, side by side, and the trunk [m³/s].

    Membranes and check valves are taken as gone, the line as full; lines beyond the manifold as if they had no length.
    """
    if head_m <= 0.0:
        return 0.0
    branches = [(spec.length_m, spec.bore_m, spec.roughness_m, spec.loss_number) for spec in line.branches]
    trunk = [
        (piece.length_m, piece.bore_m, piece.roughness_m, piece.minor_loss_number) for piece in line.trunk
    ]

    def lost_m(flow_m3_s: float) -> float:
        return sum(_head_m(flow_m3_s, line, *piece, 0.0) for piece in trunk) + _exit_m(flow_m3_s, trunk[0][1])

    def through(left_m: float) -> float:
        return sum(_branch_flow_m3_s(left_m, line, *branch) for branch in branches)

    most_m3_s = through(head_m)

    def short(flow_m3_s: float) -> float:
        left_m = head_m - lost_m(flow_m3_s)
        return (through(left_m) if left_m > 0.0 else 0.0) - flow_m3_s

    return float(brentq(short, 0.0, most_m3_s, xtol=1e-12, rtol=1e-9))


def _exit_m(flow_m3_s: float, bore_m: float) -> float:
    """Return the velocity head that is lost where the water leaves [m]."""
    return (flow_m3_s / (0.25 * math.pi * bore_m**2)) ** 2 / (2.0 * GRAVITY_M_S2)


def _head_m(
    flow_m3_s: float,
    line: Line,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    loss_number: float,
    ends_number: float,
) -> float:
    """Return the head [m] that water loses in one pipe."""
    if flow_m3_s <= 0.0:
        return 0.0
    mass_kg_s = flow_m3_s * line.water_density_kg_m3
    reynolds_number = reynolds_number_reynolds_1883(
        mass_kg_s, bore_m, water_viscosity_vogel_1921(line.water_degc)
    )
    friction = friction_factor_churchill_1977(reynolds_number, roughness_m / bore_m)
    heads = resistance_number_crane_2009(friction, length_m, bore_m, loss_number + ends_number)
    return heads * _exit_m(flow_m3_s, bore_m)


def _branch_flow_m3_s(
    head_m: float, line: Line, length_m: float, bore_m: float, roughness_m: float, loss_number: float
) -> float:
    """Return the water that a head [m] drives through one branch [m³/s]."""

    def short(flow_m3_s: float) -> float:
        pipe = (length_m, bore_m, roughness_m, loss_number, ENDS_LOSS_NUMBER)
        return _head_m(flow_m3_s, line, *pipe) - head_m

    # with no friction at all it would be this
    most_m3_s = 0.25 * math.pi * bore_m**2 * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)
    return float(brentq(short, 0.0, most_m3_s, xtol=1e-13, rtol=1e-9))


def water_words(flow_m3_s: float) -> str:
    """Return a flow of water, as "1.5 gpm (5.7 L/min)"."""
    return pair(f"{flow_m3_s * 15850.323:.1f} gpm", f"{flow_m3_s * 60000.0:.1f} L/min")


def _notices(found: SiphonRisk) -> tuple[Notice, ...]:
    """Return what is said of the pond running back."""
    told = found.heights
    if not found.low:
        return ()
    high = f"the highest water ({'given' if told.high_water_given else 'today’s and a foot'})"
    if told.compressor_m < 0.0:
        under = f"{feet_depth(-told.compressor_m)} under today's water"
    else:
        under = f"{feet_depth(told.high_water_m - told.compressor_m)} under {high}"
    start = (
        f"The compressor stands {under}: when it stops and a check valve fails, the pond can run back to it."
    )
    rest = "Check valves at the compressor and in the branches, a drain at the lowest place."
    if found.crest_protects and told.crest_m is not None:
        where = (
            "" if told.crest_station_m is None else f" {feet_depth(told.crest_station_m)} from the compressor"
        )
        words = (
            f"{start} The line itself passes {feet_depth(told.crest_m - told.high_water_m)} over the highest water"
            f"{where}, which stops it: keep that crest. {rest}"
        )
        return (note("air-siphon-crest", words),)
    flows = []
    if found.flow_m3_s > 0.0:
        flows.append(f"{water_words(found.flow_m3_s)} at today's level")
    if found.high_flow_m3_s > 0.0:
        flows.append(f"{water_words(found.high_flow_m3_s)} at the highest")
    flood = (
        f" It would get {' and '.join(flows)}, with the line full and its membranes gone." if flows else ""
    )
    words = (
        f"{start}{flood} Lead the line over a riser loop before the compressor: its top "
        f"{feet_depth(found.loop_over_compressor_m or 0.0)} over the compressor, "
        f"{feet_depth(LOOP_MARGIN_M)} over {high}. {rest}"
    )
    return (caution("air-siphon", words),)
