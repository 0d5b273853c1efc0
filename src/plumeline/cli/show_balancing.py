"""The valves for people: what open valves do, how they are set, and what that costs."""

from __future__ import annotations

import textwrap

from plumeline.cli.figures import EMPTY, air_column, air_unit, column, gauge_unit, pressure_step
from plumeline.cli.tables import WIDTH, Block, Part, paragraph, table
from plumeline.pairs import said
from plumeline.stages.air import AirResult
from plumeline.stages.air.valves import least_open_fraction
from plumeline.units import show
from plumeline.units.showing import System

MODES = {"equal": "equal air", "depth": "air by depth", "volume": "air by volume served"}


def _open(fraction: float | None, kind: str) -> str:
    """Return how far a valve is open, for a column."""
    if fraction is None:
        return f"{kind}, under {100.0 * least_open_fraction(kind):.0f} %"
    return "full open" if fraction >= 1.0 else f"{kind}, {100.0 * fraction:.0f} %"


def valves_block(found: AirResult, units: System) -> str:
    """Return the table of the valves: all open beside as set, and how each is set."""
    rows = []
    for valve in found.valves:
        spec = next(spec for spec in found.branches if spec.name == valve.name)
        opened, point = found.valves_open.branch(valve.name), found.balanced.branch(valve.name)
        rows.append(
            (
                valve.name,
                show(spec.depth_m, "m", units),
                "dead" if opened.dead else air_column(opened.flow_standard_m3_s, units),
                "shut" if point.shut else air_column(point.flow_standard_m3_s, units),
                EMPTY if point.shut else column(valve.port_pressure_pa, "pa", units, 2),
                EMPTY if point.shut else pressure_step(valve.pressure_drop_pa, units),
                EMPTY if point.shut else _open(valve.open_fraction, valve.kind),
            )
        )
    heads = (
        "", "depth", f"all open\n{air_unit(units)}", f"as set\n{air_unit(units)}", f"port\n{gauge_unit(units)}",
        "burns", "open about",
    )  # fmt: skip
    title = f"Valves for {MODES[found.balancing.mode]}: set by the port's gauge, not by the handle"
    return table(heads, rows, align="lrrrrrl", title=title)


def procedure_block(found: AirResult, units: System) -> str:
    """Return the steps of setting the valves; empty with one diffuser."""
    plan = found.balancing
    if not plan.procedure:
        return ""
    cost = pressure_step(abs(plan.cost_pa), units)
    sign = "costs" if plan.cost_pa >= 0.0 else "saves"
    cost = f"Against all valves open it {sign} {cost} at the compressor ({plan.cost_w:+.1f} W of ideal work)."
    said_steps = [said(step, units) for step in plan.procedure]
    steps = [
        textwrap.fill(step, WIDTH, initial_indent=f"  {number}. ", subsequent_indent="     ")
        for number, step in enumerate(said_steps, start=1)
    ]
    title = "Setting the valves"
    part = Part(title, (), tuple((step,) for step in (*said_steps, cost)), "l")
    return Block("\n".join([title, *steps, paragraph(cost, "  ")]), [part])
