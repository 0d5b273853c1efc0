"""Temperature and oxygen by depth: as read, and as computed for later days."""

from __future__ import annotations

from typing import Any

import altair as alt

from plumeline.charts.common import Chart, chart_of, rows_of
from plumeline.palette import DEEP, INK, SHALLOW
from plumeline.stages.plan import Plan
from plumeline.stages.startup import ProfileBand
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import SUFFIXES, convert, show
from plumeline.units.showing import System

DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3])


def profile_chart(plan: Plan, system: System = "us") -> Chart:
    """Return temperature and oxygen by depth: points as read, lines and bands as computed."""
    degree, depth = ("degf", "ft") if system == "us" else ("degc", "m")
    shown = [profile for profile in plan.startup.profiles if profile.hours_after_reading_h > 0]
    chosen = [shown[0], shown[-1]] if len(shown) > 1 else shown
    names = [when_words(profile) for profile in chosen]
    rows = [row for profile in chosen for row in _rows(profile, degree, depth)]
    read = [
        {
            "depth": convert(layer.depth_m, "m", depth),
            "temperature": convert(layer.temperature_degc, "degc", degree),
            "oxygen": layer.do_mg_l,
        }
        for layer in plan.reading.layers
    ]
    unit = SUFFIXES[depth].spellings[0]
    warm = _panel(rows, read, names, "temperature", f"temperature, {SUFFIXES[degree].spellings[0]}", unit)
    oxygen = _panel(rows, read, names, "oxygen", "oxygen, mg/L", unit)
    twins = _twins(rows, read, SUFFIXES[degree].spellings[0], unit)
    return chart_of("profiles", profile_sentence(plan, system), alt.hconcat(warm, oxygen), twins)


def _twins(
    rows: list[dict[str, Any]], read: list[dict[str, Any]], degree: str, depth: str
) -> tuple[Twin, ...]:
    deep = Column("depth", f"depth, {depth}")
    points = [deep, Column("temperature", f"temperature, {degree}", 1), Column("oxygen", "oxygen, mg/L", 2)]
    spread = [
        Column("when", "when"),
        deep,
        *(
            Column(f"{what}{tail}", head, digits)
            for what, title, digits in (
                ("temperature", f"temperature, {degree}", 1),
                ("oxygen", "oxygen, mg/L", 2),
            )
            for tail, head in (
                ("_low", f"{title}: 1 in 20 ponds below"),
                ("", f"{title}: middle pond"),
                ("_high", f"{title}: 1 in 20 ponds above"),
            )
        ),
    ]
    return (
        twin_of("As read: the points", points, read, most=30),
        twin_of("As computed: the lines and bands", spread, rows, by="when", most=40),
    )


def when_words(profile: ProfileBand) -> str:
    """Return when a computed profile holds."""
    return f"{profile.hours_after_reading_h / 24.0:.1f} days after the reading"


def _rows(profile: ProfileBand, degree: str, depth: str) -> list[dict[str, Any]]:
    found = []
    for n, z in enumerate(profile.depth_m):
        warm = [convert(row[n], "degc", degree) for row in profile.temperature_degc]
        oxygen = [row[n] for row in profile.do_mg_l]
        found.append(
            {
                "when": when_words(profile),
                "depth": convert(z, "m", depth),
                **dict(zip(("temperature", "temperature_low", "temperature_high"), warm, strict=True)),
                **dict(zip(("oxygen", "oxygen_low", "oxygen_high"), oxygen, strict=True)),
            }
        )
    return found


def _panel(
    rows: list[dict[str, Any]], read: list[dict[str, Any]], names: list[str], what: str, title: str, unit: str
) -> Any:
    down = alt.Y("depth:Q", scale=alt.Scale(reverse=True), title=f"depth, {unit}")
    values = [row[key] for row in rows for key in (f"{what}_low", f"{what}_high")] + [
        row[what] for row in read
    ]
    low = 0.0 if what == "oxygen" else min(values) - 1.0
    across = alt.Scale(domain=[low, max(values) + 0.5], nice=False, zero=False)
    base = alt.Chart(rows_of(rows))
    colour = alt.Color(
        "when:N", sort=names, scale=alt.Scale(domain=names, range=[SHALLOW, DEEP][: len(names)]),
        legend=alt.Legend(title=None, orient="bottom", labelLimit=240),
    )  # fmt: skip
    dash = alt.StrokeDash(
        "when:N", sort=names, scale=alt.Scale(domain=names, range=list(DASHES[: len(names)]))
    )
    band = base.mark_area(orient="horizontal", opacity=0.3).encode(
        y=down, x=alt.X(f"{what}_low:Q", title=title, scale=across), x2=f"{what}_high:Q", color=colour
    )
    line = base.mark_line(strokeWidth=2.2).encode(
        y=down, x=alt.X(f"{what}:Q", scale=across), color=colour, strokeDash=dash, order="depth:Q"
    )
    points = (
        alt.Chart(rows_of(read))
        .mark_point(filled=True, color=INK, size=45, opacity=1)
        .encode(y=down, x=alt.X(f"{what}:Q", scale=across))
    )
    return alt.layer(band, line, points).properties(width=215, height=190)


def profile_sentence(plan: Plan, system: System = "us") -> str:
    """Return what the profiles mean for this pond: top against the deepest diffuser, under which nothing mixes."""
    last = plan.startup.profiles[-1]
    deepest_m = max(item.depth_m for item in plan.layout.diffusers)
    low = min(range(len(last.depth_m)), key=lambda n: abs(last.depth_m[n] - deepest_m))
    warm, oxygen = last.temperature_degc[0], last.do_mg_l[0]
    top, bottom = (show(warm[n], "degc", system) for n in (0, low))
    return (
        "Points are the reading, lines the middle simulated pond, bands nine of ten. "
        f"{when_words(last).capitalize()} the water is expected to run from {top} at the top to {bottom} at "
        f"the deepest diffuser, {show(deepest_m, 'm', system)} down, with {oxygen[0]:.1f} and "
        f"{oxygen[low]:.1f} mg/L of oxygen. Water under the diffusers is hardly mixed."
    )
