"""The air line for people."""

from __future__ import annotations

from plumeline.cli.figures import (
    EMPTY,
    air_column,
    air_unit,
    column,
    column_unit,
    gauge_unit,
    pressure_step,
    shown,
)
from plumeline.cli.show_accepted import accepted_blocks
from plumeline.cli.show_balancing import procedure_block, valves_block
from plumeline.cli.show_electrical import electrical_blocks
from plumeline.cli.show_ends import ends_blocks
from plumeline.cli.show_heat import heat_blocks, noise_blocks
from plumeline.cli.show_old_pipe import old_pipe_blocks
from plumeline.cli.show_route import route_blocks
from plumeline.cli.tables import listing, table
from plumeline.stages.air import AirResult, BranchPoint
from plumeline.stages.air.network import FLOW_BASIS_SI
from plumeline.stages.air.results import OperatingPoint
from plumeline.units import show, show_air
from plumeline.units.showing import System


def air_blocks(found: AirResult, units: System) -> list[str]:
    """Return the texts of the air line: figures, branches, valves, gauges, trunk."""
    return [
        listing(_figures(found, units), title="Air line, valves set"),
        _branches(found, units),
        valves_block(found, units),
        procedure_block(found, units),
        _gauges(found, units),
        *accepted_blocks(found.accepted, units),
        _trunk(found, units),
        *old_pipe_blocks(found.old_pipe, units),
        *route_blocks(found.route, units),
        *ends_blocks(found.ends, units),
        *heat_blocks(found.heat, units),
        *noise_blocks(found.noise, units),
        *electrical_blocks(found.electrical, units),
    ]


def _figures(found: AirResult, units: System) -> list[tuple[str, str]]:
    point = found.balanced
    machine = found.compressor
    count = f"{machine.count} × " if machine.count > 1 else ""
    chosen = " (chosen here)" if found.compressor_chosen else ""
    given = "as given" if found.relief_given else "chosen here"
    metal = "no length is enough" if found.metal_length_m is None else show(found.metal_length_m, "m", units)
    return [
        ("compressor", f"{count}{found.compressor_words}{chosen}"),
        ("gauge at the compressor", show(point.compressor_pressure_pa, "pa", units)),
        ("gauge at the manifold", show(point.manifold_pressure_pa, "pa", units)),
        *(
            (f"gauge at the end of {item.name}", show(item.pressure_pa, "pa", units))
            for item in point.junctions
        ),
        ("lost in the trunk", pressure_step(point.trunk_drop_pa, units)),
        ("air, all diffusers", show_air(point.flow_standard_m3_s, units)),
        ("counted at", point.flow_basis if units == "us" else FLOW_BASIS_SI),
        *_normal(point, units),
        ("wanted for each", show_air(found.wanted_flow_standard_m3_s, units)),
        ("free air at the intake", _intake(point.flow_intake_m3_s, units)),
        ("air pressure of the site", show(found.barometric_pressure_pa, "pa", units, gauge=False)),
        ("air leaves at", show(found.outlet_temperature_degc, "degc", units)),
        ("on a hot day, dirty filter", show(found.hot_outlet_temperature_degc, "degc", units)),
        ("air then, valves as set", _derated(found, units)),
        ("metal for the first", metal),
        ("relief valve", f"{show(found.relief_pressure_pa, 'pa', units)} ({given})"),
        ("power from the wall", show(found.wire_power_w, "w", units)),
        ("energy stored in the trunk", f"{found.stored_energy_j / 1000.0:.2f} kJ"),
    ]


def _normal(point: OperatingPoint, units: System) -> list[tuple[str, str]]:
    """Return the flow as makers of metric countries count it, for who reads in metric units."""
    if units == "us":
        return []
    return [("the same at 0 °C, 1 atm", f"{point.flow_normal_m3_h:.2f} Nm³/h")]


def _derated(found: AirResult, units: System) -> str:
    """Return what is left of the air on a hot day behind a dirty filter."""
    if found.derated is None:
        return "none: the compressor reaches no diffuser"
    share_fraction = found.derated.flow_standard_m3_s / found.balanced.flow_standard_m3_s
    gone = [branch.name for branch in found.derated.branches if branch.dead]
    tail = f", {', '.join(gone)} dead" if gone else ""
    return (
        f"{show_air(found.derated.flow_standard_m3_s, units)} ({100.0 * share_fraction - 100.0:+.0f} %{tail})"
    )


def _intake(flow_m3_s: float, units: System) -> str:
    return f"{flow_m3_s / 4.719474432e-4:.2f} cfm" if units == "us" else f"{flow_m3_s * 3600.0:.2f} m³/h"


def _state(point: BranchPoint) -> str:
    if point.dead:
        return "dead"
    return "shut" if point.shut else "runs"


def _branches(found: AirResult, units: System) -> str:
    rows = []
    for spec, point in zip(found.branches, found.balanced.branches, strict=True):
        opened = found.valves_open.branch(spec.name)
        rows.append(
            (
                spec.name,
                show(spec.depth_m, "m", units),
                show(spec.length_m, "m", units),
                column(point.needed_pressure_pa, "pa", units, 2),
                column(point.port_pressure_pa, "pa", units, 2),
                air_column(point.flow_standard_m3_s, units),
                _state(point),
                _state(opened) if opened.dead else air_column(opened.flow_standard_m3_s, units),
            )
        )
    unit = gauge_unit(units)
    heads = (
        "", "membrane\nat", "line", f"needs\n{unit}", f"port\n{unit}", f"air\n{air_unit(units)}",
        "valves\nset", f"valves open\n{air_unit(units)}",
    )  # fmt: skip
    return table(heads, rows, align="lrrrrrlr", title="Diffusers")


def _gauges(found: AirResult, units: System) -> str:
    unit = gauge_unit(units)
    points = (found.balanced, found.valves_open, *found.alone, *found.one_shut)
    beyond = any(point.beyond_curve for point in points)
    rows = [
        (
            point.case,
            column(point.compressor_pressure_pa, "pa", units, 2),
            column(point.manifold_pressure_pa, "pa", units, 2),
            air_column(point.flow_standard_m3_s, units),
            *(["yes" if point.beyond_curve else ""] if beyond else []),
        )
        for point in points
    ]
    heads = (
        "",
        f"compressor\n{unit}",
        f"manifold\n{unit}",
        f"air\n{air_unit(units)}",
        *(["beyond the\ncurve"] if beyond else []),
    )
    return table(heads, rows, title="Gauges to expect")


def _trunk(found: AirResult, units: System) -> str:
    unit = column_unit("degc", units)
    rows = [
        (
            piece.pipe or "by bore",
            show(piece.length_m, "m", units),
            show(piece.bore_m, "m", units),
            show(piece.cover_m, "m", units) if piece.cover_m else "open",
            column(piece.start_temperature_degc, "degc", units, 0),
            column(piece.end_temperature_degc, "degc", units, 0),
            column(piece.service_limit_degc, "degc", units, 0),
            EMPTY if piece.rating_pa is None else shown(piece.rating_pa, "pa", units),
        )
        for piece in found.trunk
    ]
    heads = (
        "pipe", "length", "bore", "cover", f"in\n{unit}", f"out\n{unit}", f"limit\n{unit}", "rating,\nwater",
    )  # fmt: skip
    title = "Trunk, chosen here" if found.trunk_chosen else "Trunk"
    return table(heads, rows, title=title)
