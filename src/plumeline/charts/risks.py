"""The comparison of schedules: ponds that lost their refuge, with the upper bound of that share."""

from __future__ import annotations

from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.palette import DEEP, INK
from plumeline.stages.plan import Plan
from plumeline.stages.startup import Risk
from plumeline.twins import Column, Twin, twin_of
from plumeline.units.showing import System


def risk_chart(plan: Plan, system: System = "us") -> Chart:
    """Return a dot for each schedule, a bar to the upper bound, and the accepted risk as a dashed line."""
    start = plan.startup
    lines: list[tuple[str, Risk]] = [("this plan", start.risk)]
    lines += [(item.name, item.risk) for item in start.comparisons]
    rows: list[dict[str, Any]] = [
        {
            "schedule": name,
            "lost": 100.0 * risk.risk,
            "upper": 100.0 * risk.risk_upper95_fraction,
            "words": f"{risk.failures:,} of {risk.members:,}",
        }
        for name, risk in lines
    ]
    order = [name for name, _ in lines]
    base = alt.Chart(rows_of(rows))
    across = alt.Y("schedule:N", sort=order, title=None, axis=alt.Axis(labelLimit=260))
    # room at the right for the counts, and a scale on which a small risk can be read
    most = min(100.0, max(row["upper"] for row in rows)) * 1.3
    share = alt.X(
        "lost:Q",
        title="simulated ponds that lost their refuge, %",
        scale=alt.Scale(domain=[0, most], nice=False),
    )
    bound = base.mark_rule(color=DEEP, strokeWidth=2.5).encode(y=across, x=share, x2="upper:Q")
    end = base.mark_tick(color=DEEP, thickness=2.5, size=12, opacity=1).encode(y=across, x="upper:Q")
    dot = base.mark_point(filled=True, color=INK, size=90, opacity=1).encode(y=across, x=share)
    words = base.mark_text(dx=8, align="left").encode(y=across, x="upper:Q", text="words:N")
    accepted = [{"line": "accepted for the job", "accepted": 100.0 * start.accepted_job_risk}]
    limit = alt.Chart(rows_of(accepted)).mark_rule(color=INK, strokeDash=[5, 3]).encode(x="accepted:Q")
    drawing = alt.layer(bound, end, dot, words, limit).properties(width=480, height=34 * len(rows))
    return chart_of("risk", risk_sentence(plan, system), drawing, _twins(rows, accepted))


def _twins(rows: list[dict[str, Any]], accepted: list[dict[str, Any]]) -> tuple[Twin, ...]:
    counted = [
        Column("schedule", "schedule"),
        Column("words", "lost their refuge"),
        Column("lost", "share, %", 1),
        Column("upper", "upper bound of the share (95 %), %", 1),
    ]
    line = [Column("line", "dashed line"), Column("accepted", "%", 1)]
    return twin_of("Simulated ponds by schedule", counted, rows), twin_of("Line across", line, accepted)


def risk_sentence(plan: Plan, system: System = "us") -> str:
    """Return what the comparison means for this pond; a count of simulated ponds, never a promise."""
    del system  # counts have no unit
    risk = plan.startup.risk
    still = round(risk.baseline_risk * risk.members)
    return (
        f"Of {risk.members:,} simulated ponds like this one, {risk.failures:,} lost their refuge with this "
        f"plan; "
        f"of the same ponds over the same days without any air, {still:,} did."
    )
