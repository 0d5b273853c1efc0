"""Heat, plastic and noise of an air line for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, column, column_unit
from plumeline.cli.tables import listing, table
from plumeline.job.document import Housing
from plumeline.pairs import said
from plumeline.stages.air.heat import HotDay, PlasticJoint, air_flow, free_area, kelvin
from plumeline.stages.air.noise import Noise
from plumeline.units import show
from plumeline.units.showing import System

HOUSINGS = {
    Housing.CABINET: "a cabinet",
    Housing.ROOM: "a large room: no warmer than its air",
    Housing.OPEN: "the open air",
    Housing.UNKNOWN: "not known: counted as a usual cabinet",
}


def heat_blocks(found: HotDay | None, units: System) -> list[str]:
    """Return the texts of the hot day: figures, pieces, joints."""
    if found is None:
        return []
    blocks = [listing(heat_rows(found, units), title="Hot day, dirty filter"), _pieces(found, units)]
    if found.joints:
        blocks.append(_joints(found, units))
    return blocks


def heat_rows(found: HotDay, units: System) -> list[tuple[str, str]]:
    """Return the figures of the hot day, name and text."""
    return [
        ("air outside", show(found.air_degc, "degc", units)),
        ("the compressor stands in", HOUSINGS[found.cabinet.housing]),
        *_cabinet(found, units),
        ("air leaves at", show(found.outlet_degc, "degc", units)),
        ("metal first, in the open", _metal(found.metal_length_m, units)),
        ("metal first, in the ground", _metal(found.metal_buried_length_m, units)),
        ("air at the manifold", show(found.end_degc, "degc", units)),
    ]


def _cabinet(found: HotDay, units: System) -> list[tuple[str, str]]:
    """Return the balance of a cabinet; nothing without one."""
    box = found.cabinet
    if box.vent_area_wanted_m2 is None or box.fan_flow_wanted_m3_s is None:
        return []
    sun = "none: shade" if box.shaded else show(box.sun_heat_w, "w", units)
    wanted = said(kelvin(box.wanted_rise_k), units)
    return [
        ("its air over the air outside", said(kelvin(box.rise_k), units)),
        ("heat of the compressor, of the sun", f"{show(box.waste_heat_w, 'w', units)}, {sun}"),
        (
            "goes out by air, by walls",
            f"{show(box.by_air_w, 'w', units)}, {show(box.by_walls_w, 'w', units)}",
        ),
        ("air through it", said(air_flow(box.vent_flow_m3_s), units)),
        (f"fan that keeps it to {wanted}", said(air_flow(box.fan_flow_wanted_m3_s), units)),
        ("or openings, low and high each", said(free_area(box.vent_area_wanted_m2), units)),
    ]


def _metal(length_m: float | None, units: System) -> str:
    if length_m is None:
        return "no length is enough"
    return "none for the heat" if length_m == 0.0 else show(length_m, "m", units)


def _pieces(found: HotDay, units: System) -> str:
    unit = column_unit("degc", units)
    rows = [
        (
            piece.pipe,
            show(piece.length_m, "m", units),
            f"{show(piece.cover_m, 'm', units)} deep" if piece.cover_m else "open",
            show(piece.cooling_length_m, "m", units),
            column(piece.start_temperature_degc, "degc", units, 0),
            column(piece.end_temperature_degc, "degc", units, 0),
        )
        for piece in found.pieces
    ]
    heads = ("pipe", "length", "lies", "loses 63 %\nof its heat in", f"in\n{unit}", f"out\n{unit}")
    return table(heads, rows, title="Heat along the trunk, hot day")


def _joints(found: HotDay, units: System) -> str:
    unit = column_unit("degc", units)
    rows = [
        (
            joint.where,
            show(joint.distance_m, "m", units),
            joint.pipe,
            column(joint.temperature_degc, "degc", units, 0),
            column(joint.service_limit_degc, "degc", units, 0),
            EMPTY if joint.rating_pa is None else column(joint.rating_pa, "pa", units, 0),
            EMPTY if joint.derated_pa is None else column(joint.derated_pa, "pa", units, 0),
            joint_state(joint),
        )
        for joint in found.joints
    ]
    pressure = column_unit("pa", units)
    heads = (
        "joint", "at", "plastic", f"air\n{unit}", f"limit\n{unit}", f"rated\n{pressure}", f"warm\n{pressure}", "",
    )  # fmt: skip
    return table(
        heads, rows, align="lrlrrrrl", title="Plastic joints, hot day (ratings are for water, none for air)"
    )


def joint_state(joint: PlasticJoint) -> str:
    """Return what is said of a joint's heat."""
    if joint.temperature_degc > joint.service_limit_degc:
        return "TOO HOT"
    return "too near" if joint.too_hot else "cool enough"


def noise_blocks(found: Noise | None, units: System) -> list[str]:
    """Return the text of the noise; none where its level is not known."""
    return [] if found is None else [listing(noise_rows(found, units), title="Noise, in the open")]


def noise_rows(found: Noise, units: System) -> list[tuple[str, str]]:
    """Return the figures of the noise, name and text."""
    rows = [(f"at {show(1.0, 'm', units)}", f"{found.at_1_m_dba:.0f} dB(A)")]
    away = ", ".join(f"{item.level_dba:.0f} at {_away(item.distance_m, units)}" for item in found.levels)
    rows.append(("farther off", f"{away} (dB(A))"))
    if found.neighbour_distance_m is None or found.at_neighbour_dba is None:
        rows.append(("at the neighbour", "not known: give air.neighbour_distance"))
    else:
        where = _away(found.neighbour_distance_m, units)
        rows.append(("at the neighbour", f"{found.at_neighbour_dba:.0f} dB(A), {where} away"))
    if found.night_limit_dba is None:
        rows.append(("night limit", "not known: ask the local ordinance, give air.night_limit"))
    elif found.margin_dba is None:
        rows.append(("night limit", f"{found.night_limit_dba:.0f} dB(A)"))
    else:
        side = "under it" if found.margin_dba >= 0.0 else "OVER IT"
        margin = f"{abs(found.margin_dba):.1f} dB {side}"
        rows.append(("night limit", f"{found.night_limit_dba:.0f} dB(A): {margin}"))
    rows.append(
        (f"{found.compared_with_dba:.0f} dB(A) is kept from", f"{_away(found.limit_distance_m, units)} on")
    )
    return rows


def _away(distance_m: float, units: System) -> str:
    return f"{distance_m / 0.3048:.0f} ft" if units == "us" else f"{distance_m:.0f} m"
