"""Does mixing beat the blue-greens? The stirring of simulated ponds by size, depth, discs an acre and season."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from scripts.proof.made_ponds import ACRE_M2, Made, steps_of
from scripts.proof.pieces import Pieces

from plumeline.kernels import column_index as ix
from plumeline.sources.priors import prior
from plumeline.stages.column.bluegreens import DAY_H, SPIN_UP_H, Regime, mixed, slowest_mode, stirring
from plumeline.stages.column.march import march
from plumeline.stages.column.run import standing

TITLE = "Blue-greens: the stirring against the rise"
SEED = 11
MEMBERS, QUICK_MEMBERS = 64, 16
HOURS = SPIN_UP_H + DAY_H + 1
PONDS = tuple(
    (acres, feet, discs_per_acre, season)
    for acres in (0.5, 1.0, 4.0)
    for feet in (7.0, 12.0, 18.0)
    for discs_per_acre in (1.0, 2.0, 4.0)
    for season in ("August, hot", "October, mild")
    if acres * discs_per_acre >= 1.0
)
QUICK_PONDS = ((1.0, 12.0, 1.0, "August, hot"), (1.0, 12.0, 4.0, "August, hot"))


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Release the dye in every pond, air all day and 12 h from the evening, and keep what it showed."""
    pieces = Pieces(work / "ponds.jsonl")
    for acres, feet, discs, season in QUICK_PONDS if quick else PONDS:
        key = f"{acres:g} {feet:g} {discs:g} {season}"
        if key not in pieces:
            pieces.add(key, _pond(acres, feet, discs, season, QUICK_MEMBERS if quick else MEMBERS))
    return gather(work)


def gather(work: Path) -> dict[str, Any]:
    """Return the ponds that are finished."""
    ponds = list(Pieces(work / "ponds.jsonl"))
    return {"ponds": ponds, "seeds": str(SEED), "finished": f"{len(ponds)} ponds"} if ponds else {}


def _pond(acres: float, feet: float, discs_per_acre: float, season: str, members: int) -> dict[str, Any]:
    hot = season.startswith("August")
    made = Made(
        season,
        acres,
        feet,
        surface_degc=29.0 if hot else 17.0,
        bottom_degc=20.0 if hot else 13.0,
        month=8 if hot else 10,
        discs=max(round(acres * discs_per_acre), 1),
    )
    grid = made.grid()
    stand = standing(made.job(), grid, made.limits(), members, SEED, HOURS)
    columns = mixed(stand.columns)
    clock = (stand.start.hour - 4 + np.arange(HOURS)) % 24
    mode = slowest_mode(grid, max(made.disc_depth_m))
    begin = int((20 - clock[0]) % 24)
    always = made.air(np.ones(HOURS * ix.STEPS_EACH_HOUR, dtype=bool))
    night = made.air(steps_of(HOURS, begin, (720,)))
    found = {"all day": always, "12 h from 20:00": night}
    flow = march(columns, always, HOURS).records[ix.PLUME_FLOW, SPIN_UP_H:]
    return {
        "acres": acres,
        "feet": feet,
        "discs_per_acre": made.discs / (made.area_m2 / ACRE_M2),
        "season": season,
        "members": members,
        "depth_m": mode.depth_m,
        "needed_cm2_s": prior("rise_speed").mode / 3600.0 * mode.depth_m * 1e4,
        # the own estimate of the notes on the science: Q H/(2 A), an order of magnitude
        "estimate_cm2_s": float(np.median(flow)) * mode.depth_m / (2.0 * made.area_m2) * 1e4,
        "regimes": {name: _told(stirring(columns, air, clock, name, mode)) for name, air in found.items()},
    }


def _told(regime: Regime) -> dict[str, Any]:
    middle = np.median(regime.diffusivity_m2_s, axis=1) * 1e4
    return {
        "day_cm2_s": float(np.median(middle[10:18])),
        "night_cm2_s": float(np.median(middle[[0, 1, 2, 3, 4, 5]])),
        "least_cm2_s": float(middle.min()),
        "most_cm2_s": regime.most_m2_s * 1e4,
        "hours_over_half": int(sum(p > 0.5 for p in regime.holding_probability)),
        "all_day_probability": regime.all_day_probability,
    }


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    ponds = results["ponds"]
    lines = [
        f"A passive dye is released every hour in the third day of running air, in {ponds[0]['members']} simulated "
        "ponds each; the diffusivity that makes the slowest shape decay as the dye did is K. Colonies rise at 0.08 "
        "to 2 m/h (90 %, middle 0.4); the model's error is a factor of 3. `needed` is v H for the middle colony; the "
        "odds are those of a Péclet number under 1. `estimate` is Q H/(2 A), the order of magnitude that a back of "
        "an envelope gives. No critical number of the literature is used, and no cure is promised.",
        "",
        "| acres | ft | discs an acre | season | needed, cm²/s | estimate | K by day | K by night | K by day, 12 h at "
        "night | hours of 24 with odds over half | odds all day: air always | 12 h at night |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for pond in ponds:
        always, night = pond["regimes"]["all day"], pond["regimes"]["12 h from 20:00"]
        most = always["most_cm2_s"]
        by_night = f"{always['night_cm2_s']:.2g}"
        by_night = f"over {most:.2g}" if always["night_cm2_s"] > 0.99 * most else by_night
        lines.append(
            f"| {pond['acres']:g} | {pond['feet']:g} | {pond['discs_per_acre']:.2g} | {pond['season']} | "
            f"{pond['needed_cm2_s']:.1f} | {pond['estimate_cm2_s']:.2g} | {always['day_cm2_s']:.2g} | {by_night} | "
            f"{night['day_cm2_s']:.2g} | {always['hours_over_half']} | "
            f"{100 * always['all_day_probability']:.0f} of 100 | {100 * night['all_day_probability']:.0f} of 100 |"
        )
    ratio = [p["regimes"]["all day"]["day_cm2_s"] / p["estimate_cm2_s"] for p in ponds]
    one = [p for p in ponds if abs(p["discs_per_acre"] - 1.0) < 0.01]
    lines += [
        "",
        f"By day the dye finds {min(ratio):.2g} to {max(ratio):.2g} times the estimate (middle "
        f"{np.median(ratio):.2g}). With one disc an acre the odds all day are at most "
        f"{100 * max(p['regimes']['all day']['all_day_probability'] for p in one):.0f} of 100 here: often not enough. "
        f"Air by night only leaves the day to the colonies in {sum(_worse(p) for p in ponds)} of {len(ponds)} ponds.",
    ]
    return "\n".join(lines)


def _worse(pond: dict[str, Any]) -> bool:
    """Tell whether air by night alone holds less than air all day."""
    return bool(
        pond["regimes"]["12 h from 20:00"]["all_day_probability"]
        < pond["regimes"]["all day"]["all_day_probability"]
    )
