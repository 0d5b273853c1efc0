"""What the hot day and the noise come to, as names and values: the same lines in the shell and on paper."""

from __future__ import annotations

from plumeline.job.document import Housing
from plumeline.stages.air.heat import HotDay, PlasticJoint, air_flow, free_area, kelvin
from plumeline.stages.air.noise import BESIDE, Noise, distance
from plumeline.units import both

HOUSINGS = {
    Housing.CABINET: "a cabinet",
    Housing.ROOM: "a large room: no warmer than its air",
    Housing.OPEN: "the open air",
    Housing.UNKNOWN: "not known: counted as a usual cabinet",
}


def heat_rows(found: HotDay) -> list[tuple[str, str]]:
    """Return the figures of the hot day, values as pairs of units."""
    return [
        ("air outside", both(found.air_degc, "degc")),
        ("the compressor stands in", HOUSINGS[found.cabinet.housing]),
        *_cabinet_rows(found),
        ("air leaves at", both(found.outlet_degc, "degc")),
        ("metal first, in the open", _metal(found.metal_length_m)),
        ("metal first, in the ground", _metal(found.metal_buried_length_m)),
        ("air at the manifold", both(found.end_degc, "degc")),
    ]


def _cabinet_rows(found: HotDay) -> list[tuple[str, str]]:
    """Return the balance of a cabinet; nothing without one."""
    box = found.cabinet
    if box.vent_area_wanted_m2 is None or box.fan_flow_wanted_m3_s is None:
        return []
    sun = "shade" if box.shaded else f"sun {box.sun_heat_w:.0f} W"
    return [
        ("its air over the air outside", kelvin(box.rise_k)),
        ("heat into it", f"compressor {box.waste_heat_w:.0f} W, {sun}"),
        ("heat out of it", f"by air {box.by_air_w:.0f} W, through walls {box.by_walls_w:.0f} W"),
        ("air through it", air_flow(box.vent_flow_m3_s)),
        (f"fan for {kelvin(box.wanted_rise_k)}", air_flow(box.fan_flow_wanted_m3_s)),
        ("or free openings, low and high", f"{free_area(box.vent_area_wanted_m2)} each"),
    ]


def _metal(length_m: float | None) -> str:
    if length_m is None:
        return "no length is enough"
    return "none for the heat" if length_m == 0.0 else both(length_m, "m")


def joint_state(joint: PlasticJoint) -> str:
    """Return what is said of a joint's heat."""
    if joint.temperature_degc > joint.service_limit_degc:
        return "TOO HOT"
    return "too near" if joint.too_hot else "cool enough"


def noise_rows(found: Noise) -> list[tuple[str, str]]:
    """Return the figures of the noise, values as pairs of units."""
    away = ", ".join(f"{item.level_dba:.0f} at {distance(item.distance_m)}" for item in found.levels)
    rows = [
        (f"at {BESIDE}", f"{found.at_1_m_dba:.0f} dB(A)"),
        ("farther off, dB(A)", away),
    ]
    if found.neighbour_distance_m is None or found.at_neighbour_dba is None:
        rows.append(("at the neighbour", "not known: give air.neighbour_distance"))
    else:
        where = f"{distance(found.neighbour_distance_m)} away"
        rows.append(("at the neighbour", f"{found.at_neighbour_dba:.0f} dB(A), {where}"))
    if found.night_limit_dba is None:
        rows.append(("night limit", "not known: ask the local ordinance, give air.night_limit"))
    elif found.margin_dba is None:
        rows.append(("night limit", f"{found.night_limit_dba:.0f} dB(A)"))
    else:
        side = "under it" if found.margin_dba >= 0.0 else "OVER IT"
        margin = f"{abs(found.margin_dba):.1f} dB {side}"
        rows.append(("night limit", f"{found.night_limit_dba:.0f} dB(A): {margin}"))
    rows.append(
        (f"{found.compared_with_dba:.0f} dB(A) is kept from", f"{distance(found.limit_distance_m)} on")
    )
    return rows
