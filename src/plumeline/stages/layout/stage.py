"""The stage: diffusers, manifold and lines in the surveyed basin."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from plumeline.job.document import Diffuser, Job, Place
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.stages.layout.bases import base_notices, base_of
from plumeline.stages.layout.branches import Stands, bends_of, branch_of, crossing_notices, stands_of
from plumeline.stages.layout.kept_out import Ways, line_notices
from plumeline.stages.layout.parts import wet_cells
from plumeline.stages.layout.paths import Water, water_of
from plumeline.stages.layout.placing import (
    DAY_S,
    SPACING_DEPTHS,
    Ground,
    Placed,
    Standing,
    ground_of,
    keep_out_notices,
    least_spacing,
    place_all,
)
from plumeline.stages.layout.result import Layout, PlacedDiffuser, Together
from plumeline.stages.layout.stakes import Bend, Stake, bend_name, stake_notices, stakes_of, tolerance
from plumeline.stages.survey import Survey
from plumeline.units import both

AIR_RULE_M_S = 9.2 / 60.0 / 1e6
"""Lorenzen & Fast 1977: 9.2 m³/min of air for each km² of water, 1.3 scfm an acre (from memory)."""
QUARTER_ACRE_M2 = 1011.7
SHALLOW_M = 2.0
BOILS_LIMIT_FRACTION = 0.3
FAR_REACH_M = 45.0


@dataclass(frozen=True, eq=False)
class _Served:
    """Water by its nearest diffuser: volume and reach for each, share turned over, mean way."""

    volume_m3: np.ndarray
    reach_m: np.ndarray
    share_fraction: float
    mean_way_m: float


def layout(job: Job, survey: Survey, *, flow_per_diffuser_water_m3_s: Callable[[float], float]) -> Layout:
    """Return where everything lies.

    Args:
        job: its diffusers with a place stand there, the others are placed; where none is listed, the number
        is
            the least that meets ``wishes.turnover_per_day``. What was built goes before what was asked for.
        survey: the basin.
        flow_per_diffuser_water_m3_s: water lifted by one plume [m³/s] as a function of the membrane's depth
        [m].

    Returns:
        The layout.

    Raises:
        InputError: a diffuser stands outside the water, a pipe is not known, keep-out zones leave no water.

    Source: placing.py and choose.py (places), paths.py (ways), branches.py (lines).
    """
    water = water_of(survey.polygon)
    ground = ground_of(job, survey, water, wet_cells(survey))
    stood, manifold_place = listed(job)
    led = {item.name: bends_of(item, survey) for item in stood}
    ways = Ways(job, survey, water)
    stands = stands_of(job, manifold_place, survey, ways)
    placed = place_all(
        ground,
        stood,
        job.wishes.turnover_per_day,
        flow_per_diffuser_water_m3_s,
        lambda pool_xy, placed, rest: stands.lines(ways, led, pool_xy, placed, rest),
    )
    standing, joint = placed.standing, placed.joint
    places = np.array([item.xy for item in standing])
    at_x, at_y = stands.places_xy[joint.manifold_index]
    manifold_xy = (float(at_x), float(at_y))
    flows = np.array([flow_per_diffuser_water_m3_s(item.depth_m) for item in standing])
    served = _serve(ground, places, flows, job.wishes.turnover_per_day)
    diffusers = tuple(
        _placed(
            job,
            ground,
            ways,
            manifold_xy,
            item,
            led.get(item.diffuser.name, ()),
            float(flow),
            float(volume),
            float(reach),
        )
        for item, flow, volume, reach in zip(standing, flows, served.volume_m3, served.reach_m, strict=True)
    )
    air_each = job.air.air_per_diffuser_m3_s
    found = Layout(
        manifold_xy=manifold_xy,
        manifold_reason=stands.reason,
        diffusers=diffusers,
        water_flow_m3_s=float(flows.sum()),
        turnover_per_day=float(flows.sum()) * DAY_S / survey.volume_m3,
        wanted_turnover_per_day=job.wishes.turnover_per_day,
        served_fraction=served.share_fraction,
        mean_distance_m=served.mean_way_m,
        dead_volume_m3=survey.hypsograph.volume_below(max(item.depth_m for item in standing)),
        spacing_m=least_spacing(standing),
        boil_cover_fraction=sum(np.pi * (0.5 * item.depth_m) ** 2 for item in standing) / survey.area_m2,
        rule_air_m3_s=AIR_RULE_M_S * survey.area_m2,
        planned_air_m3_s=None if air_each is None else air_each * len(standing),
        schematic=survey.outline_assumed,
        notices=(),
        assumptions=_assumptions(job, water, stood),
        together=_together(placed, stands, ground, manifold_place is not None),
    )
    stakes = _stakes(job, survey, found)
    lines = {item.name: item.branch_path_xy for item in diffusers}
    kept_out = (*keep_out_notices(ground), *line_notices(ways, lines), *crossing_notices(lines))
    all_notices = (
        *as_built_notices(job),
        *placed.notices,
        *stands.notices,
        *kept_out,
        *_notices(found, survey, job.air.base_height_m),
        *stake_notices(stakes),
        *base_notices({item.name: item.base for item in diffusers}),
    )
    return Layout(**{**found.__dict__, "notices": all_notices, "stakes": stakes})


def _together(placed: Placed, stands: Stands, ground: Ground, manifold_given: bool) -> Together | None:
    """Return how manifold and places were found together; None where the job gives all of them."""
    if manifold_given and all(item.given for item in placed.standing):
        return None
    joint, volume_m3 = placed.joint, float(ground.part_volume_m3.sum())
    return Together(
        round_count=joint.round_count,
        line_m=joint.line_m,
        line_before_m=joint.line_before_m,
        way_m=joint.cost_m4 / volume_m3,
        way_before_m=joint.cost_before_m4 / volume_m3,
        trunk_m=None if stands.trunk_m is None else float(stands.trunk_m[joint.manifold_index]),
        trunk_weight_number=stands.trunk_weight_number,
    )


def _stakes(job: Job, survey: Survey, found: Layout) -> tuple[Stake, ...]:
    """Return the stakes from the job's marks, from the manifold where it has none."""
    marks = [(mark.name, survey.plane.to_xy(mark.place)) for mark in job.pond.marks]
    places = [
        (item.name, (item.x_m, item.y_m), item.bottom_depth_m, item.branch_run_m) for item in found.diffusers
    ]
    bends = {item.name: item.branch_bends for item in found.diffusers}

    def tolerance_m(xy: tuple[float, float]) -> float | None:
        error_m = survey.reading_error_m
        return None if error_m is None else tolerance(survey.depth_error_at(*xy) or 0.0, error_m)

    return stakes_of(places, marks or [("manifold", found.manifold_xy)], tolerance_m, bends)


def listed(job: Job) -> tuple[tuple[Diffuser, ...], Place | None]:
    """Return the diffusers and the manifold of the job, what was built before what was asked for."""
    built = job.as_built if job.as_built and job.as_built.diffusers else None
    return job.listed_diffusers, (built.manifold if built else None) or job.air.manifold


def as_built_notices(job: Job) -> tuple[Notice, ...]:
    """Say which places and depths everything after the layout stands on, where the crew wrote what it built."""
    built = job.as_built
    if built is None or not built.diffusers:
        return ()
    placed = ", ".join(item.name for item in built.diffusers if item.place is not None)
    lacking = ", ".join(item.name for item in built.diffusers if item.place is None)
    text = (
        f"As built, noted on {built.made_on.isoformat()}: "
        + (f"{placed} as the crew let them down. " if placed else "")
        + (f"Of {lacking} no place was noted, so it is chosen here: note it. " if lacking else "")
        + "Layout, air, plumes and the start-up plan are worked out for these, not for the drawing."
    )
    return ((caution if lacking else note)("layout-as-built", text),)


def _serve(ground: Ground, places: np.ndarray, flows_m3_s: np.ndarray, turnover_per_day: float) -> _Served:
    """Return who serves what: each part goes to its nearest diffuser, the near ones first."""
    way = ground.water.distances(places, ground.part_xy)
    nearest = np.argmin(way, axis=0)
    own_way, volume = way[nearest, np.arange(way.shape[1])], ground.part_volume_m3
    owned, reach, moved = np.zeros(len(places)), np.zeros(len(places)), 0.0
    for n, flow in enumerate(flows_m3_s):
        mine = np.flatnonzero(nearest == n)
        mine = mine[np.argsort(own_way[mine])]
        total = np.cumsum(volume[mine])
        if not len(mine):
            continue
        owned[n] = total[-1]
        can_m3 = flow * DAY_S / turnover_per_day
        moved += min(can_m3, owned[n])
        reach[n] = own_way[mine[min(int(np.searchsorted(total, can_m3)), len(mine) - 1)]]
    mean = float((own_way * volume).sum() / volume.sum())
    return _Served(owned, reach, min(float(moved / volume.sum()), 1.0), mean)


def _placed(
    job: Job,
    ground: Ground,
    ways: Ways,
    manifold_xy: tuple[float, float],
    item: Standing,
    bends_xy: tuple[tuple[float, float], ...],
    flow_m3_s: float,
    volume_m3: float,
    reach_m: float,
) -> PlacedDiffuser:
    rise_m = item.bottom_m - item.depth_m
    branch = branch_of(job, ground.survey, ways, manifold_xy, item.diffuser, (*bends_xy, item.xy), rise_m)
    return PlacedDiffuser(
        name=item.diffuser.name,
        x_m=item.xy[0],
        y_m=item.xy[1],
        depth_m=item.depth_m,
        bottom_depth_m=item.bottom_m,
        placed_by="job" if item.given else "search",
        water_flow_m3_s=flow_m3_s,
        branch_path_xy=branch.path_xy,
        branch_run_m=branch.run_m,
        branch_length_m=branch.length_m,
        branch_cut_m=branch.cut_m,
        branch_pipe=branch.pipe,
        branch_bore_m=branch.bore_m,
        served_volume_m3=volume_m3,
        reach_m=reach_m,
        base=base_of(ground.survey.muck, *item.xy, job.air.base_height_m),
        branch_bends=_bends(item.diffuser, bends_xy, ground.survey),
    )


def _bends(diffuser: Diffuser, bends_xy: tuple[tuple[float, float], ...], survey: Survey) -> tuple[Bend, ...]:
    return tuple(
        Bend(bend_name(diffuser.name, number), xy, survey.depth_at(*xy))
        for number, xy in enumerate(bends_xy, start=1)
    )


def _assumptions(job: Job, water: Water, listed: tuple[Diffuser, ...]) -> tuple[str, ...]:
    found = [
        f"membranes stand {both(job.air.base_height_m, 'm')} above the bottom unless their depth is given",
        f"branches lie on the bottom, {job.air.slack_fraction:.0%} slack, cut to the next {pair('5 ft', '1.52 m')}",
        "each part of the water goes to the diffuser nearest by the way through the water",
    ]
    if water.tolerance_m > 0:
        found.append(f"ways may cut across the shore by {both(water.tolerance_m, 'm')}")
    if not listed:
        found.append("the number of diffusers is the least whose plumes lift the pond as often as is wished")
        found.append(
            f"two diffusers stand at least {SPACING_DEPTHS:g} times the greatest depth apart (judgement)"
        )
    return tuple(found)


def _base_notices(found: Layout, base_m: float) -> list[Notice]:
    """Return which membranes can't stand as high as the job says, and stand half way down."""
    high = [one.name for one in found.diffusers if base_m > 0.5 * one.bottom_depth_m >= one.depth_m - 1e-6]
    if not high:
        return []
    text = (
        f"{', '.join(high)}: a base of {both(base_m, 'm')} is more than half of the depth there; the "
        "membrane is taken half way down. Check the unit, or give a lower base."
    )
    return [caution("base-high", text)]


def _notices(found: Layout, survey: Survey, base_m: float) -> tuple[Notice, ...]:
    """Return what the layout gives to think about."""
    notices: list[Notice] = []
    if found.schematic:
        text = (
            "Positions are schematic: the outline is assumed. Do not stake them out before the shore "
            "is walked."
        )
        notices.append(caution("positions-schematic", text))
    shallow = [item.name for item in found.diffusers if item.depth_m < SHALLOW_M]
    if shallow:
        text = (
            f"{', '.join(shallow)}: shallower than {both(SHALLOW_M, 'm')}, where a plume moves little "
            "water for its air "
            "(common practice, no published source)."
        )
        notices.append(caution("diffuser-shallow", text))
    notices += _base_notices(found, base_m)
    if found.spacing_m is not None and found.spacing_m < SPACING_DEPTHS * survey.max_depth_m:
        text = f"Two diffusers stand {both(found.spacing_m, 'm')} apart: their plumes draw the same water."
        notices.append(note("diffusers-close", text))
    notices += _turnover_notices(found, survey)
    far = [item for item in found.diffusers if item.reach_m > FAR_REACH_M]
    if far:
        names, most_m = ", ".join(item.name for item in far), max(item.reach_m for item in far)
        text = (
            f"{names}: water up to {both(most_m, 'm')} away must come to it. Currents are reported "
            f"to about {pair('100 ft', '30 m')} (common practice, no published "
            "source); a bay farther off mixes slowly: one more diffuser helps."
        )
        notices.append(note("reach-long", text))
    if survey.area_m2 < QUARTER_ACRE_M2 or found.boil_cover_fraction > BOILS_LIMIT_FRACTION:
        text = (
            f"Boils cover {found.boil_cover_fraction:.0%} of {both(survey.area_m2, 'm2')}: there is no "
            "quiet water aside "
            "for the fish while it runs."
        )
        notices.append(caution("pond-small", text))
    return tuple(notices)


def _turnover_notices(found: Layout, survey: Survey) -> list[Notice]:
    notices: list[Notice] = []
    lowest_m = max(item.depth_m for item in found.diffusers)
    if found.dead_volume_m3 > 0.02 * survey.volume_m3:
        text = (
            f"{both(found.dead_volume_m3, 'm3')} ({found.dead_volume_m3 / survey.volume_m3:.0%}) lie "
            "below the lowest "
            f"membrane at {both(lowest_m, 'm')} and are hardly mixed."
        )
        kind = caution if found.dead_volume_m3 > 0.05 * survey.volume_m3 else note
        notices.append(kind("dead-water", text))
    if found.turnover_per_day < found.wanted_turnover_per_day * 0.995:
        each = found.water_flow_m3_s / len(found.diffusers)
        need = (
            int(np.ceil(found.wanted_turnover_per_day * survey.volume_m3 / DAY_S / each)) if each > 0 else 0
        )
        text = (
            f"{len(found.diffusers)} diffusers lift the pond {found.turnover_per_day:.2f} times a day, "
            f"{found.wanted_turnover_per_day:g} was wanted"
            + (f"; it would take {need} like these." if need else ".")
        )
        notices.append(caution("turnover-short", text))
    return notices
