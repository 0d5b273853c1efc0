"""The tables of the paper, as heads and rows of text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from plumeline.charts.start import running_words
from plumeline.paper.figures import (
    EMPTY,
    bearing,
    bore,
    clock,
    per_cent,
    pressure,
    pressure_unit,
    short_date,
    span,
    tape,
    water_words,
)
from plumeline.stages.air.old_pipe import OldPipeProof
from plumeline.stages.air.route import RouteResult
from plumeline.stages.layout.bases import Base
from plumeline.stages.layout.stakes import line_words
from plumeline.stages.plan import Plan
from plumeline.stages.startup import RunDay
from plumeline.stages.startup.lines import (
    COMPARISON_HEADS,
    bound_cell,
    comparison_cells,
    later_cells,
    whole_cells,
)
from plumeline.units import plain, show, show_air
from plumeline.units.showing import System

Table = dict[str, Any]
MOST_KINDS = 5
"""Kinds of pipe that are printed of those an old one may be."""


def plain_table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], align: str, grow: str = "", *, boxes: bool = False
) -> Table:
    """Return a table for the template; one letter of ``align`` a column, a star of ``grow`` where it takes the rest."""
    return {
        "heads": list(heads),
        "rows": [list(row) for row in rows],
        "align": align,
        "grow": grow or "." * len(heads),
        "boxes": boxes,
    }


def places_table(plan: Plan, system: System) -> Table:
    """Return where each diffuser goes: coordinates, order of work, what the line must read, way from the manifold."""
    here = plan.layout.manifold_xy
    point = plan.survey.plane.to_point(*here)
    coordinates = [f"{point.latitude_deg:.5f}", f"{point.longitude_deg:.5f}"]
    rows = [["manifold", *coordinates, *[EMPTY] * 5]]
    stakes = {item.name: item for item in plan.layout.stakes}
    for item in plan.layout.diffusers:
        point = plan.survey.plane.to_point(item.x_m, item.y_m)
        xy = (item.x_m, item.y_m)
        rows.append(
            [
                item.name,
                f"{point.latitude_deg:.5f}",
                f"{point.longitude_deg:.5f}",
                str(stakes[item.name].order_number),
                line_words(stakes[item.name], system),
                show(item.depth_m, "m", system),
                tape(math.dist(here, xy), system),
                bearing(here, xy),
            ]
        )
        for bend in item.branch_bends:
            point = plan.survey.plane.to_point(*bend.xy)
            spot = [f"{point.latitude_deg:.5f}", f"{point.longitude_deg:.5f}"]
            order = [str(stakes[bend.name].order_number), line_words(stakes[bend.name], system), EMPTY]
            rows.append(
                [bend.name, *spot, *order, tape(math.dist(here, bend.xy), system), bearing(here, bend.xy)]
            )
    heads = (
        "place", "latitude", "longitude", "let down\nas no.", "the line\nmust read", "membrane at",
        "from\nmanifold", "true\nbearing",
    )  # fmt: skip
    return plain_table(heads, rows, "lrrrrrrr")


def stakes_table(plan: Plan, system: System) -> Table:
    """Return how a crew without GPS finds each place: sights from the marks, the depth that the line must read."""
    stakes = plan.layout.stakes
    soft = {item.name: item.base for item in plan.layout.diffusers if item.base is not None}
    names = [item.mark for item in stakes[0].sights]
    rows = [
        [
            str(item.order_number),
            item.name,
            *(
                cell
                for one in item.sights
                for cell in (f"{one.bearing_deg:.0f}°", tape(one.distance_m, system))
            ),
            line_words(item, system),
            *([_stands(soft.get(item.name), system)] if soft else []),
        ]
        for item in stakes
    ]
    heads = [
        "let down\nas no.",
        "at",
        *(word for name in names for word in (f"true bearing\nfrom {name}", "distance")),
    ]
    last = (
        ["the line\nmust read", "muck to expect,\nand what to stand on"] if soft else ["the line\nmust read"]
    )
    return plain_table([*heads, *last], rows, "rl" + "rr" * len(names) + "r" + ("l" if soft else ""))


def _stands(base: Base | None, system: System) -> str:
    """Return the muck to expect and what to stand on; a bend of a line stands on nothing."""
    return EMPTY if base is None else f"{show(base.muck_m, 'm', system)}: {base.stands_on}"


def lines_table(plan: Plan, system: System) -> Table:
    """Return what to cut, with boxes to tick and room for what was built."""
    rows = [
        [
            f"branch {item.name}",
            item.branch_pipe or EMPTY,
            bore(item.branch_bore_m, system),
            tape(item.branch_length_m, system),
            tape(item.branch_cut_m, system),
            "",
            "",
        ]
        for item in plan.layout.diffusers
    ]
    for n, piece in enumerate(plan.air.trunk, start=1):
        length = tape(piece.length_m, system)
        name = f"trunk {n}" if len(plan.air.trunk) > 1 else "trunk"
        rows.append([name, piece.pipe or EMPTY, bore(piece.bore_m, system), length, length, "", ""])
    total_m = sum(item.branch_cut_m for item in plan.layout.diffusers)
    trunk_m = sum(piece.length_m for piece in plan.air.trunk)
    rows.append(
        ["branches + trunk", "", "", "", f"{tape(total_m, system)} + {tape(trunk_m, system)}", "", ""]
    )
    heads = ("line", "pipe", "bore", "run with slack", "cut", "done", "as built")
    return plain_table(heads, rows, "llrrrll", ".....**", boxes=True)


def gauges_table(plan: Plan, system: System) -> Table:
    """Return the gauge readings to expect, case by case, with room for what was read."""
    air = plan.air
    names = [branch.name for branch in air.balanced.branches]
    unit = pressure_unit(system)
    rows = []
    for point in (air.balanced, air.valves_open, *air.alone, *air.one_shut):
        cells = []
        for name in names:
            branch = point.branch(name)
            if branch.shut:
                cells.append("shut")
            elif branch.dead:
                cells.append("dead")
            else:
                cells.append(pressure(branch.port_pressure_pa, system))
        rows.append(
            [
                point.case,
                pressure(point.compressor_pressure_pa, system),
                pressure(point.manifold_pressure_pa, system),
                *cells,
                show_air(point.flow_standard_m3_s, system)
                + (" (beyond curve)" if point.beyond_curve else ""),
                "",
            ]
        )
    heads = [
        f"case, {unit}",
        "compressor",
        "manifold",
        *(f"port {name}" for name in names),
        "air in all",
        "read",
    ]
    return plain_table(
        heads, rows, "l" + "r" * (len(names) + 3) + "l", "." * (len(names) + 4) + "*", boxes=True
    )


def flows_table(plan: Plan, system: System) -> Table:
    """Return what each diffuser gets and lifts with the valves set."""
    rows = []
    lifted = {one.name: one for one in plan.plume.diffusers}
    valves = {valve.name: valve for valve in plan.air.valves}
    for branch in plan.air.balanced.branches:
        one, valve = lifted.get(branch.name), valves.get(branch.name)
        rows.append(
            [
                branch.name,
                show_air(branch.flow_standard_m3_s, system),
                pressure(branch.needed_pressure_pa, system),
                pressure(branch.port_pressure_pa, system),
                EMPTY if one is None else show(one.lift.water_flow_m3_s, "m3_s", system),
                EMPTY if one is None else per_cent(one.surfacing_probability),
                EMPTY if valve is None else valve.words,
            ]
        )
    unit = pressure_unit(system)
    heads = (
        "diffuser", "air", f"needs\n{unit}", f"set at port\n{unit}", "water\nlifted", "plume\nsurfaces",
        "valve at the manifold",
    )  # fmt: skip
    return plain_table(heads, rows, "lrrrrrl", "......*")


def low_points_table(found: RouteResult, system: System) -> Table:
    """Return where water gathers in the line on land, with room for what was done about it."""
    rows = [
        [
            "at the compressor" if item.at_compressor else f"at {tape(item.station_m, system)}",
            show(item.dip_m, "m", system),
            f"{water_words(item.condensate_kg_d, system)} a day",
            EMPTY if item.seal_kg is None else water_words(item.seal_kg, system),
            "",
        ]
        for item in found.low_points
    ]
    heads = ("low point", "dip", "water", "shuts the bore", "drained or filled")
    return plain_table(heads, rows, "lrrrl", "....*", boxes=True)


def kinds_table(found: OldPipeProof, system: System) -> Table:
    """Return what a pipe in the ground may be, the likeliest first."""
    rows = [
        [item.words, bore(item.bore_m, system), per_cent(item.probability)]
        for item in found.classes[:MOST_KINDS]
        if item.probability > 0.005
    ]
    return plain_table(("it may be", "bore", "chance"), rows, "lrr")


def card_table(plan: Plan) -> Table:
    """Return the day-by-day card, with empty boxes for what is read."""
    rows = [
        [
            str(day.number) if day.firm else f"({day.number})",
            short_date(day.date),
            "runs on" if day.start_hour_h is None else clock(day.start_hour_h),
            running_words(day.minutes),
            _stop(day),
            span(day.dawn_do_mg_l),
            f"{day.least_do_mg_l.median:.1f} at {clock(day.least_hour_h)}",
            _lost(plan, day),
            "",
            "",
            "",
            "",
        ]
        for day in plan.startup.days
    ]
    lost, bound = whole_cells(plan.startup)
    later = later_cells(plan.startup)
    if later is not None:
        rows.append(
            [
                f"({later[0]})",
                "later",
                "runs on",
                "",
                "",
                "",
                "",
                _to(_bare(later[1]), later[2]),
                *[""] * 4,
            ]
        )
    rows.append(["all", "", "", "", "", "", "", _to(_bare(lost), bound), *[""] * 4])
    heads = (
        "day", "date", "start", "run", "stop under,\nby the hour", "next dawn\nmg/L", "lowest\nmg/L",
        "lost their\nrefuge", "read\nbefore", "read\nat stop", "read\nat dawn", "initials",
    )  # fmt: skip
    return plain_table(heads, rows, "rlrrrrrrllll", "........****", boxes=True)


def _stop(day: RunDay) -> str:
    """Return the reading that stops a run: from the lowest to the highest where it changes with the hour."""
    texts = [
        f"{value:.1f}"
        for value in sorted(item.do_mg_l for item in day.stop_by_hour if item.do_mg_l is not None)
    ]
    if not texts:
        return EMPTY
    return texts[0] if texts[0] == texts[-1] else f"{texts[0]}–{texts[-1]}"


def _lost(plan: Plan, day: RunDay) -> str:
    return _to(plain(day.failures, 0), bound_cell(plan.startup, day.risk_upper95_fraction))


def _to(count: str, bound: str) -> str:
    """Return a count and its upper bound; the count alone where no bound is stated."""
    return count if bound == EMPTY else f"{count} (to {bound})"


def _bare(counted: str) -> str:
    """Return a count without the ponds that it is of: they stand above the card."""
    return counted.split(" of ")[0]


def comparisons_table(plan: Plan) -> Table:
    """Return the schedules beside each other: counts of simulated ponds, never a grade."""
    return plain_table(COMPARISON_HEADS, comparison_cells(plan.startup), "lrrrrrrr")


def stops_table(plan: Plan) -> Table:
    """Return the stop readings of each run day by hour, beside the expected low; nothing where none is watched."""
    days = plan.startup.days
    hours = max((item.after_h for day in days for item in day.stop_by_hour), default=0)
    rows = []
    for day in days:
        by_hour = {item.after_h: item.do_mg_l for item in day.stop_by_hour}
        readings = [by_hour.get(hour) for hour in range(1, hours + 1)]
        rows.append(
            [
                str(day.number),
                *(EMPTY if reading is None else f"{reading:.1f}" for reading in readings),
                f"{day.least_do_mg_l.median:.1f} at {clock(day.least_hour_h)}",
            ]
        )
    heads = ("stop under, mg/L; day", *(f"after {hour} h" for hour in range(1, hours + 1)), "expected low")
    return plain_table(heads, rows, "r" * len(heads))
