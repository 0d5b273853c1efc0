"""The answer about one pipe."""

from __future__ import annotations

import argparse

from plumeline.cli.common import answer
from plumeline.cli.quick_water import air_pressure_pa
from plumeline.sources import read_table
from plumeline.stages.air import quick_pipe
from plumeline.units import show

DRAWN_TUBING_ROUGHNESS_M = 1.5e-6


def pipe(args: argparse.Namespace) -> int:
    """Answer how much pressure a flow of air loses in a pipe."""
    around_pa = air_pressure_pa(args.elevation)
    bore_m, roughness_m, size = _size(args)
    flow_m3_s = args.air.flow.standard_m3_s(around_pa, args.temperature.value)
    found = quick_pipe(
        flow_m3_s,
        args.length.value,
        bore_m,
        args.inlet_pressure.value,
        args.temperature.value,
        roughness_m,
        args.elevation.value if args.elevation else 0.0,
    )
    understood = {
        "air": args.air.understood,
        "length": args.length.understood,
        "bore": size,
        "inlet pressure": args.inlet_pressure.understood,
        "temperature": args.temperature.understood,
        "roughness": args.roughness.understood if args.roughness else f"{1000 * roughness_m:g} mm",
        "elevation": args.elevation.understood if args.elevation else "sea level",
    }
    return answer(
        args,
        {
            "pressure_drop_pa": found.pressure_drop_pa,
            "velocity_m_s": found.velocity_m_s,
            "reynolds_number": found.reynolds_number,
            "outlet_gauge_pressure_pa": found.outlet_pressure_pa,
            "standard_flow_m3_s": flow_m3_s,
            "bore_m": bore_m,
            "roughness_m": roughness_m,
        },
        understood=understood,
        lines=[
            ("pressure drop", show(found.pressure_drop_pa, "pa", args.units, gauge=None)),
            ("pressure at the outlet", show(found.outlet_pressure_pa, "pa", args.units)),
            ("velocity at the inlet", show(found.velocity_m_s, "m_s", args.units)),
            ("Reynolds number", f"{found.reynolds_number:.0f}"),
            ("taken for granted", "a straight pipe without fittings; air of one temperature all along"),
        ],
        notices=found.notices,
    )


def _size(args: argparse.Namespace) -> tuple[float, float, str]:
    """Return bore [m], roughness [m] and how the size was understood."""
    if args.pipe:
        row = next(row for row in read_table("pipes") if row["name"] == args.pipe)
        bore_m, roughness_m = float(row["bore_m"]), float(row["roughness_m"])
        size = f"{args.pipe}, {row['material']}, {row['standard']} = {show(bore_m, 'm', args.units)}"
    else:
        bore_m, roughness_m, size = args.bore.value, DRAWN_TUBING_ROUGHNESS_M, args.bore.understood
    return bore_m, args.roughness.value if args.roughness else roughness_m, size
