"""Costs by distance: a long air line, a wire to the pond, a new service there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.errors import InputError
from plumeline.pairs import said
from plumeline.palette import DEEP, INK, WARNING
from plumeline.stages.choice import ChoiceResult, ServiceOrLine
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import SUFFIXES, convert, plain
from plumeline.units.showing import System

WAYS = {"line": "air line", "wire": "wire to the pond", "service": "new service"}
COLOURS = {"air line": DEEP, "wire to the pond": WARNING, "new service": INK}
DASHES = {"air line": [1, 0], "wire to the pond": [8, 3], "new service": [2, 3]}
HERE = "this job"
BEYOND_NUMBER = 1.7
"""The chart ends at so many times the farther of this job's distance and the first break-even."""


def distance_chart(found: ChoiceResult, system: System = "us") -> Chart:
    """Return the cost of each way by distance, this job's distance and the break-even marked.

    Raises:
        InputError: the choice holds no comparison.
    """
    service = found.service
    if service is None:
        raise InputError(
            "there is no comparison of power at the pond to draw.", remedy="Leave the chart out."
        )
    unit = "ft" if system == "us" else "m"
    marks = [service.distance_m, *service.break_even_m[:1]]
    end_m = BEYOND_NUMBER * max(marks)
    costs = [
        (convert(point.distance_m, "m", unit), cost, name)
        for point in sorted((*service.curve, service.here), key=lambda point: point.distance_m)
        if point.distance_m <= end_m
        for name, cost in zip(
            WAYS.values(), (point.line_money, point.wire_money, point.service_money), strict=True
        )
        if cost is not None
    ]
    rows = [{"distance": distance, "cost": cost, "way": name} for distance, cost, name in costs]
    most_money = max(cost for _, cost, _ in costs)
    names = list(WAYS.values())
    # the last label stands under its tick: drawn inside the frame it would run into the one before it
    across = alt.X(
        "distance:Q",
        title=f"from the power to the pond, {SUFFIXES[unit].spellings[0]}",
        axis=alt.Axis(tickCount=6, labelFlush=False),
    )
    up = alt.Y(
        "cost:Q",
        title=f"cost over {found.years} years, {found.currency}",
        scale=alt.Scale(domain=[0, 1.12 * most_money]),
    )
    lines = (
        alt.Chart(rows_of(rows))
        .mark_line(strokeWidth=2.5, clip=True)
        .encode(
            x=across,
            y=up,
            color=alt.Color(
                "way:N", scale=alt.Scale(domain=names, range=[COLOURS[name] for name in names]),
                legend=alt.Legend(title=None, orient="top", symbolSize=400),
            ),
            strokeDash=alt.StrokeDash(
                "way:N", scale=alt.Scale(domain=names, range=[DASHES[name] for name in names]), legend=None
            ),
        )
    )  # fmt: skip
    told = [{"distance": convert(service.distance_m, "m", unit), "words": HERE}]
    told += [
        {
            "distance": convert(even_m, "m", unit),
            "words": f"even at {plain(convert(even_m, 'm', unit), 0)} {unit}",
        }
        for even_m in service.break_even_m[:1]
    ]
    base = alt.Chart(rows_of(told))
    rules = base.mark_rule(color=INK, strokeDash=[4, 3]).encode(x="distance:Q")
    words = base.mark_text(align="left", dx=4, fontSize=11, baseline="top").encode(
        x="distance:Q", y=alt.value(4), text="words:N"
    )
    drawing = alt.layer(lines, rules, words).properties(width=460, height=230)
    twins = _twins(rows, told, SUFFIXES[unit].spellings[0], found.currency)
    return chart_of("distance", distance_sentence(service, system), drawing, twins)


def _twins(
    rows: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]], unit: str, currency: str
) -> tuple[Twin, ...]:
    away = Column("distance", f"distance, {unit}")
    here = next(row["distance"] for row in told if row["words"] == HERE)
    found: dict[float, dict[str, Any]] = {}
    for row in rows:
        known = found.setdefault(
            row["distance"],
            {
                "distance": row["distance"],
                **dict.fromkeys(COLOURS),
                "mark": HERE if row["distance"] == here else None,
            },
        )
        known[row["way"]] = row["cost"]
    ways = [
        away,
        *(Column(name, f"{name}, {currency}", 0, "cost") for name in COLOURS),
        Column("mark", "mark"),
    ]
    return (
        twin_of("Cost by distance", ways, list(found.values())),
        twin_of("Marked distances", [Column("words", "mark"), away], told),
    )


def distance_sentence(service: ServiceOrLine, system: System = "us") -> str:
    """Return what the chart means for this job."""
    return said(service.sentence, system)
