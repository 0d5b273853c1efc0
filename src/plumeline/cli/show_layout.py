"""The layout for people, with what each plume lifts."""

from __future__ import annotations

from plumeline.cli.figures import air_column, air_unit, column, column_unit, percent, shown
from plumeline.cli.show_muck import under_block
from plumeline.cli.tables import listing, table
from plumeline.stages.layout import Agreement, Layout, Together
from plumeline.stages.layout.stakes import line_words
from plumeline.stages.plume import PlumeResult
from plumeline.stages.survey import Survey
from plumeline.units import show, show_air
from plumeline.units.showing import System


def layout_blocks(found: Layout, plume: PlumeResult, survey: Survey, units: System) -> list[str]:
    """Return the texts of the layout: figures, diffusers, lines, plumes."""
    under = under_block(found, units)
    blocks = [
        listing(_figures(found, survey, units), title="Layout"),
        _places(found, survey, units),
        *([under] if under else []),
        _lines(found, units),
        _stakes(found, units),
        _plumes(plume, units),
    ]
    rows = [(one.name, one.words(units)) for one in plume.diffusers]
    blocks.append(listing(rows, title="What will be seen"))
    return blocks


def _place(survey: Survey, x_m: float, y_m: float) -> tuple[str, str]:
    point = survey.plane.to_point(x_m, y_m)
    return f"{point.latitude_deg:.6f}", f"{point.longitude_deg:.6f}"


def _figures(found: Layout, survey: Survey, units: System) -> list[tuple[str, str]]:
    latitude, longitude = _place(survey, *found.manifold_xy)
    rows = [
        ("manifold, lat, lon", f"{latitude}, {longitude} ({found.manifold_reason})"),
        ("water lifted", show(found.water_flow_m3_s, "m3_s", units)),
        (
            "turnovers a day",
            f"{found.turnover_per_day:.2f} in still layers as read; {found.wanted_turnover_per_day:g} wanted",
        ),
        ("served at the wanted rate", f"{percent(found.served_fraction)} of the water"),
        ("mean way to a diffuser", show(found.mean_distance_m, "m", units)),
        ("water below the lowest membrane", show(found.dead_volume_m3, "m3", units)),
    ]
    if found.spacing_m is not None:
        rows.append(("least spacing", show(found.spacing_m, "m", units)))
    rows.append(("boils cover", f"{percent(found.boil_cover_fraction, 1)} of the surface"))
    if found.planned_air_m3_s is not None:
        rows.append(("air wanted", show_air(found.planned_air_m3_s, units)))
    rows.append(
        ("air by the rule of area", f"{show_air(found.rule_air_m3_s, units)} (shown beside, not used)")
    )
    if found.together is not None:
        rows.append(("manifold and places together", _together(found.together, units)))
    if found.agreement is not None:
        rows.append(("agrees with the air line", _agreement(found.agreement, units)))
    if found.agreement is not None and found.agreement.mixing:
        rows.append(("mixes the simulated water", _mixing(found.agreement)))
    if found.schematic:
        rows.append(("positions", "schematic: the outline is assumed"))
    return rows


def _agreement(found: Agreement, units: System) -> str:
    """Return how layout and air line came to agree."""
    before, after = (show_air(value, units) for value in (found.air_before_m3_s, found.air_after_m3_s))
    return (
        f"in round {found.round_count}, {percent(found.change_fraction, 1)} apart: placed for {before} a diffuser, the "
        f"line gives {after}"
    )


def _together(found: Together, units: System) -> str:
    """Return what line manifold and places came to together, and what the mean way gave for it."""
    line, before = (show(value, "m", units) for value in (found.line_m, found.line_before_m))
    way, way_before = (show(value, "m", units) for value in (found.way_m, found.way_before_m))
    trunk = ""
    if found.trunk_m is not None:
        trunk = f", {show(found.trunk_m, 'm', units)} of trunk in it at {found.trunk_weight_number:.3g} times a branch"
    return (
        f"in round {found.round_count}: {line} of line on the plan{trunk}; {before} with the places that serve best; "
        f"mean way {way} for {way_before}"
    )


def _mixing(found: Agreement) -> str:
    """Return what the simulated water said of each number of diffusers."""
    return "; ".join(
        f"with {item.diffuser_count} diffuser{'s' * (item.diffuser_count != 1)} {item.mixed_members} of {item.members} "
        "ponds"
        for item in found.mixing
    )


def _places(found: Layout, survey: Survey, units: System) -> str:
    rows = [
        (
            item.name,
            *_place(survey, item.x_m, item.y_m),
            show(item.depth_m, "m", units),
            show(item.bottom_depth_m, "m", units),
            "the job" if item.placed_by == "job" else "search",
        )
        for item in found.diffusers
    ]
    heads = ("", "latitude", "longitude", "membrane\nat", "bottom\nat", "placed\nby")
    return table(heads, rows, align="lrrrrl", title="Diffusers")


def _lines(found: Layout, units: System) -> str:
    rows = [
        (
            item.name,
            item.branch_pipe or "by bore",
            shown(item.branch_bore_m, "m", units),
            show(item.branch_run_m, "m", units),
            show(item.branch_length_m, "m", units),
            show(item.branch_cut_m, "m", units),
        )
        for item in found.diffusers
    ]
    heads = ("", "pipe", "bore", "along the\nbottom", "with\nslack", "cut to")
    return table(heads, rows, align="llrrrr", title="Lines from the manifold")


def _stakes(found: Layout, units: System) -> str:
    """Return how the crew finds each place by sight and line, in the order of work."""
    names = [item.mark for item in found.stakes[0].sights]
    rows = []
    soft = {item.name: item.base for item in found.diffusers if item.base is not None}
    for item in found.stakes:
        sights = [
            cell
            for one in item.sights
            for cell in (f"{one.bearing_deg:.0f}°", show(one.distance_m, "m", units))
        ]
        line = line_words(item, units)
        base = soft.get(item.name)
        muck = (show(base.muck_m, "m", units) if base else "",) if soft else ()
        rows.append((item.name, str(item.order_number), *sights, line, *muck))
    heads = [
        "at",
        "let down\nas no.",
        *(word for name in names for word in (f"bearing from\n{name}", "distance")),
    ]
    last = ("the line must read", "muck to\nexpect") if soft else ("the line must read",)
    align = "lr" + "rr" * len(names) + "r" * len(last)
    return table((*heads, *last), rows, align=align, title="Finding the places")


def _plumes(plume: PlumeResult, units: System) -> str:
    unit = column_unit("m3_s", units)
    rows = []
    for one in plume.diffusers:
        low, high = one.water_flow_p05_m3_s, one.water_flow_p95_m3_s
        rows.append(
            (
                one.name,
                air_column(one.air_m3_s, units),
                column(one.lift.water_flow_m3_s, "m3_s", units),
                f"{column(low, 'm3_s', units)} to {column(high, 'm3_s', units)}",
                f"{100.0 * one.surfacing_probability:.0f} of 100",
                percent(one.lift.oxygen_transfer_efficiency_to_surface),
            )
        )
    low, high = plume.water_flow_p05_m3_s, plume.water_flow_p95_m3_s
    total = column(plume.water_flow_m3_s, "m3_s", units)
    rows.append(("all", "", total, f"{column(low, 'm3_s', units)} to {column(high, 'm3_s', units)}", "", ""))
    heads = (
        "",
        f"air\n{air_unit(units)}",
        f"lifts\n{unit}",
        f"90 % band\n{unit}",
        "draws that\nsurface",
        "oxygen\ntaken up",
    )
    return table(heads, rows, align="lrrrrr", title="Plumes in the water as read")
