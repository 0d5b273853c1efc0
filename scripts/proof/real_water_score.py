"""What a forecast is measured against, and how: persistence, climatology and damped anomaly on the same pairs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

AROUND_D = 7  # days of year about the target's that make its climatology
LEAST_YEARS = 2
SEASON = (5, 10)  # months in which start and target must lie
METHODS = ("persistence", "climatology", "damped")


def climatology(daily: pd.Series, leave_year: int) -> pd.Series:
    """Return, by day of the year, the mean of the other years within a week, where two years at least have a value."""
    kept = daily[daily.index.year != leave_year].dropna()
    day = np.array([stamp.timetuple().tm_yday for stamp in kept.index])
    year, value = kept.index.year.to_numpy(), kept.to_numpy()
    means = {}
    for target in range(1, 367):
        near = np.abs(day - target) <= AROUND_D
        enough = len(set(year[near])) >= LEAST_YEARS
        means[target] = float(value[near].mean()) if enough else np.nan
    return pd.Series(means)


def _of_day(series: pd.Series, stamps: pd.DatetimeIndex) -> np.ndarray:
    return series.reindex([stamp.timetuple().tm_yday for stamp in stamps]).to_numpy()


@dataclass
class Baselines:
    """The three baselines of one depth's daily record.

    Attributes:
        daily: the record, index the dates.
        means: climatology by the year left out.
        factors: of the damped anomaly, by the year left out and the horizon.
    """

    daily: pd.Series
    means: dict[int, pd.Series]
    factors: dict[tuple[int, int], float]

    @classmethod
    def of(cls, daily: pd.Series) -> Baselines:
        """Return the baselines of a daily record."""
        years = sorted(set(daily.index.year))
        return cls(daily, {year: climatology(daily, year) for year in years}, {})

    def factor(self, year: int, horizon_d: int) -> float:
        """Return what is left of an anomaly after some days, by least squares on the other years."""
        key = (year, horizon_d)
        if key not in self.factors:
            first, later = [], []
            for other, means in self.means.items():
                if other == year:
                    continue
                start, target = season_pairs(self.daily[self.daily.index.year == other], horizon_d)
                first.append(self.daily.reindex(start).to_numpy() - _of_day(means, start))
                later.append(self.daily.reindex(target).to_numpy() - _of_day(means, target))
            a, b = (np.concatenate(part) if part else np.zeros(0) for part in (first, later))
            good = np.isfinite(a) & np.isfinite(b)
            self.factors[key] = float((a[good] @ b[good]) / (a[good] @ a[good])) if good.any() else np.nan
        return self.factors[key]

    def forecast(self, start: pd.Timestamp, horizon_d: int) -> dict[str, float]:
        """Return what each method says of the day `horizon_d` after `start`."""
        target = start + pd.Timedelta(days=horizon_d)
        now = float(self.daily.get(start, np.nan))
        usual = self.means.get(start.year, pd.Series(dtype=float))
        usual_now = float(usual.get(start.timetuple().tm_yday, np.nan))
        usual_then = float(usual.get(target.timetuple().tm_yday, np.nan))
        damped = usual_then + self.factor(start.year, horizon_d) * (now - usual_now)
        return {"persistence": now, "climatology": usual_then, "damped": damped}


def season_pairs(daily: pd.Series, horizon_d: int) -> tuple[pd.DatetimeIndex, pd.DatetimeIndex]:
    """Return the pairs of start and target of one record, both within May to October of one year."""
    start = pd.DatetimeIndex(daily.dropna().index)
    target = start + pd.Timedelta(days=horizon_d)
    fit = (start.month >= SEASON[0]) & (target.month <= SEASON[1]) & (start.year == target.year)
    fit &= target.isin(start) & (target.month >= SEASON[0]) & (start.month <= SEASON[1])
    return start[fit], target[fit]


def season_table(daily: pd.Series, horizons_d: tuple[int, ...]) -> dict[int, dict[str, float]]:
    """Return RMSE of each method over every pair of the season, by horizon: the READMEs' own tables."""
    baselines = Baselines.of(daily)
    table: dict[int, dict[str, float]] = {}
    for horizon_d in horizons_d:
        start, target = season_pairs(daily, horizon_d)
        rows = pd.DataFrame([baselines.forecast(stamp, horizon_d) for stamp in start])
        truth = daily.reindex(target).to_numpy()
        good = rows.notna().all(axis=1).to_numpy()
        table[horizon_d] = {
            "pairs": int(good.sum()),
            **{name: rmse(rows[name].to_numpy()[good] - truth[good]) for name in METHODS},
        }
    return table


def rmse(error: np.ndarray) -> float:
    """Return the root of the mean square, NaN left out; NaN for nothing."""
    kept = error[np.isfinite(error)]
    return float(np.sqrt(np.mean(kept**2))) if len(kept) else float("nan")


def bias(error: np.ndarray) -> float:
    """Return the mean, NaN left out; NaN for nothing."""
    kept = error[np.isfinite(error)]
    return float(np.mean(kept)) if len(kept) else float("nan")
