"""The real-water study: its baselines against the figures printed with the data, its records, its report."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from scripts.proof import real_water, real_water_report  # noqa: E402
from scripts.proof.real_water_records import LAKES, crystal_bog, daily_means, falling_creek, trout_bog  # noqa: E402
from scripts.proof.real_water_score import rmse, season_table  # noqa: E402
from scripts.proof.real_water_windows import Tuned, job_of, run_window  # noqa: E402

needs_records = pytest.mark.skipif(
    not LAKES.is_dir(),
    reason="the records of lakes are not beside this repository (../shared/reference/lakes)",
)
PRINTED = {
    # the bogs' READMEs: pairs and RMSE of persistence, climatology, damped at 0.5 m, by horizon
    "trout": {1: (648, 0.85, 2.33, 0.84), 7: (617, 2.80, 2.36, 2.19), 30: (516, 5.71, 2.44, 2.40)},
    "crystal": {1: (590, 0.76, 2.57, 0.77), 7: (552, 2.58, 2.58, 2.14), 30: (417, 5.07, 2.45, 2.25)},
}


@needs_records
@pytest.mark.parametrize(("name", "read"), [("trout", trout_bog), ("crystal", crystal_bog)])
def test_the_baselines_are_those_printed_with_the_data(name, read):
    """RMSE of three simple forecasts at the surface, every pair of May to October, as the bogs' READMEs print them."""
    found = season_table(daily_means(read().warmth)[0.5], tuple(PRINTED[name]))
    for horizon, (pairs, *printed) in PRINTED[name].items():
        assert found[horizon]["pairs"] == pytest.approx(pairs, abs=3)
        here = [found[horizon][method] for method in ("persistence", "climatology", "damped")]
        assert here == pytest.approx(printed, abs=0.04)


@needs_records
def test_summer_means_are_those_printed_with_the_data():
    """Trout Bog, June-August 2007 at 0.5, 2 and 3 m: 22.59, 11.39, 6.13 °C over 73 days (its README)."""
    daily = daily_means(trout_bog().warmth)
    summer = daily[(daily.index.year == 2007) & (daily.index.month >= 6) & (daily.index.month <= 8)]
    assert [summer[depth].mean() for depth in (0.5, 2.0, 3.0)] == pytest.approx(
        [22.59, 11.39, 6.13], abs=0.01
    )
    assert summer[0.5].count() == 73


@needs_records
@pytest.mark.parametrize("read", [trout_bog, crystal_bog])
def test_hourly_drivers_keep_the_days_means_of_the_raft_and_are_calm_at_night(read):
    """Wind of the rafts: 0.7 m/s in the mean at Trout Bog, 0.9 at Crystal Bog (READMEs); nights under half of days."""
    hours = read().hours
    assert hours["wind_m_s"].mean() == pytest.approx(0.70 if read is trout_bog else 0.94, abs=0.05)
    begin = hours.index - pd.Timedelta(hours=1)
    by_hour = hours.groupby(begin.hour).mean()
    assert by_hour["wind_m_s"].loc[0:4].mean() < 0.5 * by_hour["wind_m_s"].loc[10:15].mean()
    assert by_hour["air_degc"].idxmin() in (3, 4, 5)
    assert 0.0 < hours["humidity_fraction"].min() <= hours["humidity_fraction"].max() <= 1.0


@needs_records
def test_the_late_days_of_trout_bogs_raft_are_put_right():
    """From 2009-07-31 its file is a day late: put right, its air follows Crystal Bog's (README: r 0.96, else 0.23)."""
    trout, crystal = (read().hours["air_degc"].resample("1D").mean() for read in (trout_bog, crystal_bog))
    late = slice("2009-08-05", "2009-10-20")
    moved = np.corrcoef(trout.loc[late].diff().dropna(), crystal.loc[late].diff().dropna())[0, 1]
    assert moved > 0.9


@needs_records
def test_a_week_of_trout_bog_comes_near_what_was_read():
    """Seven days from 2008-07-10 at 0.5 to 3 m: within 1.2 °C of the record in the root mean square (the goal)."""
    record = trout_bog()
    window = run_window(record, date(2008, 7, 10), 7, Tuned(3.1, 15.0), members=32, seed=1)
    assert window is not None
    truth = real_water.observed(record, daily_means(record.warmth), window.start, 7)
    shallow = [i for i, depth in enumerate(record.depths_m) if depth <= 3.0]
    middle = real_water.MEDIAN
    assert rmse((window.warmth_degc[middle] - truth)[:, shallow]) < 1.2


@needs_records
def test_a_job_of_a_single_profile_starts_at_noon():
    """Falling Creek's readings have no hour: a run starts from them as of noon, with weather to the last day."""
    record = falling_creek()
    job = job_of(record, record.warmth.index[100].date(), 3, Tuned(1.0, 1.0))
    assert job is not None
    assert job.profiles[0].time.hour == 12
    assert len(job.weather) == 72


def test_the_models_error_is_the_least_that_brings_nine_tenths_into_the_bands():
    """Errors of a normal law of 1 K about bands of no width: 1 K is what is missing (by the normal law)."""
    off = np.random.default_rng(1).normal(0.0, 1.0, 4000)
    rows = [{"model": float(x), "low": 0.0, "high": 0.0} for x in off]
    assert real_water.model_error_k([rows]) == pytest.approx(1.0, abs=0.06)
    wide = [{**row, "low": -9.0, "high": 9.0} for row in rows]
    assert real_water.model_error_k([wide]) == 0.0


def test_without_the_records_the_study_says_so(tmp_path, monkeypatch):
    """A user's clone has none: nothing is run, and the page says it."""
    monkeypatch.setattr(real_water, "LAKES", Path(tmp_path / "none"))
    results = real_water.study(tmp_path, quick=True)
    assert "not beside this repository" in real_water_report.report(results)
