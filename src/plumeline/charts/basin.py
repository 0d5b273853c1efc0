"""The hypsograph: how much area and water lies at and below each depth."""

from __future__ import annotations

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.palette import DEEP
from plumeline.stages.plan import Designed
from plumeline.twins import Column, twin_of
from plumeline.units import SUFFIXES, convert, show
from plumeline.units.showing import System


def hypsograph_chart(plan: Designed, system: System = "us") -> Chart:
    """Return area and water below by depth."""
    graph = plan.survey.hypsograph
    area, volume, depth = ("acre", "acre_ft", "ft") if system == "us" else ("m2", "m3", "m")
    rows = [
        {"depth": convert(z, "m", depth), "area": convert(a, "m2", area), "volume": convert(v, "m3", volume)}
        for z, a, v in zip(graph.depth_m, graph.area_m2, graph.volume_below_m3, strict=True)
    ]
    heads = {
        key: f"{words}, {SUFFIXES[unit].spellings[0]}"
        for key, words, unit in (
            ("depth", "depth", depth), ("area", "area at that depth", area), ("volume", "water below it", volume),
        )
    }  # fmt: skip
    down = alt.Y("depth:Q", scale=alt.Scale(reverse=True, nice=False), title=heads["depth"])
    base = alt.Chart(rows_of(rows))
    line = base.mark_line(color=DEEP, strokeWidth=2.5)
    left = line.encode(y=down, order="depth:Q", x=alt.X("area:Q", title=heads["area"]))
    right = line.encode(y=down, order="depth:Q", x=alt.X("volume:Q", title=heads["volume"]))
    drawing = alt.hconcat(left.properties(width=260, height=220), right.properties(width=260, height=220))
    twin = twin_of(
        "Area and water by depth", [Column(key, head) for key, head in heads.items()], rows, most=30
    )
    return chart_of("hypsograph", hypsograph_sentence(plan, system), drawing, [twin])


def hypsograph_sentence(plan: Designed, system: System = "us") -> str:
    """Return what the hypsograph means for this pond."""
    basin = plan.survey
    half = basin.max_depth_m / 2
    share = basin.hypsograph.volume_below(half) / basin.volume_m3
    return (
        f"The pond holds {show(basin.volume_m3, 'm3', system)}; {100 * share:.0f} % of it lies below half "
        f"the "
        f"greatest depth ({show(half, 'm', system)}), the bottom water that is brought up."
    )
