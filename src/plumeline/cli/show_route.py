"""The air line's route for people: height, low points, water in the line, trench."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, column_unit, pressure_step
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.route import RouteResult
from plumeline.units import show
from plumeline.units.showing import System


def route_blocks(found: RouteResult | None, units: System) -> list[str]:
    """Return the texts of a route; none where the job has none."""
    if found is None:
        return []
    blocks = [listing(_figures(found, units), title="Route on land")]
    if found.low_points:
        blocks.append(_low_points(found, units))
    blocks.append(listing(_trench(found, units), title="Trench"))
    return blocks


def _figures(found: RouteResult, units: System) -> list[tuple[str, str]]:
    falls = "falls to the water all the way" if found.slope_to_water else "water stays in it"
    climb = sum(end - start for start, end in found.back_slope_m)
    return [
        ("length", show(found.length_m, "m", units)),
        (
            "fall to the water" if found.fall_m >= 0.0 else "climb to the water",
            f"{show(abs(found.fall_m), 'm', units)} ({100.0 * abs(found.slope_fraction):.1f} %), {falls}",
        ),
        ("climbs towards the water", show(climb, "m", units) if climb else "nowhere"),
        ("water that falls out", f"{_water(found.condensate_kg_d, units)} a day"),
        ("of it runs on to the pond", f"{_water(found.to_the_pond_kg_d, units)} a day"),
        ("air at the line's end", show(found.end_temperature_degc, "degc", units)),
        ("gauge with every dip full", _plugged(found, units)),
    ]


def _plugged(found: RouteResult, units: System) -> str:
    if not found.plug_pressure_pa:
        return "no dip that can shut the bore"
    more = f"up to {pressure_step(found.plug_pressure_pa, units)} more, in slugs"
    if found.plugged_gauge_pa is None:
        return more
    return f"{show(found.plugged_gauge_pa, 'pa', units)} at the compressor ({more})"


def _water(mass_kg: float, units: System) -> str:
    """Return a mass of water as a volume."""
    return f"{mass_kg / 3.785:.2f} gal" if units == "us" else f"{mass_kg:.2f} L"


def _low_points(found: RouteResult, units: System) -> str:
    rows = [
        (
            show(item.station_m, "m", units) + (" (compressor)" if item.at_compressor else ""),
            show(item.pipe_elevation_m, "m", units),
            show(item.dip_m, "m", units),
            show(item.rise_after_m, "m", units),
            _water(item.condensate_kg_d, units).split()[0],
            EMPTY if item.seal_kg is None else _water(item.seal_kg, units),
            EMPTY if item.days_to_seal_d is None else _span(item.days_to_seal_d),
        )
        for item in found.low_points
    ]
    unit = "gal/d" if units == "us" else "L/d"
    heads = ("low point\nat", "pipe at", "dip", "rise\nafter", f"water\n{unit}", "shuts the\nbore", "in")
    return table(
        heads, rows, title=f"Low points (heights in {column_unit('m', units)} on the route's levels)"
    )


def _span(days_d: float) -> str:
    """Return a time in hours, or in days where it is two or more."""
    return f"{24.0 * days_d:.1f} h" if days_d < 2.0 else f"{days_d:.0f} d"


def _trench(found: RouteResult, units: System) -> list[tuple[str, str]]:
    plan = found.trench
    if plan.dam_m:
        rows = [("in a dam", "REFUSED: no trench, pipe or anchor in an earthen dam; lay it round the dam")]
    else:
        rows = [
            ("length", show(plan.length_m, "m", units)),
            ("mean depth", show(plan.mean_depth_m, "m", units)),
            ("soil to move", _soil(plan.volume_m3, units)),
        ]
    if len(plan.volume_by_soil_m3) > 1 and not plan.dam_m:
        parts = "; ".join(f"{soil} {_soil(volume, units)}" for soil, volume in plan.volume_by_soil_m3)
        rows.append(("by soil", parts))
    for crossing in plan.crossings:
        rows.append(
            (
                f"crosses {crossing.what}",
                f"at {show(crossing.from_m, 'm', units)}: {said(crossing.words, units)}",
            )
        )
    rows.append(("date", plan.dated_line or "none: see the cautions"))
    return rows


def _soil(volume_m3: float, units: System) -> str:
    return f"{volume_m3 / 0.764554857984:.1f} yd³" if units == "us" else f"{volume_m3:.1f} m³"
