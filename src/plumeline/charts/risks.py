"""The comparison of schedules: ponds that lost their refuge, with the upper bound of that share."""

from __future__ import annotations

from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.palette import DEEP, INK
from plumeline.stages.plan import Plan
from plumeline.stages.startup import Risk, StartUp
from plumeline.stages.startup.rollout import HOLD_HOURS
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import plain
from plumeline.units.showing import System


def counted_days(start: StartUp, days_to_complete: float | None) -> float:
    """Return over how many days the middle pond's losses count: to three days after it is complete, or all [d]."""
    if days_to_complete is None:
        return float(start.horizon_d)
    return min(days_to_complete + HOLD_HOURS / 24.0, float(start.horizon_d))


def risk_chart(plan: Plan, system: System = "us") -> Chart:
    """Return a dot for each schedule, a bar to the upper bound, and the accepted risk as a dashed line."""
    start = plan.startup
    lines: list[tuple[str, Risk, float]] = []
    if start.risk_stated:
        lines.append(("this plan", start.risk, counted_days(start, start.days_to_complete)))
    lines += [
        (item.name, item.risk, counted_days(start, item.days_to_complete)) for item in start.comparisons
    ]
    rows: list[dict[str, Any]] = [
        {
            "schedule": name,
            "lost": 100.0 * risk.risk,
            "upper": 100.0 * risk.risk_upper95_fraction,
            "still": 100.0 * risk.baseline_risk,
            "days": days,
            "words": f"{plain(risk.failures, 0)} of {plain(risk.members, 0)} in {days:.0f} d",
        }
        for name, risk, days in lines
    ]
    order = [name for name, *_ in lines]
    base = alt.Chart(rows_of(rows))
    across = alt.Y("schedule:N", sort=order, title=None, axis=alt.Axis(labelLimit=260))
    # room at the right for the counts, and a scale on which a small risk can be read
    most = min(100.0, max(max(row["upper"], row["still"]) for row in rows)) * 1.4
    share = alt.X(
        "lost:Q",
        title="simulated ponds that lost their refuge, %",
        scale=alt.Scale(domain=[0, most], nice=False),
    )
    bound = base.mark_rule(color=DEEP, strokeWidth=2.5).encode(y=across, x=share, x2="upper:Q")
    end = base.mark_tick(color=DEEP, thickness=2.5, size=12, opacity=1).encode(y=across, x="upper:Q")
    dot = base.mark_point(filled=True, color=INK, size=90, opacity=1).encode(y=across, x=share)
    still = base.mark_point(filled=False, color=DEEP, size=130, strokeWidth=2).encode(y=across, x="still:Q")
    beyond = base.transform_calculate(edge="max(datum.upper, datum.still)")
    words = beyond.mark_text(dx=12, align="left").encode(y=across, x="edge:Q", text="words:N")
    accepted = [{"line": "accepted for the job", "accepted": 100.0 * start.accepted_job_risk}]
    limit = alt.Chart(rows_of(accepted)).mark_rule(color=INK, strokeDash=[5, 3]).encode(x="accepted:Q")
    drawing = alt.layer(bound, end, still, dot, words, limit).properties(width=480, height=34 * len(rows))
    return chart_of("risk", risk_sentence(plan, system), drawing, _twins(rows, accepted))


def _twins(rows: list[dict[str, Any]], accepted: list[dict[str, Any]]) -> tuple[Twin, ...]:
    counted = [
        Column("schedule", "schedule"),
        Column("words", "lost their refuge"),
        Column("days", "counted over days", 0),
        Column("lost", "share, %", 1),
        Column("upper", "upper bound of the share (95 %), %", 1),
        Column("still", "the same ponds over the same days without air, %", 1),
    ]
    line = [Column("line", "dashed line"), Column("accepted", "%", 1)]
    return twin_of("Simulated ponds by schedule", counted, rows), twin_of("Line across", line, accepted)


def risk_sentence(plan: Plan, system: System = "us") -> str:
    """Return what the comparison means for this pond; a count of simulated ponds, never a promise."""
    del system  # counts have no unit
    risk = plan.startup.risk
    if not plan.startup.risk_stated:
        return (
            "This plan's risk is not stated, so it has no line here: too few simulated ponds differ from each other. "
            "The others are counts among the same ponds: compare each dot with its ring, the same ponds over the same "
            "days without air; the bars to an upper bound mean little."
        )
    still = round(risk.baseline_risk * risk.members)
    return (
        f"Of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost their "
        "refuge with this "
        f"plan; "
        f"of the same ponds over the same days without any air, {plain(still, 0)} did. Each schedule is "
        "counted over days and "
        "ponds of its own, so compare each dot with its ring: the same ponds over the same days without air. The days "
        "end three days after a pond is mixed through (the middle pond's are written), or with the simulation; the bar "
        "ends at the upper bound, the dashed line is what is accepted on the job."
    )
