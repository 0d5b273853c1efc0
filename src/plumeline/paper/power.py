"""The page of heat, noise and power: what the plastic stands, what the neighbour hears, what the electrician needs."""

from __future__ import annotations

from typing import Any

from plumeline.pairs import said
from plumeline.paper.figures import EMPTY, pressure, pressure_unit, tape
from plumeline.paper.tables import Table, plain_table
from plumeline.stages.air import AirResult
from plumeline.stages.air.electrical import Electrical
from plumeline.stages.air.electrical_words import FOR_WHOM
from plumeline.stages.air.heat import HotDay
from plumeline.stages.air.lines_of_electrical import WIRE_HEADS, electrical_rows, wire_cells
from plumeline.stages.air.lines_of_heat import heat_rows, joint_state, noise_rows
from plumeline.units import show
from plumeline.units.showing import System


def power_part(air: AirResult, system: System) -> dict[str, Any] | None:
    """Return what the page says; None where the air line was solved without it."""
    if air.heat is None or air.electrical is None:
        return None
    return {
        "heat": _said(heat_rows(air.heat), system),
        "joints": joints_table(air.heat, system),
        "noise": [] if air.noise is None else _said(noise_rows(air.noise), system),
        "electrical": _said(electrical_rows(air.electrical), system),
        "for_whom": FOR_WHOM,
        "wires": wires_table(air.electrical, system),
        "points": [said(text, system) for text in air.electrical.checklist],
    }


def _said(rows: list[tuple[str, str]], system: System) -> list[list[str]]:
    return [[said(name, system), said(value, system)] for name, value in rows]


def joints_table(found: HotDay, system: System) -> Table:
    """Return what plastic stands at every joint on the hot day."""
    rows = [
        [
            joint.where,
            tape(joint.distance_m, system),
            joint.pipe,
            show(joint.temperature_degc, "degc", system, 0),
            show(joint.service_limit_degc, "degc", system, 0),
            EMPTY if joint.rating_pa is None else pressure(joint.rating_pa, system),
            EMPTY if joint.derated_pa is None else pressure(joint.derated_pa, system),
            joint_state(joint),
        ]
        for joint in found.joints
    ]
    unit = pressure_unit(system)
    heads = ("joint", "at", "plastic", "air", "limit", f"rated for\nwater, {unit}", "so warm", "")
    return plain_table(heads, rows, "lrlrrrrl")


def wires_table(found: Electrical, system: System) -> Table:
    """Return the sizes of wire; the last column is left out where the length is not known."""
    count = len(WIRE_HEADS) - (found.feeder_length_m is None)
    rows = [[said(cell, system) for cell in wire_cells(wire)[:count]] for wire in found.conductors]
    return plain_table(WIRE_HEADS[:count], rows, "rrlrrrrl"[:count])
