"""Records of real lakes for the proof: drivers by the hour and temperatures as read, faults left out.

The data lie beside the repository (../shared/reference/lakes) and are not part of it; their READMEs name sources,
licences and the faults that are mended here: daily files a day late, gridded weather two days late, stuck values,
sensors in the mud, spikes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import solarposition

from plumeline.job.document import Site
from plumeline.science.water import vapour_pressure_bolton_1980

LAKES = Path(__file__).resolve().parent.parent.parent.parent / "shared" / "reference" / "lakes"

# what nine days of ten-minute data at Trout Bog's raft (2-10 July 2009) say of a day there: the wind of each
# hour over the day's mean, the air's warmth between its least (-0.5) and most (+0.5), and its range [K] over
# the day's sunlight as a part of a clear sky's
WIND_BY_HOUR = np.array([
    0.45, 0.59, 0.54, 0.33, 0.38, 0.38, 0.51, 0.82, 1.15, 1.66, 1.68, 1.75,
    1.94, 1.89, 1.86, 1.69, 1.63, 1.58, 1.33, 0.73, 0.62, 0.65, 0.51, 0.38,
])  # fmt: skip
WARMTH_BY_HOUR = np.array([
    -0.35, -0.38, -0.43, -0.47, -0.50, -0.47, -0.33, -0.11, 0.00, 0.10, 0.18, 0.30,
    0.37, 0.43, 0.48, 0.50, 0.49, 0.47, 0.36, 0.13, -0.03, -0.11, -0.18, -0.25,
])  # fmt: skip
RAFT_TO_10_M = 1.16  # from 2 m to 10 m by the logarithmic law over water of a roughness of 0.1 mm
RANGE_DULL_K, RANGE_CLEAR_K = 3.0, 13.0


@dataclass(frozen=True)
class Depths:
    """A hypsograph by table: depths and areas, as the grid asks for it."""

    depth_m: np.ndarray
    area_m2: np.ndarray

    def area_at(self, depth_m: float, /) -> float:
        """Return the area at a depth [m²]."""
        return float(np.interp(depth_m, self.depth_m, self.area_m2))

    def volume_below(self, depth_m: float, /) -> float:
        """Return the volume under a depth [m³], by trapezia of a centimetre."""
        if depth_m >= self.depth_m[-1]:
            return 0.0
        fine = np.linspace(depth_m, self.depth_m[-1], 800)
        area = np.interp(fine, self.depth_m, self.area_m2)
        return float(np.trapezoid(area, fine))


@dataclass(frozen=True)
class Record:
    """One lake's record.

    Attributes:
        name: of the lake.
        site: place and zone.
        basin: hypsograph.
        max_depth_m: greatest depth.
        extinction_1_m: measured attenuation of light, or what stands for it.
        hours: drivers by the hour, index the END of the hour, in the site's zone: air_degc, humidity_fraction,
            wind_m_s (at 10 m), sun_w_m2, sky_w_m2.
        warmth: temperatures by the hour (index the end), columns depths [m].
        surface_m: depth that is scored as the surface.
        depths_m: depths scored.
        oxygen: readings of oxygen profiles (index the time), columns depths; empty where there are none.
        surface_do: daily surface oxygen (index the date), corrected to the manual readings.
        wind_over_water_number: wind at 10 m over the water against the record's, where that was read on the
            water itself; None where the record is of a station or a grid.
        at_noon: whether the record is of single profiles, taken to be read at noon, and not of whole days.
    """

    name: str
    site: Site
    basin: Depths
    max_depth_m: float
    extinction_1_m: float
    hours: pd.DataFrame
    warmth: pd.DataFrame
    surface_m: float
    depths_m: tuple[float, ...]
    oxygen: pd.DataFrame
    surface_do: pd.Series
    wind_over_water_number: float | None = None
    at_noon: bool = False


def _sun(zone: str) -> pd.DataFrame:
    """Return hourly sunlight and clear-sky sunlight by the Minocqua files, May to October 2007-2009 (W/m²)."""
    parts = []
    for year in (2007, 2008, 2009):
        table = pd.read_csv(LAKES / "trout-bog" / f"minocqua_726404_{year}_solar_May-Oct.csv")
        hour = table["HH:MM (LST)"].str.split(":").str[0].astype(int)
        stamps = pd.to_datetime(table["YYYY-MM-DD"]) + pd.to_timedelta(hour, unit="h")
        parts.append(
            pd.DataFrame(
                {
                    "sun_w_m2": table["SUNY Glo (Wh/m^2)"].to_numpy(dtype=float),
                    "clear_w_m2": table["METSTAT CSKY (Wh/m^2)"].to_numpy(dtype=float)
                    if "METSTAT CSKY (Wh/m^2)" in table
                    else table[next(c for c in table if "CSKY" in c)].to_numpy(dtype=float),
                },
                index=pd.DatetimeIndex(stamps).tz_localize(zone),
            )
        )
    return pd.concat(parts).clip(lower=0.0)


def _gridded() -> pd.DataFrame:
    """Return the gridded daily weather on its true dates: the file's are two days late."""
    table = pd.read_csv(LAKES / "trout-bog" / "nldas_sparkling_daily_2005-2009.csv", parse_dates=["time"])
    table.index = pd.DatetimeIndex(table["time"]) - pd.Timedelta(days=2)
    return table.drop(columns="time")


def _raft(folder: str, stem: str, late_from: date | None) -> pd.DataFrame:
    """Return the raft's daily means; where the file is a day late it is put right."""
    table = pd.read_csv(LAKES / folder / f"{stem}_met_oxygen_daily_2005-2009.csv", parse_dates=["sampledate"])
    days = pd.DatetimeIndex(table["sampledate"])
    if late_from is not None:
        late = days >= pd.Timestamp(late_from)
        days = days.where(~late, days - pd.Timedelta(days=1))
    table.index = days
    return table[~table.index.duplicated()].select_dtypes("number")


def hourly_drivers(
    raft: pd.DataFrame, grid: pd.DataFrame, sun: pd.DataFrame, wind_share: float
) -> pd.DataFrame:
    """Return hourly drivers from daily means and hourly sunlight.

    Args:
        raft: daily means at the lake.
        grid: gridded daily weather, for longwave and where the raft has none.
        sun: hourly sunlight and clear-sky sunlight.
        wind_share: wind over the lake at 2 m over the gridded wind, where the raft has none.
    """
    begin = sun.index - pd.Timedelta(hours=1)
    day = begin.tz_localize(None).normalize()
    hour = begin.hour.to_numpy()
    light = sun.groupby(day)[["sun_w_m2", "clear_w_m2"]].sum()
    shine = (light["sun_w_m2"] / light["clear_w_m2"]).clip(0.1, 1.0)
    mean = raft["avg_air_temp"].reindex(light.index).fillna(grid["AirTemp"].reindex(light.index))
    humid = raft["avg_rel_hum"].reindex(light.index).fillna(grid["RelHum"].reindex(light.index)) / 100.0
    wind = raft["avg_wind_speed"].reindex(light.index)
    wind = wind.fillna(wind_share * grid["WindSpeed"].reindex(light.index))
    width = RANGE_DULL_K + (RANGE_CLEAR_K - RANGE_DULL_K) * (shine - 0.3).clip(0.0, 0.65) / 0.65
    cycle = WARMTH_BY_HOUR - WARMTH_BY_HOUR.mean()
    air = mean.reindex(day).to_numpy() + width.reindex(day).to_numpy() * cycle[hour]
    # vapour hardly changes over a day; the mean of the relative humidity tells how much there is
    over = pd.Series(1.0 / np.vectorize(vapour_pressure_bolton_1980)(air)).groupby(np.asarray(day)).mean()
    vapour_pa = (humid / over.reindex(humid.index)).reindex(day).to_numpy()
    fraction = vapour_pa / np.vectorize(vapour_pressure_bolton_1980)(air)
    gusts = wind.reindex(day).to_numpy() * WIND_BY_HOUR[hour] / WIND_BY_HOUR.mean()
    return pd.DataFrame(
        {
            "air_degc": air,
            "humidity_fraction": np.clip(fraction, 0.05, 1.0),
            "wind_m_s": gusts,
            "sun_w_m2": sun["sun_w_m2"].to_numpy(),
            "sky_w_m2": grid["LongWave"].reindex(day).to_numpy(),
            "shine_fraction": shine.reindex(day).to_numpy(),
        },
        index=sun.index,
    )


def _hourly_warmth(folder: str, stem: str, zone: str) -> pd.DataFrame:
    table = pd.read_csv(LAKES / folder / f"{stem}_temp_hourly_2005-2009.csv", dtype={"TIMESTAMP_END": str})
    stamps = table["TIMESTAMP_END"]
    days = pd.to_datetime(stamps.str[:8], format="%Y%m%d")
    table.index = pd.DatetimeIndex(
        days + pd.to_timedelta(stamps.str[8:10].astype(int), unit="h")
    ).tz_localize(zone)
    table = table.drop(columns="TIMESTAMP_END")
    table.columns = [float(name.removeprefix("wtemp_").removesuffix("m")) for name in table.columns]
    return table[~table.index.duplicated()].sort_index()


def _depths(folder: str, stem: str, deepest_m: float) -> Depths:
    table = pd.read_csv(LAKES / folder / f"{stem}_hypsometry.csv")
    depth, area = table["DEPTH"].to_numpy(float), table["BATHYMETRY_AREA"].to_numpy(float)
    if deepest_m > depth[-1]:
        depth, area = np.append(depth, deepest_m), np.append(area, 0.0)
    return Depths(depth, area)


def _manual(folder: str, stem: str, zone: str) -> pd.DataFrame:
    """Return the fortnightly oxygen profiles, at ten in the morning (their hour is not recorded)."""
    table = pd.read_csv(
        LAKES / folder / f"{stem}_profiles_temp_oxygen_light_2005-2009.csv", parse_dates=["sampledate"]
    )
    table = table[table["rep"] == 1].dropna(subset=["o2"])
    wide = table.pivot_table(index="sampledate", columns="depth", values="o2")
    wide.index = (pd.DatetimeIndex(wide.index) + pd.Timedelta(hours=10)).tz_localize(zone)
    return wide


def _surface_do(raft: pd.DataFrame, manual: pd.DataFrame) -> pd.Series:
    """Return the optical sensor's daily oxygen, less its mean distance from the manual readings of the year."""
    found = raft["avg_opt_do_raw"].dropna()
    top = manual[0.0].dropna()
    top.index = top.index.tz_localize(None).normalize()
    both = (found.reindex(top.index) - top).dropna()
    off = both.groupby(both.index.year).mean()
    years = pd.Series(found.index.year, index=found.index)
    return (found - years.map(off).fillna(both.mean())).rename("do_mg_l")


def trout_bog() -> Record:
    """Return Trout Bog, 2007-2009."""
    zone = "Etc/GMT+6"
    warmth = _hourly_warmth("trout-bog", "TroutBog", zone)
    warmth.loc["2005-09-16 12:00":"2005-10-06", :] = np.nan
    warmth.loc[warmth.index == pd.Timestamp("2006-07-31 12:00", tz=zone), 0.5] = np.nan
    raft = _raft("trout-bog", "TroutBog", date(2009, 7, 31))
    manual = _manual("trout-bog", "TroutBog", zone)
    hours = hourly_drivers(raft, _gridded(), _sun(zone), 0.15)
    site = Site(latitude_deg=46.04114, longitude_deg=-89.68635, elevation_m=494.0, time_zone=zone)
    return Record(
        "Trout Bog", site, _depths("trout-bog", "TroutBog", 7.9), 7.9, 3.1, hours, warmth, 0.5,
        (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0), manual, _surface_do(raft, manual), RAFT_TO_10_M,
    )  # fmt: skip


def crystal_bog() -> Record:
    """Return Crystal Bog, 2007-2009."""
    zone = "Etc/GMT+6"
    warmth = _hourly_warmth("crystal-bog", "CrystalBog", zone)
    for deep in (2.0, 2.25):
        mud = warmth[deep] > warmth[1.75] + 0.5
        warmth.loc[mud, deep] = np.nan
    raft = _raft("crystal-bog", "CrystalBog", None)
    manual = _manual("crystal-bog", "CrystalBog", zone)
    hours = hourly_drivers(raft, _gridded(), _sun(zone), 0.22)
    site = Site(latitude_deg=46.007639, longitude_deg=-89.606341, elevation_m=501.0, time_zone=zone)
    daily = pd.read_csv(
        LAKES / "crystal-bog" / "CrystalBog_temp_daily_2005-2009.csv", parse_dates=["sampledate"]
    )
    return Record(
        "Crystal Bog", site, _depths("crystal-bog", "CrystalBog", 2.5), 2.5, 2.5, hours,
        _with_daily(warmth, daily, zone), 0.5, (0.5, 1.0, 1.5, 2.0, 2.25), manual,
        _surface_do(raft, manual), RAFT_TO_10_M,
    )  # fmt: skip


def falling_creek() -> Record:
    """Return Falling Creek Reservoir, 2013-2019: hourly gridded weather, profiles every few days."""
    zone = "Etc/GMT+5"
    folder = LAKES / "falling-creek"
    area = pd.read_csv(folder / "FCR.bth")
    depth_m = np.append(0.0, area["depths"].to_numpy(float))
    area_m2 = np.append(float(area["areas"].iloc[0]), area["areas"].to_numpy(float))
    met = pd.read_csv(folder / "FCR_GLM_NLDAS_010113_123119_GMTadjusted.csv", parse_dates=["time"])
    met.index = pd.DatetimeIndex(met["time"]).tz_localize(zone)
    # the sun's noon falls on its stamps (12:20 at this longitude), so an hour that ends on one has its two means
    hour = (met.drop(columns="time") + met.drop(columns="time").shift(1)).iloc[1:] / 2.0
    hours = pd.DataFrame(
        {
            "air_degc": hour["AirTemp"],
            "humidity_fraction": (hour["RelHum"] / 100.0).clip(0.05, 1.0),
            "wind_m_s": hour["WindSpeed"],
            "sun_w_m2": hour["ShortWave"].clip(lower=0.0),
            "sky_w_m2": hour["LongWave"],
        }
    )
    warmth = _noon_profiles(folder / "CleanedObsTemp.csv", "temp", zone)
    oxygen = _noon_profiles(folder / "CleanedObsOxy.csv", "OXY_oxy", zone) * 0.0319988
    surface = oxygen[1.0].dropna()
    surface.index = pd.DatetimeIndex(surface.index).tz_localize(None).normalize()
    site = Site(latitude_deg=37.30, longitude_deg=-79.84, elevation_m=507.0, time_zone=zone)
    measured = float(pd.read_csv(folder / "field_secchi.csv")["extc_coef"].median())
    return Record(
        "Falling Creek", site, Depths(depth_m, area_m2), 9.3, measured, hours, warmth, 0.1,
        (0.1, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0), oxygen, surface.rename("do_mg_l"), None, True,
    )  # fmt: skip


FEEAGH_YEARS = (2005, 2014)
OCEAN_RANGE_K = 5.0  # of the air over a day on an ocean coast, where the record is of days: judgement


def feeagh() -> Record:
    """Return Lough Feeagh, 2005-2014: deep water on a windy coast, weather and temperatures by the day.

    The day's sunlight is spread over its hours as the sun's height has it, its wind evenly. No oxygen is recorded:
    the column starts saturated, and only temperature is scored.
    """
    zone = "Etc/GMT"
    folder = LAKES / "feeagh"
    table = pd.read_csv(folder / "LakeEnsemblR_bathymetry_standard.csv")
    basin = Depths(table["Depth_meter"].to_numpy(float), table["Area_meterSquared"].to_numpy(float))
    site = Site(latitude_deg=53.9, longitude_deg=-9.57, elevation_m=15.0, time_zone=zone)
    first, last = FEEAGH_YEARS
    met = pd.read_csv(
        folder / "LakeEnsemblR_meteo_standard.csv", parse_dates=["datetime"], index_col="datetime"
    )
    met = met.loc[f"{first}-05-01" : f"{last}-10-31"]
    stamps = pd.date_range(met.index[0], met.index[-1] + pd.Timedelta(hours=23), freq="h", tz=zone)
    day = stamps.tz_localize(None).normalize()
    # the middle of the hour that begins at each stamp
    height = solarposition.get_solarposition(
        stamps + pd.Timedelta(minutes=30), site.latitude_deg, site.longitude_deg
    )
    lit = np.clip(np.sin(np.radians(height["elevation"].to_numpy())), 0.0, None) ** 1.15
    mean_lit = pd.Series(lit).groupby(np.asarray(day)).mean().reindex(day).to_numpy()
    name = "Shortwave_Radiation_Downwelling_wattPerMeterSquared"
    sun = met[name].reindex(day).to_numpy() * lit / np.maximum(mean_lit, 1e-6)
    cycle = WARMTH_BY_HOUR - WARMTH_BY_HOUR.mean()
    air = (
        met["Air_Temperature_celsius"].reindex(day).to_numpy() + OCEAN_RANGE_K * cycle[stamps.hour.to_numpy()]
    )
    full = np.vectorize(vapour_pressure_bolton_1980)(air)
    vapour_pa = met["Relative_Humidity_percent"] / 100.0
    vapour_pa = vapour_pa / pd.Series(1.0 / full).groupby(np.asarray(day)).mean().reindex(met.index)
    hours = pd.DataFrame(
        {
            "air_degc": air,
            "humidity_fraction": np.clip(vapour_pa.reindex(day).to_numpy() / full, 0.05, 1.0),
            "wind_m_s": met["Ten_Meter_Elevation_Wind_Speed_meterPerSecond"].reindex(day).to_numpy(),
            "sun_w_m2": sun,
            "sky_w_m2": met["Longwave_Radiation_Downwelling_wattPerMeterSquared"].reindex(day).to_numpy(),
        },
        index=stamps + pd.Timedelta(hours=1),
    )
    warmth = _noon_profiles(
        folder / "LakeEnsemblR_wtemp_profile_standard.csv", "Water_Temperature_celsius", zone,
        time="datetime", depth="Depth_meter",
    )  # fmt: skip
    depths = tuple(float(z) for z in warmth.columns)
    saturated = pd.DataFrame({z: [10.5] for z in depths}, index=warmth.index[:1])
    return Record(
        "Feeagh", site, basin, float(basin.depth_m[-1]), 0.7, hours, warmth, 0.9, depths, saturated,
        pd.Series(dtype=float), None, True,
    )  # fmt: skip


def _noon_profiles(
    path: Path, column: str, zone: str, *, time: str = "DateTime", depth: str = "Depth"
) -> pd.DataFrame:
    table = pd.read_csv(path, parse_dates=[time])
    wide = table.pivot_table(index=time, columns=depth, values=column)
    wide.index = (pd.DatetimeIndex(wide.index).normalize() + pd.Timedelta(hours=12)).tz_localize(zone)
    return wide[~wide.index.duplicated()]


def _with_daily(warmth: pd.DataFrame, daily: pd.DataFrame, zone: str) -> pd.DataFrame:
    """Return the hourly record followed by the daily one (at noon) where the hourly has ended (2009-07-04 on)."""
    late = daily[daily["sampledate"] >= "2009-07-04"]
    wide = late.pivot_table(index="sampledate", columns="depth", values="wtemp")
    wide.index = (pd.DatetimeIndex(wide.index) + pd.Timedelta(hours=12)).tz_localize(zone)
    for deep in (2.0, 2.25):
        wide.loc[wide[deep] > wide[1.75] + 0.5, deep] = np.nan
    return pd.concat([warmth, wide.reindex(columns=warmth.columns)]).sort_index()


def daily_means(warmth: pd.DataFrame, least_hours: int = 20) -> pd.DataFrame:
    """Return means of days with enough hours (an hour belongs to the day in which it begins).

    A day known by one value at noon alone is that value: such days come from a daily file.
    """
    begin = warmth.index - pd.Timedelta(minutes=30)
    day = begin.tz_localize(None).normalize()
    grouped = warmth.groupby(day)
    count = grouped.count()
    lone = grouped.size().to_numpy() == 1
    means = grouped.mean()
    keep = count.ge(least_hours) | pd.DataFrame(
        np.repeat(lone[:, None], count.shape[1], axis=1), index=count.index, columns=count.columns
    )
    return means.where(keep)


def days_between(first: date, last: date, step_days: int) -> list[date]:
    """Return every `step_days`-th day from the first to the last."""
    return [first + timedelta(days=n) for n in range(0, (last - first).days + 1, step_days)]
