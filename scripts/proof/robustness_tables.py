"""Tables and plot of the robustness study: losses with intervals, paired differences, where it is not better."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import beta

Truths = list[dict[str, Any]]
OURS = "plan, with visits"
RIVALS = ("doubling from 15 min, gated", "doubling from 30 min, gated")
UNFINISHED_D = 21.0
CAUSES = ("", "oxygen", "temperature", "un-ionised ammonia", "hydrogen sulphide")
DRAWS = 10_000


def interval(lost: int, count: int) -> tuple[float, float]:
    """Return the two-sided 95 % interval of a share (Clopper & Pearson 1934)."""
    low = float(beta.ppf(0.025, lost, count - lost + 1)) if lost else 0.0
    high = float(beta.ppf(0.975, lost + 1, count - lost)) if lost < count else 1.0
    return low, high


def arms_of(truths: Truths) -> list[str]:
    """Return the arms that every truth has, in their order."""
    return [name for name in truths[0]["arms"] if all(name in truth["arms"] for truth in truths)]


def column(truths: Truths, arm: str, what: str) -> np.ndarray:
    """Return one figure of an arm for every truth; days of a job never finished count as 21."""
    values = [truth["arms"][arm][what] for truth in truths]
    return np.array([UNFINISHED_D if value is None else float(value) for value in values])


def paired(truths: Truths, arm: str, rival: str, what: str) -> tuple[float, float, float]:
    """Return the mean paired difference (arm less rival) and its 95 % bootstrap interval over truths."""
    difference = column(truths, arm, what) - column(truths, rival, what)
    generator = np.random.default_rng(1)
    drawn = generator.choice(difference, (DRAWS, len(difference))).mean(axis=1)
    low, high = np.quantile(drawn, (0.025, 0.975))
    return float(difference.mean()), float(low), float(high)


def arm_table(truths: Truths, arms: list[str]) -> list[str]:
    """Return one line an arm."""
    count = len(truths)
    lines = [
        "| arm | jobs that lost the refuge | 95 % interval | days, mean | visits, mean | running hours, mean "
        "| never finished |",
        "|---|---|---|---|---|---|---|",
    ]
    for arm in arms:
        lost = int(column(truths, arm, "lost").sum())
        low, high = interval(lost, count)
        never = sum(truth["arms"][arm]["days"] is None for truth in truths)
        lines.append(
            f"| {arm} | {lost} of {count} | {low:.0%} to {high:.0%} | {column(truths, arm, 'days').mean():.1f} "
            f"| {column(truths, arm, 'visits').mean():.1f} | {column(truths, arm, 'running_h').mean():.0f} | {never} |"
        )
    return lines


def paired_table(truths: Truths, arms: list[str]) -> list[str]:
    """Return paired differences against both gated customs."""
    lines = [
        "| arm less rival | losses of 100 jobs | days | visits |",
        "|---|---|---|---|",
    ]
    for rival in RIVALS:
        for arm in arms:
            if arm == "do nothing" or arm.startswith("doubling"):
                continue
            cells: list[str] = []
            for what, scale in (("lost", 100.0), ("days", 1.0), ("visits", 1.0)):
                middle, low, high = (scale * value for value in paired(truths, arm, rival, what))
                cells.append(f"{middle:+.1f} ({low:+.1f} to {high:+.1f})")
            lines.append(f"| {arm}, less {rival} | {' | '.join(cells)} |")
    return lines


def by_group(truths: Truths, group: str, arms: list[str]) -> list[str]:
    """Return losses, days and visits by pond or by weather."""
    lines = [f"| {group} | truths | " + " | ".join(arms) + " |", "|---|---|" + "---|" * len(arms)]
    for name in dict.fromkeys(truth[group] for truth in truths):
        some = [truth for truth in truths if truth[group] == name]
        cells = [
            f"{int(column(some, arm, 'lost').sum())} lost, {column(some, arm, 'days').mean():.1f} d, "
            f"{column(some, arm, 'visits').mean():.1f} visits"
            for arm in arms
        ]
        lines.append(f"| {name} | {len(some)} | {' | '.join(cells)} |")
    return lines


def not_better(truths: Truths) -> list[str]:
    """Return, in words, the truths that the plan with visits lost and a gated custom did not."""
    lines: list[str] = []
    for truth in truths:
        ours = truth["arms"][OURS]
        kept = [rival for rival in RIVALS if not truth["arms"][rival]["lost"]]
        if not ours["lost"] or not kept:
            continue
        told = truth["told"]["first"]
        lines.append(
            f"- {truth['key']}: {truth['pond']}, {truth['weather']}: lost on day {1 + int(ours['lost_day'])} to "
            f"{CAUSES[ours['cause']]}; the plan said {told['risk']:.0%} ({told['name']}), bottom sulphide read "
            f"{truth['sulphide']:g} mg/L; kept by {' and '.join(kept)}."
        )
    return lines


def stated_against_seen(truths: Truths) -> list[str]:
    """Return the stated risk of the first plan beside what became of it, in bins."""
    lines = ["| stated risk | truths | mean stated | lost, open loop |", "|---|---|---|---|"]
    edges = (0.0, 0.02, 0.05, 0.15, 0.4, 1.01)
    for low, high in pairwise(edges):
        some = [
            truth
            for truth in truths
            if low <= truth["told"]["first"]["risk"] < high and not truth["told"]["first"]["no_start"]
        ]
        if some:
            stated = np.mean([truth["told"]["first"]["risk"] for truth in some])
            lost = int(column(some, "plan, open loop, own stop readings", "lost").sum())
            lines.append(f"| {low:.0%} to {min(high, 1.0):.0%} | {len(some)} | {stated:.1%} | {lost} |")
    held = [truth for truth in truths if truth["told"]["first"]["no_start"]]
    again = sum(truth["arms"]["do nothing"]["lost"] for truth in held)
    lines.append(
        f"\nOf {len(truths)} first plans {len(held)} said not to start by the card; left alone, {again} of those ponds "
        "lost the refuge within 21 days."
    )
    return lines


def claim(truths: Truths) -> list[str]:
    """Return in words whether the goal is met: no more losses, and fewer days or visits, than gated doubling.

    A plan that does not start saves visits too; so it is said beside it whether more jobs were never finished.
    """
    lines: list[str] = []
    for rival in RIVALS:
        told = {what: paired(truths, OURS, rival, what) for what in ("lost", "days", "visits", "never")}
        saved = [what for what in ("days", "visits") if told[what][2] < 0.0]
        met = told["lost"][0] <= 0.0 and bool(saved)
        words = "goal met" if met else "goal not met"
        if met and told["never"][0] > 0.0:
            words = "goal met, but more jobs were never finished"
        shown = [
            f"{name} {scale * told[what][0]:+.1f} ({scale * told[what][1]:+.1f} to {scale * told[what][2]:+.1f})"
            for name, what, scale in (
                ("losses of 100 jobs", "lost", 100.0),
                ("days", "days", 1.0),
                ("visits", "visits", 1.0),
                ("never finished of 100 jobs", "never", 100.0),
            )
        ]
        lines.append(
            f"- Against {rival}: **{words}**. {'; '.join(shown)}. Surely fewer: {' and '.join(saved) or 'neither'}."
        )
    return lines


def page(results: dict[str, Any]) -> str:
    """Return the page of the study."""
    truths: Truths = results["truths"]
    arms = arms_of(truths)
    first, factor = results["factor"]
    full = [truth for truth in truths if "full planner, open loop" in truth["arms"]]
    lines = [
        f"{len(truths)} ponds of a foreign model (tests/truth/: three boxes with currents, other laws of heat, gas and "
        "entrainment, patchy debt, its own weather) under one clock (14:00), one crew (until 19:00, watching up to six "
        "hours), the same readings and one stop rule (shut off under 4.0 mg/L at 2 ft, or at a smell). A job is lost "
        "when the refuge is gone for over an hour between the first run and three days after completion; days count "
        "from the first run to the second good dawn, 21 where a job never finished; the last visit proves it. "
        "A plan whose card says not to start is not started; the planner is asked again on days 2, 4 and 7, and every "
        "third day after while its card says to wait. It sees only what the crew read; here it had "
        f"{truths[0]['members']} simulated ponds and at most 12 candidates.",
        "",
        "Goal: against gated doubling, no more losses and fewer days or visits (paired differences, the plan with "
        "visits less the custom, with 95 % bootstrap intervals over truths).",
        *claim(truths),
        "",
        "![Losses, days and visits, by arm](robustness.svg)",
        "",
        "## By arm",
        "",
        *arm_table(truths, arms),
        "",
        f"Best fixed factor on {results['trained']} training truths of other seeds: {first} min, times "
        f"{factor:g} a day.",
        "",
        "## Paired differences (mean and 95 % bootstrap interval over truths)",
        "",
        *paired_table(truths, arms),
        "",
        "## By pond and weather",
        "",
        *by_group(truths, "pond", [OURS, RIVALS[0], "24 h from day 1", "do nothing", "oracle"]),
        "",
        *by_group(truths, "weather", [OURS, RIVALS[0], "24 h from day 1", "do nothing", "oracle"]),
        "",
        "## Where the plan is not better",
        "",
        *(not_better(truths) or ["No truth was lost by the plan with visits that a gated custom kept."]),
        "",
        "## What the first plan said, and what came of it",
        "",
        *stated_against_seen(truths),
    ]
    if full:
        lines += [
            "",
            f"## The full planner on {len(full)} of the truths",
            "",
            *arm_table(full, ["full planner, open loop", "plan, open loop", *RIVALS]),
        ]
    return "\n".join(lines)


def draw(truths: Truths, path: Path) -> None:
    """Draw losses with their interval, days and visits, an arm a line, as SVG."""
    import altair as alt

    from plumeline.palette import DEEP, WARNING

    count = len(truths)
    arms = arms_of(truths)
    rows: list[dict[str, Any]] = []
    for arm in arms:
        lost = int(column(truths, arm, "lost").sum())
        low, high = interval(lost, count)
        rows.append(
            {
                "arm": arm,
                "lost_fraction": lost / count,
                "low": low,
                "high": high,
                "days": float(column(truths, arm, "days").mean()),
                "visits": float(column(truths, arm, "visits").mean()),
                "ours": arm.startswith("plan"),
            }
        )
    base = alt.Chart(alt.Data(values=rows)).properties(width=190, height=21 * len(arms))
    base = base.encode(color=alt.condition("datum.ours", alt.value(DEEP), alt.value(WARNING)))

    def arm_axis(labelled: bool) -> alt.Y:
        axis = alt.Axis(title=None, labelLimit=260, labels=labelled, ticks=labelled)
        return alt.Y("arm:N", sort=list(arms), axis=axis)

    losses = alt.Axis(format="%", title=f"jobs that lost the refuge, of {count}")
    whiskers = base.mark_rule().encode(x=alt.X("low:Q", axis=losses), x2="high:Q", y=arm_axis(True))
    points = base.mark_point(filled=True, size=60).encode(
        x=alt.X("lost_fraction:Q", axis=losses), y=arm_axis(True)
    )
    panels = [whiskers + points]
    for field, title in (("days", "days, mean (21 where never finished)"), ("visits", "visits, mean")):
        panels.append(
            base.mark_point(filled=True, size=60).encode(
                x=alt.X(f"{field}:Q", title=title), y=arm_axis(False)
            )
        )
    alt.hconcat(*panels).save(str(path))
