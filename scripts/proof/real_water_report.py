"""The page and the plots of the real-water study."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import altair as alt
import numpy as np
import pandas as pd
from scripts.proof.real_water_bubbles import DEPTH_M, FLOWS_STANDARD_M3_S, OUTLETS, SHOWN_M, START_HOUR_H
from scripts.proof.real_water_records import Record
from scripts.proof.real_water_windows import QUANTILES, TREES_M, Window

from plumeline.charts.common import chart_of, chart_svg, rows_of
from plumeline.palette import CAUTION, DEEP, INK, SHALLOW, WARNING

METHODS = ("model", "persistence", "damped", "climatology")
NAMES = {"model": "the column", "persistence": "as on the first day", "damped": "damped anomaly",
         "climatology": "usual for the day"}  # fmt: skip
COLOURS = {"model": DEEP, "persistence": WARNING, "damped": CAUTION, "climatology": SHALLOW}
DASHES = {"model": [1, 0], "persistence": [6, 3], "damped": [2, 2], "climatology": [8, 3, 2, 3]}
README = {
    # RMSE of the surface, as the data's READMEs print it, by horizon: persistence, climatology, damped
    "Trout Bog": {"1": (0.85, 2.33, 0.84), "3": (1.82, 2.33, 1.66), "7": (2.80, 2.36, 2.19),
                  "14": (3.63, 2.34, 2.31), "30": (5.71, 2.44, 2.40)},
    "Crystal Bog": {"1": (0.76, 2.57, 0.77), "3": (1.66, 2.59, 1.56), "7": (2.58, 2.58, 2.14),
                    "14": (3.35, 2.50, 2.27), "30": (5.07, 2.45, 2.25)},
}  # fmt: skip

INTRO = """\
The column alone runs from profiles as read, along recorded weather, without air and without being conditioned on
anything but the profile; its median and 90 % band are set against what the lake did. Two values a lake are tuned,
the extinction of light and its wind sheltering, on windows that end before the middle of the record; only windows
that start after it are scored. In the two bogs wind was read on the water, at 2 m (1.16 times as much at 10 m): there
the sheltering that is tuned is the height of the trees, which by the model's own geometry take sun as well as wind.
Elsewhere it is the wind over the water against the gridded wind, and trees of {trees:g} m are taken.

Drivers: daily air, humidity and wind of the bogs' rafts with the daily cycle of nine days of ten-minute data (calm at
night); hourly satellite sunlight; daily gridded longwave. The records' faults, as their READMEs list them, are mended:
dates that are a day or two late, stuck values, spikes, sensors in the mud. A value is the mean of a day (at Falling
Creek the reading of a day, taken as of noon). Baselines are computed here on the same pairs: the value of the first day
("persistence"), the mean of other years within a week of the date ("climatology"), and that plus the first day's
anomaly times what other years keep of it ("damped").

Sources: NTL-LTER through McMahonLab/North_Temperate_Lakes-Microbial_Observatory (non-commercial; cite Linz et al. 2017,
mSphere 2:e00169-17), icra/ISIMIP_Local_Lakes, GLEON/LakeMetabolizer, AquaticEcoDynamics/GLM_Examples,
CareyLabVT/FCR-GLM, aemon-j/LakeEnsemblR (Feeagh; Moore et al. 2021, Environ. Modell. Softw.). The data are not part
of this repository."""

PUBLISHED = """\
Published errors of research models, for scale: 1.41 °C and 1.6 mg/L over all depths at Falling Creek (calibrated,
with its inflow; the lab's own goodness-of-fit table); surface of shallow Minnesota lakes 1.19-1.95 °C (MINLAKE2018),
1.51 °C and 2.33 mg/L (MINLAKE2020); forecasts for Falling Creek at 1 m 1.13 °C after 7 days, 1.62 after 16 (FLARE);
at Lough Feeagh models calibrated on 2010 and run over 2005-14 1.26-1.44 °C, uncalibrated 2.3-4.3,
climatology 0.93 (run apart)."""


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    if results.get("absent"):
        return "The records are not beside this repository, so nothing was run: the page can't be made here."
    parts = [
        INTRO.format(trees=TREES_M),
        "",
        _error_words(results["model_error_k"]),
        "",
        "## Goals",
        "",
        *_goals(results["lakes"]),
    ]
    for name, found in results["lakes"].items():
        parts += ["", f"## {name}", "", *_lake(name, found)]
    if results.get("bubbles"):
        parts += [
            "",
            "## Falling Creek's bubble-mixing days: an illustration",
            "",
            *_bubbles(results["bubbles"]),
        ]
    parts += ["", "## Beside published models", "", PUBLISHED, "", *_missing()]
    return "\n".join(parts)


def _error_words(error_k: float) -> str:
    return (
        "The simulated ponds differ in their rates and their weather; that the column itself is wrong is not in their\n"
        f"spread. An error of {error_k:.2f} °C, independent of it, brings nine tenths of the first halves' readings\n"
        "into the bands (each lake counting alike); the last column of each table has the second halves with it."
    )


def goals_of(found: dict[str, Any]) -> list[tuple[str, bool, str]]:
    """Return each goal of a lake: what is asked, whether it is met, the figure."""
    surface, judged, whole = found["surface"], found["judged"], found["all"]
    rows = []
    worst = max(surface, key=lambda h: surface[h]["model"])
    rows.append(
        ("surface RMSE at most 1.2 °C at every horizon", surface[worst]["model"] <= 1.2,
         f"worst {surface[worst]['model']:.2f} at {worst} d")
    )  # fmt: skip
    worst = max(whole, key=lambda h: whole[h]["model"])
    rows.append(
        ("all depths together at most 1.5 °C at every horizon", whole[worst]["model"] <= 1.5,
         f"worst {whole[worst]['model']:.2f} at {worst} d")
    )  # fmt: skip
    for label, table, least in (("the surface from 3 d on", surface, 3), (_judged(found), judged, 7)):
        late = {h: row for h, row in table.items() if int(h) >= least}
        lost = [h for h, row in late.items() if row["model"] >= min(row[name] for name in METHODS[1:])]
        rows.append((f"under every baseline at {label}", bool(late) and not lost,
                     f"not at {', '.join(lost)} d" if lost else "at every horizon"))  # fmt: skip
    for words, key in (
        ("of the simulated ponds", "within_fraction"),
        ("with the model's error", "widened_fraction"),
    ):
        held = _pooled(judged, key)
        rows.append((f"90 % bands {words} hold 85-95 % (judged depths)", 0.85 <= held <= 0.95, f"{held:.0%}"))
    if found["oxygen"]:
        oxygen = found["oxygen"]
        squares = sum(row["model"] ** 2 * row["pairs"] for row in oxygen.values())
        whole_rmse = float(np.sqrt(squares / sum(row["pairs"] for row in oxygen.values())))
        rows.append(
            ("oxygen at most 1.6 mg/L, all horizons together", whole_rmse <= 1.6, f"{whole_rmse:.2f}")
        )
        worst = max(oxygen, key=lambda h: oxygen[h]["model"])
        rows.append(("oxygen at most 1.6 mg/L at every horizon", oxygen[worst]["model"] <= 1.6,
                     f"worst {oxygen[worst]['model']:.2f} at {worst} d"))  # fmt: skip
    return rows


def _pooled(table: dict[str, dict[str, float]], key: str) -> float:
    """Return the mean of a figure over the horizons, each pair counting once."""
    return sum(row[key] * row["pairs"] for row in table.values()) / sum(
        row["pairs"] for row in table.values()
    )


def _judged(found: dict[str, Any]) -> str:
    low, high = found["judged_m"]
    return f"{low:g}-{high:g} m together from 7 d on"


def _goals(lakes: dict[str, Any]) -> list[str]:
    lines = ["| lake | goal | met | figure |", "|---|---|---|---|"]
    for name, found in lakes.items():
        lines += [
            f"| {name} | {goal} | {'yes' if met else '**no**'} | {figure} |"
            for goal, met, figure in goals_of(found)
        ]
    return lines


def _table(table: dict[str, dict[str, float]], unit: str) -> list[str]:
    lines = [
        f"| horizon, days | pairs | the column, {unit} | persistence | damped | climatology | bias "
        "| in 90 % band | with model error |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for horizon, row in table.items():
        best = min(METHODS, key=lambda name: row[name])
        values = [f"**{row[name]:.2f}**" if name == best else f"{row[name]:.2f}" for name in METHODS]
        lines.append(
            f"| {horizon} | {row['pairs']} | {' | '.join(values)} | {row['bias']:+.2f} "
            f"| {row['within_fraction']:.0%} | {_or_dash(row)} |"
        )
    return lines


def _or_dash(row: dict[str, float]) -> str:
    return f"{row['widened_fraction']:.0%}" if "widened_fraction" in row else "-"


def _lake(name: str, found: dict[str, Any]) -> list[str]:
    file = name.lower().replace(" ", "-")
    shelter = (
        f"trees of {found['shelter']:g} m" if name in README
        else f"{found['shelter']:g} of the gridded wind over the water"
    )  # fmt: skip
    lines = [
        f"{found['windows']} windows. Chosen on the first half: extinction {found['extinction_1_m']:g} /m (measured, "
        f"or from Secchi: {found['measured_extinction_1_m']:.2g}), {shelter}. Every day and depth of the windows "
        f"together: RMSE {found['every_day_rmse_k']:.2f} °C over {found['every_day_values']:,} values.",
        "",
        f"Surface ({found['surface_m']:g} m), RMSE °C:",
        "",
        *_table(found["surface"], "°C"),
        "",
        f"{_judged(found).removesuffix(' from 7 d on').capitalize()}:",
        "",
        *_table(found["judged"], "°C"),
        "",
        "By depth, RMSE (bias) of the column, °C:",
        "",
        *_by_depth(found["by_depth"]),
    ]
    if found["oxygen"]:
        lines += ["", "Oxygen near the surface, RMSE mg/L:", "", *_table(found["oxygen"], "mg/L")]
    if name in README:
        lines += ["", "The baselines' code against the data's README (surface, every pair of May to October):", "",
                  *_check(name, found["season"])]  # fmt: skip
    return [*lines, "", f"![RMSE by horizon]({file}-rmse.svg)", "", f"![One window]({file}-window.svg)"]


def _by_depth(by_depth: dict[str, dict[str, dict[str, float]]]) -> list[str]:
    horizons = sorted({h for table in by_depth.values() for h in table}, key=int)
    lines = [
        "| depth, m | " + " | ".join(f"{h} d" for h in horizons) + " |",
        "|---" * (len(horizons) + 1) + "|",
    ]
    for depth, table in by_depth.items():
        cells = [
            f"{table[h]['model']:.2f} ({table[h]['bias']:+.2f})" if h in table else "-" for h in horizons
        ]
        if table:
            lines.append(f"| {depth} | " + " | ".join(cells) + " |")
    return lines


def _check(name: str, season: dict[str, dict[str, float]]) -> list[str]:
    lines = ["| horizon, days | persistence | climatology | damped |", "|---|---|---|---|"]
    for horizon, printed in README[name].items():
        here = season[horizon]
        pairs = zip(("persistence", "climatology", "damped"), printed, strict=True)
        cells = [f"{here[method]:.2f} ({value:.2f})" for method, value in pairs]
        lines.append(f"| {horizon} | " + " | ".join(cells) + " |")
    return [*lines, "", "In brackets: as the README prints it."]


def _bubbles(rows: list[dict[str, Any]]) -> list[str]:
    flows = ", ".join(f"{1000 * flow:g}" for flow in FLOWS_STANDARD_M3_S)
    lines = [
        f"The data give the dates and rough hours. Taken here, and not known: air released at {DEPTH_M:g} m from "
        f"{OUTLETS} outlets from {START_HOUR_H}:00, {flows} L/s (standard) in all. Temperatures at "
        f"{', '.join(f'{depth:g}' for depth in SHOWN_M)} m, °C, median of the members.",
        "",
        "| event | read before | read after | no air | "
        + " | ".join(f"{1000 * flow:g} L/s" for flow in FLOWS_STANDARD_M3_S) + " |",
        "|---" * (4 + len(FLOWS_STANDARD_M3_S)) + "|",
    ]  # fmt: skip
    for row in rows:
        cells = [
            f"{row['first']}", f"{row['before']}: {_three(row['read_before'])}",
            f"{row['after']}: {_three(row['read_after'])}",
            *(_three(row[f"computed_{flow:g}"]) for flow in (0.0, *FLOWS_STANDARD_M3_S)),
        ]  # fmt: skip
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def _three(values: list[float]) -> str:
    return " / ".join(f"{value:.1f}" for value in values)


def _missing() -> list[str]:
    return [
        "## How small the bogs' errors are",
        "",
        "How far to trust the bogs' small errors (worked out once, by hand, on the windows above):",
        "",
        "- The weather is the recorded one, not a forecast: this tests the column, not a forecast of "
        "days ahead. Forecast errors, as FLARE's, hold the weather's too. The simple forecasts know "
        "no weather; a straight line through the raft's air and the sunlight (means with a half-life "
        "of 2 to 3 d), fitted on the first half, errs by 0.8 °C at 0.5 m in both bogs. That is the "
        "mark to beat.",
        "- The sheltered surface forgets its start in days: from the seventh day on, windows agree on "
        "a day to 0.04 °C, so the horizons repeat one test. By the errors' autocorrelation the "
        "windows hold some 57 independent days at Trout Bog's surface (181 in all) and 8 at Crystal "
        "Bog's (135).",
        "- The raft's air does not stand in for the water: with gridded air, humidity and wind of 3.7 "
        "km off, Trout Bog's surface error (six windows, 3 to 30 d) is 0.50 °C instead of 0.38.",
        "- Trout Bog's trees, 24 m, are the highest that were tried: the least error may lie beyond. "
        "The daily cycle of wind and air is from nine days of July 2009, in the scored half. Shade "
        "and mud entered the model after its errors in these bogs had been seen (decision 9).",
        "",
        "## What is not in these figures",
        "",
        "- Inflow, seepage and rain are not modelled; Falling Creek has an inflow, an outlet and oxygen put into its "
        "bottom water, and its weather is gridded.",
        "- Lough Feeagh (3.9 km², 46 m) is no pond: it is run as a check of the physics in deep, windy water, its "
        "weather by the day. Sparkling Lake (64 ha) has nine days with weather and was not run here.",
        "- Oxygen starts from the last manual profile of a fortnight and wide priors of bloom and demand: the figure "
        "is of a pond that was read but once. The optical sensor is moved to the manual readings' mean of its year.",
    ]


def draw(
    work: Path, name: str, record: Record, daily: pd.DataFrame, windows: list[Window], found: dict[str, Any]
) -> None:
    """Write the plots of one lake into the study's folder."""
    file = name.lower().replace(" ", "-")
    rows = [
        {"days": int(horizon), "rmse": row[method], "forecast": NAMES[method], "part": part}
        for part, table in (
            ("surface", found["surface"]),
            (_judged(found).removesuffix(" from 7 d on"), found["judged"]),
        )
        for horizon, row in table.items()
        for method in METHODS
    ]
    order = [NAMES[method] for method in METHODS]
    lines = (
        alt.Chart(rows_of(rows))
        .mark_line(point=True, strokeWidth=2.2)
        .encode(
            x=alt.X("days:Q", title="days ahead"),
            y=alt.Y("rmse:Q", title="RMSE, °C", scale=alt.Scale(zero=True)),
            color=alt.Color("forecast:N", sort=order, title=None,
                            scale=alt.Scale(domain=order, range=[COLOURS[m] for m in METHODS]),
                            legend=alt.Legend(orient="bottom", labelLimit=240)),
            strokeDash=alt.StrokeDash("forecast:N", sort=order,
                                      scale=alt.Scale(domain=order, range=[DASHES[m] for m in METHODS])),
            column=alt.Column("part:N", title=None),
        )
        .properties(width=215, height=190)
    )  # fmt: skip
    sentence = f"Error of the column's median and of three simple forecasts by days ahead, {name}."
    (work / f"{file}-rmse.svg").write_text(
        chart_svg(chart_of(f"{file}-rmse", sentence, lines)), encoding="utf-8"
    )
    longest = max(windows, key=lambda window: (window.warmth_degc.shape[1], -window.start.toordinal()))
    _draw_window(work / f"{file}-window.svg", name, record, daily, longest)


def _draw_window(path: Path, name: str, record: Record, daily: pd.DataFrame, window: Window) -> None:
    depths = [
        record.depths_m[i] for i in sorted({0, len(record.depths_m) // 3, 2 * len(record.depths_m) // 3})
    ]
    days = window.warmth_degc.shape[1]
    computed, read = [], []
    for depth in depths:
        i = record.depths_m.index(depth)
        for n in range(days):
            day = (window.start + timedelta(days=n + 1)).isoformat()
            low, middle, high = (
                float(window.warmth_degc[QUANTILES.index(q), n, i]) for q in (0.05, 0.5, 0.95)
            )
            label = f"{depth:g} m"
            computed.append({"day": day, "depth": label, "low": low, "middle": middle, "high": high})
            truth = float(daily[depth].get(pd.Timestamp(day), np.nan))
            if np.isfinite(truth):
                read.append({"day": day, "depth": label, "read": truth})
    labels = [f"{depth:g} m" for depth in depths]
    colour = alt.Color("depth:N", sort=labels, title=None,
                       scale=alt.Scale(domain=labels, range=[SHALLOW, DEEP, INK][: len(labels)]),
                       legend=alt.Legend(orient="bottom"))  # fmt: skip
    across = alt.X("day:T", title=None)
    base = alt.Chart(rows_of(computed))
    band = base.mark_area(opacity=0.3).encode(
        x=across,
        y=alt.Y("low:Q", title="temperature, °C", scale=alt.Scale(zero=False)),
        y2="high:Q",
        color=colour,
    )
    line = base.mark_line(strokeWidth=2.0).encode(x=across, y="middle:Q", color=colour)
    points = (
        alt.Chart(rows_of(read))
        .mark_point(filled=True, size=28, opacity=1)
        .encode(x=across, y="read:Q", color=colour)
    )
    drawing = alt.layer(band, line, points).properties(width=480, height=230)
    sentence = f"{name}, {days} days from {window.start.isoformat()}: lines and 90 % bands as computed, points as read."
    path.write_text(chart_svg(chart_of(path.stem, sentence, drawing)), encoding="utf-8")
