"""The start-up chart: running time day by day, and the oxygen to expect at the dawn that follows."""

from __future__ import annotations

from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.palette import DEEP, INK, PAPER, SHALLOW
from plumeline.stages.plan import Plan
from plumeline.stages.startup import RunDay
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import plain, show
from plumeline.units.showing import System

WIDTH = 460
"""Pixels of the chart's own box."""


def running_words(minutes: int) -> str:
    """Return a running time: "45 min", "2 h 30", "24 h"."""
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def _row(day: RunDay) -> dict[str, Any]:
    return {
        "day": f"{day.number}",
        "hours": min(day.minutes, 1440) / 60.0,
        "words": running_words(day.minutes),
        "dawn": day.dawn_do_mg_l.median,
        "low": day.dawn_do_mg_l.p05,
        "high": day.dawn_do_mg_l.p95,
    }


def startup_chart(plan: Plan, system: System = "us") -> Chart:
    """Return running time as bars and the dawn's oxygen as a line in its band."""
    rows = [_row(day) for day in plan.startup.days]
    base = alt.Chart(rows_of(rows))
    across = alt.X("day:O", sort=None, title=None)
    bars = base.mark_bar(color=SHALLOW, stroke=DEEP, strokeWidth=1).encode(
        x=across, y=alt.Y("hours:Q", title="air, hours", scale=alt.Scale(domain=[0, 30]))
    )
    words = base.mark_text(dy=-7, fontSize=11).encode(x=across, y="hours:Q", text="words:N")
    low_limit = plan.reading.limits.oxygen_mg_l
    below = alt.X("day:O", sort=None, title="day of the start-up")
    band = base.mark_area(color=SHALLOW, opacity=0.35).encode(
        x=below, y=alt.Y("low:Q", title="dawn oxygen, mg/L"), y2="high:Q"
    )
    edges = [
        base.mark_line(color=DEEP, strokeWidth=0.8, strokeDash=[3, 2]).encode(x=below, y=alt.Y(f"{side}:Q"))
        for side in ("low", "high")
    ]
    line = base.mark_line(color=DEEP, strokeWidth=2, point={"color": DEEP, "size": 40}).encode(
        x=below, y="dawn:Q"
    )
    numbers = base.mark_text(dy=-11, fontSize=11).encode(
        x=below, y="dawn:Q", text=alt.Text("dawn:Q", format=".1f")
    )
    limits = [{"limit": low_limit, "words": f"limit {low_limit:g}", "line": "least oxygen for the fish"}]
    limit = (
        alt.Chart(rows_of(limits))
        .mark_rule(color=INK, strokeDash=[6, 3], strokeWidth=1.4)
        .encode(y="limit:Q")
    )
    upper = alt.layer(bars, words).properties(width=WIDTH, height=100)
    lower = alt.layer(band, *edges, limit, line, numbers).properties(width=WIDTH, height=135)
    drawing = alt.vconcat(upper, lower, background=PAPER)
    return chart_of("start-up", startup_sentence(plan, system), drawing, _twins(rows, limits))


def _twins(rows: list[dict[str, Any]], limits: list[dict[str, Any]]) -> tuple[Twin, ...]:
    by_day = [
        Column("day", "day"),
        Column("words", "air"),
        Column("hours", "air, hours", 2),
        Column("low", "dawn oxygen, mg/L: 1 in 20 ponds below", 2),
        Column("dawn", "dawn oxygen, mg/L: middle pond", 2),
        Column("high", "dawn oxygen, mg/L: 1 in 20 ponds above", 2),
    ]
    line = [Column("line", "dashed line"), Column("limit", "mg/L", 2)]
    return twin_of("Air and oxygen day by day", by_day, rows), twin_of("Line across", line, limits)


def startup_sentence(plan: Plan, system: System = "us") -> str:
    """Return what the start-up chart means for this pond."""
    worst = min(plan.startup.days, key=lambda day: day.dawn_do_mg_l.median)
    band = worst.dawn_do_mg_l
    depth = show(0.6, "m", system)
    return (
        f"Oxygen {depth} down is expected to be lowest at the dawn after the run of day {worst.number}: "
        f"{band.median:.1f} mg/L in the middle one of {plain(plan.startup.risk.members, 0)} simulated ponds, "
        f"{band.p05:.1f} to "
        f"{band.p95:.1f} in nine of ten (the band); the dashed line is the limit of the fish, "
        f"{plan.reading.limits.oxygen_mg_l:g} mg/L."
    )
