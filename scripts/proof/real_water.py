"""Real water: temperature and oxygen of ponds and lakes against their records, beside simple forecasts.

Only the extinction of light and the height of the sheltering trees are tuned, one value each a lake, on windows
that end before the middle of the record; everything after it is scored.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scripts.proof import real_water_bubbles, real_water_report
from scripts.proof.pieces import Pieces, seconds_left
from scripts.proof.real_water_records import (
    LAKES,
    Record,
    crystal_bog,
    daily_means,
    days_between,
    falling_creek,
    feeagh,
    trout_bog,
)
from scripts.proof.real_water_score import METHODS, Baselines, bias, rmse, season_table
from scripts.proof.real_water_windows import QUANTILES, TREES_M, Tuned, Window, run_window

TITLE = "Real water"
HORIZONS_D = (1, 3, 7, 14, 30)
LONGEST_D = 45
SEED = 11
Z_90 = 1.645  # a normal error's reach on either side that leaves out a tenth
FEEAGH_STARTS = ((5, 20), (6, 15), (7, 10), (8, 5))
MEMBERS, TUNING_MEMBERS = 64, 32  # whole blocks of the kernel
MEDIAN, LOW, HIGH = QUANTILES.index(0.5), QUANTILES.index(0.05), QUANTILES.index(0.95)


@dataclass(frozen=True)
class Plan:
    """How one lake is run.

    Attributes:
        read: returns its record.
        tuning: starts of the windows on which the two values are chosen.
        scored: starts of the windows that are scored.
        last: month and day after which no target lies.
        extinctions_1_m: values tried.
        shelters: values tried.
        judged_m: depths that are judged together.
    """

    read: Any
    tuning: tuple[date, ...]
    scored: tuple[date, ...]
    last: tuple[int, int]
    extinctions_1_m: tuple[float, ...]
    shelters: tuple[float, ...]
    judged_m: tuple[float, float]


def plans() -> dict[str, Plan]:
    """Return the lakes, with the half of the record that chooses and the half that scores."""
    tuning = (
        *days_between(date(2007, 6, 5), date(2007, 8, 24), 16),
        *days_between(date(2008, 6, 1), date(2008, 7, 1), 15),
    )
    scored = (
        *days_between(date(2008, 8, 1), date(2008, 8, 31), 3),
        *days_between(date(2009, 6, 1), date(2009, 8, 31), 3),
    )
    heights = (12.0, 15.0, 18.0, 21.0, 24.0)
    creek = falling_creek().warmth
    days = [stamp.date() for stamp in creek.index if 5 <= stamp.month <= 8]
    return {
        "Trout Bog": Plan(trout_bog, tuning, scored, (9, 30), (2.6, 3.1, 3.6), heights, (0.5, 3.0)),
        "Crystal Bog": Plan(crystal_bog, tuning, scored, (9, 30), (2.0, 2.5, 3.0), heights, (0.5, 2.25)),
        "Falling Creek": Plan(
            falling_creek,
            tuple(day for day in days if day.year <= 2015)[::12],
            tuple(day for day in days if day.year >= 2017)[::3],
            (9, 30),
            (0.9, 1.2, 1.5),
            (0.9, 1.2, 1.5, 1.8),
            (0.1, 9.0),
        ),
        "Feeagh": Plan(
            feeagh,
            tuple(date(year, month, 5) for year in (2006, 2008) for month in (6, 7, 8)),
            tuple(date(year, month, day) for year in range(2010, 2015) for month, day in FEEAGH_STARTS),
            (9, 30),
            (0.5, 0.7, 0.9),
            (0.8, 1.0, 1.2),
            (0.9, 22.0),
        ),
    }


def days_of(plan: Plan, start: date, longest_d: int = LONGEST_D) -> int:
    """Return how many days a window runs: to its longest, or to the season's end."""
    end = date(start.year, *plan.last)
    return min(longest_d, (end - start).days)


def tune(name: str, plan: Plan, record: Record, daily: pd.DataFrame, pieces: Pieces) -> Tuned:
    """Return the two values with the least error over the judged depths on the first half of the record."""
    best: tuple[float, Tuned] | None = None
    for extinction in plan.extinctions_1_m:
        for shelter in plan.shelters:
            key = f"tune/{name}/{extinction}/{shelter}"
            tuned = Tuned(extinction, shelter)
            if key not in pieces:
                errors = []
                for start in plan.tuning:
                    window = run_window(
                        record, start, days_of(plan, start, 30), tuned, members=TUNING_MEMBERS, seed=SEED
                    )
                    if window is not None:
                        errors.append(_errors(record, daily, window, plan.judged_m).ravel())
                pieces.add(key, {"rmse_k": rmse(np.concatenate(errors)), "windows": len(errors)})
            found = float(pieces[key]["rmse_k"])
            if best is None or found < best[0]:
                best = (found, tuned)
    assert best is not None, "there is at least one value of each"
    return best[1]


def observed(record: Record, daily: pd.DataFrame, start: date, days: int) -> np.ndarray:
    """Return the daily means at the scored depths on the days after `start` (days, depths)."""
    target = pd.date_range(start + timedelta(days=1), periods=days)
    return daily.reindex(target).reindex(columns=list(record.depths_m)).to_numpy(float)


def _errors(record: Record, daily: pd.DataFrame, window: Window, judged_m: tuple[float, float]) -> np.ndarray:
    days = window.warmth_degc.shape[1]
    judged = [judged_m[0] <= depth <= judged_m[1] for depth in record.depths_m]
    truth = observed(record, daily, window.start, days)
    return np.asarray((window.warmth_degc[MEDIAN] - truth)[:, judged])


def run_lake(name: str, plan: Plan, record: Record, pieces: Pieces, tuned: Tuned, starts: tuple[date, ...], days: int,
             members: int, part: str = "window") -> None:  # fmt: skip
    """Run the windows that are not there yet."""
    for start in starts:
        key = f"{part}/{name}/{start}"
        if key in pieces or seconds_left() < 5.0:
            continue
        length = days_of(plan, start, days)
        if length < 1:
            continue
        window = run_window(record, start, length, tuned, members=members, seed=SEED)
        if window is None:
            pieces.add(key, {"hole": True})
            continue
        pieces.add(
            key,
            {
                "start": start.isoformat(),
                "warmth_degc": np.round(window.warmth_degc, 3).tolist(),
                "do_mg_l": np.round(window.do_mg_l, 3).tolist(),
            },
        )


def run_bubbles(record: Record, tuned: Tuned, pieces: Pieces) -> None:
    """Run the dated bubble-mixing days that are not there yet."""
    for first, days, hours in real_water_bubbles.EVENTS:
        key = f"bubbles/{first}"
        if key not in pieces and seconds_left() > 5.0:
            pieces.add(key, real_water_bubbles.event(record, tuned, first, days, hours) or {"hole": True})


def windows_of(name: str, pieces: Pieces, part: str = "window") -> list[Window]:
    """Return the windows of a lake that are done."""
    found = [
        piece for piece in pieces if str(piece["key"]).startswith(f"{part}/{name}/") and "start" in piece
    ]
    return [
        Window(date.fromisoformat(piece["start"]), np.array(piece["warmth_degc"]), np.array(piece["do_mg_l"]))
        for piece in found
    ]


def scores(record: Record, daily: pd.DataFrame, windows: list[Window]) -> list[dict[str, Any]]:
    """Return one row for each horizon and depth where model and every baseline have a pair."""
    baselines = {depth: Baselines.of(daily[depth]) for depth in record.depths_m if depth in daily}
    rows: list[dict[str, Any]] = []
    for window in windows:
        start = pd.Timestamp(window.start)
        for horizon_d in HORIZONS_D:
            if horizon_d > window.warmth_degc.shape[1]:
                continue
            for i, depth in enumerate(record.depths_m):
                if depth not in baselines:
                    continue
                truth = float(daily[depth].get(start + pd.Timedelta(days=horizon_d), np.nan))
                simple = baselines[depth].forecast(start, horizon_d)
                if not np.isfinite([truth, *simple.values()]).all():
                    continue
                low, middle, high = (
                    float(window.warmth_degc[q, horizon_d - 1, i]) for q in (LOW, MEDIAN, HIGH)
                )
                rows.append(
                    {
                        "horizon_d": horizon_d, "depth_m": depth, "model": middle - truth,
                        "within": low <= truth <= high, "low": low - middle, "high": high - middle,
                        **{m: simple[m] - truth for m in METHODS},
                    }
                )  # fmt: skip
    return rows


def within(row: dict[str, Any], error_k: float) -> bool:
    """Return whether a reading lies in the 90 % band, once an error of the model itself is added to it."""
    reach = Z_90 * error_k
    return bool(-np.hypot(row["high"], reach) <= row["model"] <= np.hypot(row["low"], reach))


def model_error_k(first: list[list[dict[str, Any]]]) -> float:
    """Return the error of the model that brings nine tenths of the first halves' readings into the bands.

    Args:
        first: rows of the first half of each lake; every lake counts as much as any other.
    """
    for error_k in np.arange(0.0, 3.0, 0.05):
        held = [np.mean([within(row, float(error_k)) for row in rows]) for rows in first if rows]
        if held and float(np.mean(held)) >= 0.9:
            return round(float(error_k), 2)
    return 3.0


def judged_rows(rows: list[dict[str, Any]], judged_m: tuple[float, float]) -> list[dict[str, Any]]:
    """Return the rows of the depths that are judged."""
    return [row for row in rows if judged_m[0] <= row["depth_m"] <= judged_m[1]]


def table(
    rows: list[dict[str, Any]], depths: tuple[float, float], error_k: float
) -> dict[str, dict[str, float]]:
    """Return RMSE of model and baselines, bias and coverage of the model, by horizon, over a range of depths."""
    found: dict[str, dict[str, float]] = {}
    for horizon_d in HORIZONS_D:
        kept = [r for r in rows if r["horizon_d"] == horizon_d and depths[0] <= r["depth_m"] <= depths[1]]
        if not kept:
            continue
        found[str(horizon_d)] = {
            "pairs": len(kept),
            **{name: rmse(np.array([r[name] for r in kept])) for name in ("model", *METHODS)},
            "bias": bias(np.array([r["model"] for r in kept])),
            "within_fraction": float(np.mean([r["within"] for r in kept])),
            "widened_fraction": float(np.mean([within(r, error_k) for r in kept])),
        }
    return found


def oxygen_scores(record: Record, windows: list[Window]) -> dict[str, dict[str, float]]:
    """Return errors of surface oxygen by horizon, beside the same baselines on the sensor's days."""
    if record.surface_do.empty:
        return {}
    base = Baselines.of(record.surface_do)
    found: dict[str, dict[str, float]] = {}
    for horizon_d in HORIZONS_D:
        rows = []
        for window in windows:
            if horizon_d > window.do_mg_l.shape[1]:
                continue
            start = pd.Timestamp(window.start)
            truth = float(record.surface_do.get(start + pd.Timedelta(days=horizon_d), np.nan))
            simple = base.forecast(start, horizon_d)
            if not np.isfinite([truth, *simple.values()]).all():
                continue
            low, middle, high = (float(window.do_mg_l[q, horizon_d - 1, 0]) for q in (LOW, MEDIAN, HIGH))
            rows.append(
                {
                    "model": middle - truth,
                    "within": low <= truth <= high,
                    **{m: simple[m] - truth for m in METHODS},
                }
            )
        if rows:
            found[str(horizon_d)] = {
                "pairs": len(rows),
                **{name: rmse(np.array([r[name] for r in rows])) for name in ("model", *METHODS)},
                "bias": bias(np.array([r["model"] for r in rows])),
                "within_fraction": float(np.mean([r["within"] for r in rows])),
            }
    return found


def lake_results(
    record: Record, plan: Plan, daily: pd.DataFrame, windows: list[Window], tuned: Tuned, error_k: float
) -> dict[str, Any]:
    """Return everything that the report says of one lake."""
    rows = scores(record, daily, windows)
    whole = (record.depths_m[0], record.depths_m[-1])
    everything = [
        (window.warmth_degc[MEDIAN] - observed(record, daily, window.start, window.warmth_degc.shape[1]))
        for window in windows
    ]
    flat = np.concatenate([part.ravel() for part in everything]) if everything else np.zeros(0)
    return {
        "windows": len(windows),
        "extinction_1_m": tuned.extinction_1_m,
        "shelter": tuned.shelter,
        "measured_extinction_1_m": record.extinction_1_m,
        "surface": table(rows, (record.surface_m, record.surface_m), error_k),
        "judged": table(rows, plan.judged_m, error_k),
        "all": table(rows, whole, error_k),
        "by_depth": {f"{depth:g}": table(rows, (depth, depth), error_k) for depth in record.depths_m},
        "every_day_rmse_k": rmse(flat),
        "every_day_values": int(np.isfinite(flat).sum()),
        "oxygen": oxygen_scores(record, windows),
        "season": {str(h): row for h, row in season_table(daily[record.surface_m], HORIZONS_D).items()},
        "judged_m": list(plan.judged_m),
        "surface_m": record.surface_m,
    }


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Tune on the first half of each record, run the windows of the second, and score them."""
    if not LAKES.is_dir():
        return {"absent": True, "finished": "no records beside the repository", "seeds": str(SEED)}
    pieces = Pieces(work / "windows.jsonl")
    if quick:
        # no tuning: the measured extinction, and trees of a usual height
        plan = plans()["Crystal Bog"]
        record = plan.read()
        tuned = Tuned(record.extinction_1_m, TREES_M)
        run_lake("Crystal Bog", plan, record, pieces, tuned, plan.scored[:8:4], 10, TUNING_MEMBERS)
        return gather(work)
    for name, plan in plans().items():
        record = plan.read()
        daily = daily_means(record.warmth)
        tuned = tune(name, plan, record, daily, pieces)
        run_lake(name, plan, record, pieces, tuned, plan.tuning, 30, TUNING_MEMBERS, "first")
        run_lake(name, plan, record, pieces, tuned, plan.scored, LONGEST_D, MEMBERS)
        if name == "Falling Creek":
            run_bubbles(record, tuned, pieces)
    return gather(work)


def gather(work: Path) -> dict[str, Any]:
    """Return the scores of whatever windows are done."""
    if not LAKES.is_dir():
        return {}
    pieces = Pieces(work / "windows.jsonl")
    read = {name: (plan, plan.read()) for name, plan in plans().items() if windows_of(name, pieces)}
    daily = {name: daily_means(record.warmth) for name, (_, record) in read.items()}
    first = [
        judged_rows(scores(record, daily[name], windows_of(name, pieces, "first")), plan.judged_m)
        for name, (plan, record) in read.items()
    ]
    error_k = model_error_k(first) if any(first) else 0.0
    lakes: dict[str, Any] = {}
    for name, (plan, record) in read.items():
        windows = windows_of(name, pieces)
        tuned = best_of(name, pieces) or Tuned(record.extinction_1_m, TREES_M)
        lakes[name] = lake_results(record, plan, daily[name], windows, tuned, error_k)
        real_water_report.draw(work, name, record, daily[name], windows, lakes[name])
    return {
        "lakes": lakes,
        "bubbles": [
            piece for piece in pieces if str(piece["key"]).startswith("bubbles/") and "first" in piece
        ],
        "model_error_k": error_k,
        "seeds": str(SEED),
        "finished": ", ".join(f"{name}: {found['windows']} windows" for name, found in lakes.items()),
        "members": MEMBERS,
    }


def best_of(name: str, pieces: Pieces) -> Tuned | None:
    """Return the tuned values of a lake, or None where it was not tuned."""
    tried = [piece for piece in pieces if str(piece["key"]).startswith(f"tune/{name}/")]
    if not tried:
        return None
    key = str(min(tried, key=lambda piece: piece["rmse_k"])["key"]).split("/")
    return Tuned(float(key[2]), float(key[3]))


report = real_water_report.report
