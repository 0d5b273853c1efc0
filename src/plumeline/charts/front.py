"""The alternatives: turnover and share served against cost, one point a number of diffusers."""

from __future__ import annotations

import re
from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, chart_svg, rows_of
from plumeline.palette import DEEP, INK
from plumeline.stages.front import Front
from plumeline.twins import Column, twin_of

WIDE_PX, WORDS_PX = 240, 14
"""Narrow with large words: on a phone of 390 pixels the drawing is shown at about its own size."""
LARGE: dict[str, Any] = {"labelFontSize": WORDS_PX, "titleFontSize": WORDS_PX}
PAGE = "https://page.test/"
"""Stands for the page that a drawing is on: the renderer takes whole addresses alone."""


def leading_svg(chart: Chart) -> str:
    """Return a chart that leads as SVG text, its points links within the page."""
    return re.sub(
        rf'<a xlink:href="{re.escape(PAGE)}(#take-(\d+))"',
        r'<a href="\1" aria-label="take \2"',
        chart_svg(chart),
    )


def front_chart(found: Front, sentence: str = "", *, leads: bool = False) -> Chart:
    """Return a point for each number of diffusers: its cost over the years against its turnovers a day.

    Args:
        found: the alternatives.
        sentence: what they come to; a plain one when empty.
        leads: whether each point leads to its line of the page.
    """
    rows: list[dict[str, Any]] = [
        {
            "count": item.diffuser_count,
            "cost": item.cost_money,
            "turnover": item.turnover_per_day,
            "served": 100.0 * item.served_fraction,
            "mixed": f"{item.mixed_members} of {item.members}",
            "kind": "turnover and mixing met" if item.enough else "not enough",
            "words": f"{item.diffuser_count}",
        }
        for item in found.works
    ]
    base = alt.Chart(
        rows_of([{**row, "line": f"{PAGE}#take-{row['count']}"} for row in rows] if leads else rows)
    )
    across = alt.X(
        "cost:Q",
        title=f"cost over {found.years} years, {found.currency}",
        scale=alt.Scale(zero=False, padding=24),
        axis=alt.Axis(tickCount=4, **LARGE),
    )
    most = max([found.wanted_turnover_per_day, *(row["turnover"] for row in rows)])
    up = alt.Y(
        "turnover:Q",
        title="turnovers a day",
        scale=alt.Scale(domain=[0, 1.15 * most]),
        axis=alt.Axis(tickCount=5, **LARGE),
    )
    kinds = ["turnover and mixing met", "not enough"]
    line = base.mark_line(color=DEEP, strokeWidth=1.5).encode(x=across, y=up, order="count:Q")
    dots = base.mark_point(filled=True, size=200, opacity=1).encode(
        x=across,
        y=up,
        color=alt.Color(
            "kind:N",
            scale=alt.Scale(domain=kinds, range=[DEEP, INK]),
            legend=alt.Legend(
                title=None, orient="top", direction="vertical", labelFontSize=WORDS_PX, labelLimit=240
            ),
        ),
        shape=alt.Shape("kind:N", scale=alt.Scale(domain=kinds, range=["circle", "cross"]), legend=None),
    )
    if leads:
        dots = dots.encode(href="line:N")
    names = base.mark_text(dy=-17, fontSize=WORDS_PX + 2, color=INK).encode(x=across, y=up, text="words:N")
    wanted = [{"line": "wanted", "turnover": found.wanted_turnover_per_day}]
    rule = alt.Chart(rows_of(wanted)).mark_rule(color=INK, strokeDash=[5, 3]).encode(y="turnover:Q")
    told = (
        alt.Chart(rows_of(wanted))
        .mark_text(align="right", dx=-4, dy=-9, fontSize=WORDS_PX, color=INK)
        .encode(x=alt.value(WIDE_PX), y="turnover:Q", text="line:N")
    )
    drawing = alt.layer(line, dots, names, rule, told).properties(width=WIDE_PX, height=230)
    columns = [
        Column("count", "diffusers"), Column("cost", f"cost, {found.currency}"),
        Column("turnover", "turnovers a day", 2), Column("served", "served, %"),
        Column("mixed", "mixed ponds"), Column("kind", "met"),
    ]  # fmt: skip
    twins = (
        twin_of("Alternatives", columns, rows),
        twin_of(
            "Line across", [Column("line", "dashed line"), Column("turnover", "turnovers a day", 2)], wanted
        ),
    )
    return chart_of(
        "alternatives", sentence or f"{len(rows)} numbers of diffusers by cost and turnover.", drawing, twins
    )
