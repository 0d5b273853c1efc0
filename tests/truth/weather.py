"""The foreign ponds' own weather, and a forecast of it that errs.

Days of a kind (clear, broken, overcast) follow each other as a Markov chain; air masses come and go: in the stormy
regime a front every three to five days brings overcast, wind and a fall of 5-9 °C that mends in days; in the hot
regime a still, clear, humid spell stands over the pond, and now and then three dull, sultry days (judgement, after
what extension bulletins call the weather of summer kills). The sun follows declination and hour angle (Cooper
1969) with a clear-sky transmission of 0.75^(air mass^0.678) (Meinel & Meinel 1976).
"""

from __future__ import annotations

import math

import numpy as np
from tests.truth import names as n

REGIMES = ("hot", "mild", "stormy")
MEAN_AIR = {"hot": 25.8, "mild": 22.5, "stormy": 24.0}
SWING = {"hot": 11.0, "mild": 10.0, "stormy": 8.0}
MEAN_WIND = {"hot": 1.6, "mild": 2.2, "stormy": 3.2}
# chance of each next kind of day, after a clear, a broken and an overcast one
NEXT = {
    "hot": ((0.7, 0.25, 0.05), (0.45, 0.4, 0.15), (0.15, 0.35, 0.5)),
    "mild": ((0.6, 0.3, 0.1), (0.35, 0.4, 0.25), (0.25, 0.4, 0.35)),
    "stormy": ((0.4, 0.4, 0.2), (0.3, 0.4, 0.3), (0.25, 0.4, 0.35)),
}
CLOUD = (0.1, 0.5, 0.92)


def sun(latitude: float, day: int, hour: float) -> float:
    """Return clear-sky shortwave on the level [W/m²] at solar time."""
    declination = math.radians(23.45 * math.sin(2 * math.pi * (284 + day) / 365.0))
    phi, angle = math.radians(latitude), math.radians(15.0 * (hour - 12.0))
    high = math.sin(phi) * math.sin(declination) + math.cos(phi) * math.cos(declination) * math.cos(angle)
    if high <= 0.01:
        return 0.0
    return 1361.0 * high * 0.75 ** ((1.0 / high) ** 0.678) * 1.1


def weather(regime: str, days: int, seed: int, latitude: float = 36.0, first_day: int = 200) -> np.ndarray:
    """Return weather by the hour (WEATHER, 24 days), from local midnight."""
    draw = np.random.default_rng(seed)
    kind = 1
    anomaly, front_in, cool = 0.0, int(draw.integers(2, 6)), 0.0
    dull_left = 0
    values = np.zeros((n.WEATHER, 24 * days))
    night_air = None
    for day in range(days):
        kind = int(draw.choice(3, p=NEXT[regime][kind]))
        windy = float(draw.gamma(4.0, 0.25))
        front_in -= 1
        if regime == "stormy" and front_in <= 0:
            cool = float(draw.uniform(5.0, 9.0))
            kind, windy, front_in = 2, windy + float(draw.uniform(0.8, 2.0)), int(draw.integers(3, 6))
        elif regime != "stormy" and front_in <= -8:
            cool = float(draw.uniform(1.5, 4.0))
            front_in = int(draw.integers(2, 6))
        if regime == "hot" and dull_left == 0 and draw.random() < 0.05:
            dull_left = 3
        if dull_left:
            kind, windy, dull_left = 2, 0.5 * windy, dull_left - 1
        anomaly = 0.75 * anomaly + float(draw.normal(0.0, 1.2))
        mean = MEAN_AIR[regime] + anomaly - cool
        cool *= 0.65
        cloud = float(np.clip(CLOUD[kind] + draw.normal(0.0, 0.08), 0.0, 1.0))
        swing = SWING[regime] * (1.0 - 0.55 * cloud)
        dew = mean - (3.0 if regime == "hot" else 4.5) - 2.0 * (1.0 - cloud) + float(draw.normal(0.0, 1.0))
        for hour in range(24):
            i = 24 * day + hour
            # warmest at three in the afternoon, coldest before sunrise; days join over the night
            wave = math.cos(2 * math.pi * (hour + 0.5 - 15.0) / 24.0)
            air = mean + 0.5 * swing * wave
            if night_air is not None and hour < 6:
                air = night_air + (air - night_air) * (hour + 1) / 7.0
            values[n.W_AIR, i] = air
            limit = 6.1078 * math.exp(17.27 * air / (air + 237.3))
            values[n.W_VAPOUR, i] = min(6.1078 * math.exp(17.27 * dew / (dew + 237.3)), 0.98 * limit)
            blow = MEAN_WIND[regime] * windy * (0.45 + 0.75 * max(wave, -0.4))
            values[n.W_WIND, i] = max(blow * float(draw.lognormal(0.0, 0.25)), 0.1)
            flicker = cloud if kind != 1 else float(np.clip(cloud + draw.normal(0.0, 0.25), 0.0, 1.0))
            values[n.W_CLOUD, i] = flicker
            # a third of the sun comes through the thickest cloud (Kasten & Czeplak 1980: 1 − 0.75 c^3.4)
            values[n.W_SUN, i] = sun(latitude, first_day + day, hour + 0.5) * (1.0 - 0.75 * flicker**3.4)
        night_air = values[n.W_AIR, 24 * day + 23]
    return values


def as_read(truth: np.ndarray, seed: int) -> np.ndarray:
    """Return the record of the nearest station: elsewhere, so it errs by place."""
    draw = np.random.default_rng(seed)
    values = truth.copy()
    hours = values.shape[1]
    slow = np.repeat(draw.normal(0.0, 0.6, hours // 24 + 1), 24)[:hours]
    values[n.W_AIR] += 0.4 * draw.standard_normal() + slow
    values[n.W_WIND] *= draw.lognormal(0.0, 0.2) * draw.lognormal(0.0, 0.15, hours)
    values[n.W_VAPOUR] *= draw.lognormal(0.0, 0.04)
    values[n.W_SUN] *= np.repeat(draw.lognormal(0.0, 0.08, hours // 24 + 1), 24)[:hours]
    values[n.W_CLOUD] = np.clip(values[n.W_CLOUD] + draw.normal(0.0, 0.1, hours), 0.0, 1.0)
    return values


def forecast(truth: np.ndarray, climate: np.ndarray, made_at: int, days: int, seed: int) -> np.ndarray:
    """Return the forecast of `days` days made at an hour (WEATHER, 24 days).

    Errors persist and grow; cloud and wind lean to the mean the further ahead, and a front may come a day early or
    late. climate: mean weather by hour of day (WEATHER, 24).
    """
    draw = np.random.default_rng(seed)
    hours = 24 * days
    late = int(draw.choice((-12, 0, 0, 12, 24)))
    values = np.zeros((n.WEATHER, hours))
    warm, dull, blow = 0.0, 0.0, 0.0
    for h in range(hours):
        ahead = h / 24.0
        if h % 12 == 0:
            warm = 0.8 * warm + 0.6 * float(draw.normal(0.0, 0.6 + 0.35 * ahead))
            dull = 0.7 * dull + 0.7 * float(draw.normal(0.0, 0.08 + 0.04 * ahead))
            blow = 0.7 * blow + 0.7 * float(draw.normal(0.0, 0.15 + 0.04 * ahead))
        hour = made_at + h
        source = hour if ahead < 2.0 else hour - late
        source = hour % 24 + 24 * (min(max(source, 0), truth.shape[1] - 1) // 24)
        lean = min(0.1 * ahead, 0.7)
        values[:, h] = (1.0 - lean) * truth[:, min(source, truth.shape[1] - 1)] + lean * climate[:, hour % 24]
        values[n.W_AIR, h] += warm
        values[n.W_CLOUD, h] = min(max(values[n.W_CLOUD, h] + dull, 0.0), 1.0)
        values[n.W_SUN, h] *= min(max(1.0 - 0.8 * dull, 0.2), 1.3)
        values[n.W_WIND, h] *= math.exp(blow)
    return values
