"""Make the Hollow Oak job folder: an invented pond, drawn, sounded and read by formulas and a seed.

Run ``python scripts/make_demo.py``; it writes src/plumeline/demo/hollow-oak/. Needs pyproj. Nothing here was
measured anywhere: the basin, the water, the weather and the compressor are made up to be plausible for the
Piedmont in August.
"""

from __future__ import annotations

import csv
import io
import json
import math
import random
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from pyproj import Geod

FOLDER = Path(__file__).resolve().parents[1] / "src" / "plumeline" / "demo" / "hollow-oak"
SEED = 680
LATITUDE_DEG, LONGITUDE_DEG = 35.8652, -79.5631
AREA_M2 = 1.6 * 4046.8564224
MAX_DEPTH_FT = 14.0
FOOT_M = 0.3048
UPSTREAM_DEG = 62.0
ECCENTRICITY = 0.7
GEOD = Geod(ellps="WGS84")
SHORE = "shore of Hollow Oak pond, walked with a hand-held receiver (invented)"


def place(x_m: float, y_m: float) -> tuple[float, float]:
    """Return longitude and latitude of a point in metres east and north of the deepest place."""
    lon, lat, _ = GEOD.fwd(
        LONGITUDE_DEG, LATITUDE_DEG, math.degrees(math.atan2(x_m, y_m)), math.hypot(x_m, y_m)
    )
    return round(lon, 7), round(lat, 7)


class Basin:
    """A valley behind a dam: deepest near the dam, long and gentle upstream, seen from the deepest place."""

    def __init__(self, draw: random.Random) -> None:
        self.waves = [
            (order, draw.gauss(0.0, 0.075 / math.sqrt(order)), draw.uniform(0, math.tau))
            for order in (2, 3, 4, 5, 7)
        ]
        self.scale_m = 1.0
        for _ in range(3):
            lon, lat = zip(*self.ring(), strict=True)
            self.scale_m *= math.sqrt(AREA_M2 / abs(GEOD.polygon_area_perimeter(lon, lat)[0]))

    def shore_m(self, angle: float) -> float:
        """Return the distance of the shore from the deepest place in a direction (radians from east)."""
        along = angle - math.radians(90 - UPSTREAM_DEG)
        ellipse = (1 - ECCENTRICITY**2) / (1 - ECCENTRICITY * math.cos(along))
        wavy = 1 + sum(size * math.cos(order * angle + phase) for order, size, phase in self.waves)
        return self.scale_m * ellipse * wavy

    def depth_ft(self, x_m: float, y_m: float) -> float:
        """Return the true depth: steep by the dam, gentle upstream."""
        angle = math.atan2(y_m, x_m)
        along = angle - math.radians(90 - UPSTREAM_DEG)
        power = 1.65 - 0.35 * math.cos(along)
        return MAX_DEPTH_FT * max(0.0, 1 - (math.hypot(x_m, y_m) / self.shore_m(angle)) ** power)

    def at(self, along_deg: float, share: float) -> tuple[float, float]:
        """Return the point at a share of the way to the shore, in a direction counted from upstream."""
        angle = math.radians(90 - UPSTREAM_DEG + along_deg)
        radius = share * self.shore_m(angle)
        return radius * math.cos(angle), radius * math.sin(angle)

    def at_depth(self, along_deg: float, depth_ft: float) -> tuple[float, float]:
        """Return the point in a direction where the water is as deep as asked."""
        low, high = 0.0, 1.0
        for _ in range(60):
            middle = (low + high) / 2
            deeper = self.depth_ft(*self.at(along_deg, middle)) > depth_ft
            low, high = (middle, high) if deeper else (low, middle)
        return self.at(along_deg, low)

    def ring(self, count: int = 72) -> list[tuple[float, float]]:
        """Return the shore as longitudes and latitudes, counter-clockwise."""
        angles = [math.tau * step / count for step in range(count)]
        return [place(self.shore_m(a) * math.cos(a), self.shore_m(a) * math.sin(a)) for a in angles]


def table(heading: Sequence[str], rows: Iterable[Sequence[object]], comment: str) -> str:
    """Return CSV text under a comment."""
    stream = io.StringIO()
    stream.write(f"# {comment}\n")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows(rows)
    return stream.getvalue()


def outline(basin: Basin) -> str:
    """Return outline.geojson."""
    ring = [list(pair) for pair in basin.ring()]
    shore = {
        "type": "Feature",
        "properties": {"what": SHORE},
        "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]},
    }
    rows = json.dumps(shore)
    return f'{{"type": "FeatureCollection", "features": [\n{rows}\n]}}\n'


def soundings(basin: Basin, draw: random.Random) -> str:
    """Return soundings.csv: spokes from the deepest place with a lead line read to 0.1 m (0.33 ft)."""
    rows = [(*place(0.0, 0.0), MAX_DEPTH_FT)]
    for spoke in range(11):
        for share in (0.24, 0.46, 0.68, 0.88):
            x, y = basin.at(spoke * 360 / 11 + draw.uniform(-9, 9), share + draw.uniform(-0.06, 0.06))
            read = basin.depth_ft(x, y) + draw.gauss(0.0, 0.1) / FOOT_M
            rows.append((*place(x, y), round(max(0.3, min(read, MAX_DEPTH_FT)), 1)))
    return table(("lon", "lat", "depth_ft"), rows, "Lead line from a jon boat, 2026-08-11 (invented)")


CHEMISTRY = {  # depth in feet: pH, alkalinity, conductivity, ammonia, sulphide
    1: (9.1, 52, 128, 0.08, None),
    4: (8.6, 53, 131, 0.11, None),
    6: (7.3, 60, 146, 0.55, 0.0),
    9: (7.0, 78, 176, 1.1, 0.15),
    12: (6.9, 96, 214, 1.9, 0.6),
}


def profile(draw: random.Random) -> str:
    """Return profiles.csv: a few depths at dawn, then a late-morning cast in steps of a foot."""
    rows: list[Sequence[object]] = []
    for depth in range(14):
        warm = (
            15.9
            + 0.09 * (13 - depth)
            + 11.5 / (1 + math.exp((depth - 6.0) / 0.85))
            + 0.5 * math.exp(-depth / 1.0)
        )
        oxygen = 0.1 + 9.6 / (1 + math.exp((depth - 3.6) / 0.62))
        read_oxygen = max(0.1, oxygen + draw.gauss(0.0, 0.08 if depth < 7 else 0.0))
        smell = "none" if depth < 7 else "faint" if depth < 9 else "strong"
        cells = ["" if value is None else value for value in CHEMISTRY.get(depth, (None,) * 5)]
        rows.append(
            (
                "2026-08-11T10:30",
                depth,
                round(warm + draw.gauss(0.0, 0.05), 1),
                round(read_oxygen, 1),
                *cells,
                smell,
            )
        )
    dawn = [
        ("2026-08-11T06:30", depth, warm, oxygen, "", "", "", "", "", "")
        for depth, warm, oxygen in (
            (1, 27.4, 8.2),
            (2, 27.4, 8.1),
            (4, 27.1, 5.4),
            (8, 17.4, 0.1),
            (12, 16.0, 0.1),
        )
    ]
    rows = [*dawn, *rows]
    heading = (
        "time", "depth_ft", "temperature_degc", "do_mg_l", "ph", "alkalinity_mg_l", "conductivity_us_cm",
        "ammonia_mg_l", "sulphide_mg_l", "smell",
    )  # fmt: skip
    return table(heading, rows, "Deepest place, meter on a cable, under a green scum (invented)")


def bottle() -> str:
    """Return bottle.csv: bottom water and water from half way up, each with surface water 1:1."""
    rows = [
        ("2026-08-11T11:15", 12.0, "1:1", 0.1, 9.6, 4.5, 2.7, 8.0),
        ("2026-08-11T11:25", 8.0, "1:1", 0.1, 9.6, 4.7, 3.5, 8.0),
    ]
    heading = (
        "time", "depth_ft", "dilution", "bottom_do_mg_l", "surface_do_mg_l", "after_15min_mg_l",
        "after_24h_mg_l", "surface_after_24h_mg_l",
    )  # fmt: skip
    return table(heading, rows, "Dark bottles at the pond's temperature (invented)")


def sun_height_sine(moment: datetime) -> float:
    """Return the sine of the sun's height (textbook declination and equation of time) at UTC."""
    day = moment.timetuple().tm_yday + moment.hour / 24
    turn = math.tau * (day - 81) / 365
    declination = math.radians(23.45) * math.sin(turn)
    equation_min = 9.87 * math.sin(2 * turn) - 7.53 * math.cos(turn) - 1.5 * math.sin(turn)
    solar_h = moment.hour + moment.minute / 60 + LONGITUDE_DEG / 15 + equation_min / 60
    hour_angle = math.radians(15 * (solar_h - 12))
    latitude = math.radians(LATITUDE_DEG)
    return math.sin(latitude) * math.sin(declination) + (
        math.cos(latitude) * math.cos(declination) * math.cos(hour_angle)
    )


def vapour(temperature_degc: float) -> float:
    """Return the saturation vapour pressure in hPa (Magnus)."""
    return 6.112 * math.exp(17.62 * temperature_degc / (243.12 + temperature_degc))


class Day:
    """What one day is like: highs, lows, haze and whether a thunderstorm comes."""

    def __init__(self, draw: random.Random, wet: bool) -> None:
        self.high = draw.uniform(27.6, 30.2) - (0.8 if wet else 0.0)
        self.low = draw.uniform(16.8, 18.8)
        self.dew = draw.uniform(15.8, 17.8)
        self.haze = draw.uniform(0.05, 0.25)
        self.wet = wet
        self.storm_h = draw.randint(15, 18) if wet else 99
        self.wind = draw.uniform(4.0, 6.0)

    def cloud(self, hour: int, draw: random.Random) -> float:
        """Return the cloud fraction of an hour: fair-weather cumulus from noon, towers about the storm."""
        cover = self.haze + (0.25 * math.sin(math.pi * (hour - 10) / 10) if 10 < hour < 20 else 0.0)
        if self.wet and self.storm_h - 2 <= hour <= self.storm_h + 3:
            cover = 0.92 - 0.12 * abs(hour - self.storm_h - 1)
        return min(1.0, max(0.0, cover + draw.gauss(0.0, 0.05)))


def weather(draw: random.Random) -> str:
    """Return weather.csv: ten days up to the reading and a fortnight's forecast, summer time."""
    wet_days = {3, 4, 8, 12, 13, 18, 22}
    days = [Day(draw, number in wet_days) for number in range(25)]
    rows = []
    start = datetime(2026, 8, 1)
    for step in range(25 * 24):
        stamp = start + timedelta(hours=step + 1)
        day, hour = days[step // 24], step % 24 + 1
        following = days[min(step // 24 + 1, 24)]
        low = day.low if hour <= 16 else following.low
        warmth = math.cos(math.pi * (hour - 16) / 10) if 6 <= hour <= 16 else None
        if warmth is None:
            hours_down = (hour - 16) % 24
            warmth = math.cos(math.pi * hours_down / 14) if hours_down <= 14 else -1.0
        air = low + (day.high - low) * (warmth + 1) / 2 + draw.gauss(0.0, 0.25)
        cloud = day.cloud(hour, draw)
        storm = day.wet and day.storm_h <= hour <= day.storm_h + 2
        air -= 4.0 if storm else 0.0
        humidity = min(98.0, 100 * vapour(min(day.dew, air)) / vapour(air))
        middle = stamp + timedelta(hours=4) - timedelta(minutes=30)
        sine = max(0.0, sun_height_sine(middle))
        clear = 1098 * sine * math.exp(-0.057 / sine) if sine > 0.01 else 0.0  # Haurwitz 1945
        clear *= 0.82  # the haze of a humid August
        sun = clear * (1 - 0.75 * cloud**3.4)  # Kasten & Czeplak 1980
        breeze = 0.5 + (day.wind - 0.5) * max(0.0, math.sin(math.pi * (hour - 8) / 12))
        breeze = min(6.0, max(0.5, breeze + abs(draw.gauss(0.0, 0.2)))) + (0.8 if storm else 0.0)
        rain = round(draw.uniform(2.0, 9.0), 1) if storm and hour > day.storm_h else 0.0
        pressure = 98900 + 180 * math.sin(math.tau * step / (24 * 6)) + draw.gauss(0.0, 15.0)
        rows.append(
            (
                stamp.strftime("%Y-%m-%dT%H:%M"),
                round(air, 1),
                round(humidity),
                round(breeze, 1),
                round(sun),
                round(cloud, 2),
                10 * round(pressure / 10),
                rain,
            )
        )
    heading = (
        "time", "air_temperature_degc", "relative_humidity_pct", "wind_speed_m_s", "shortwave_w_m2",
        "cloud_fraction", "pressure_pa", "rain_mm",
    )  # fmt: skip
    return table(heading, rows, "A stamp is the end of its hour; from 2026-08-11 a forecast (invented)")


def job(basin: Basin) -> str:
    """Return job.toml."""
    spots = {
        "A": basin.at_depth(-75.0, 13.0),
        "B": basin.at_depth(62.0, 11.0),
        "C": basin.at_depth(-6.0, 9.0),
    }
    diffusers = "\n".join(
        f'[[air.diffusers]]\nname = "{name}"\nplace = {inline(place(*spot))}\n'
        for name, spot in spots.items()
    )
    text = (Path(__file__).with_name("hollow_oak.toml.in")).read_text(encoding="utf-8")
    marks = {
        "@POSITION@": f"{LATITUDE_DEG}, {LONGITUDE_DEG}, 680 ft",
        "@MANIFOLD@": inline(place(*basin.at(-78.0, 1.03))),
        "@DIFFUSERS@": diffusers,
    }
    for mark, value in marks.items():
        text = text.replace(mark, value)
    return text


def inline(pair: tuple[float, float]) -> str:
    """Return a place as job.toml writes it."""
    return f"{{ longitude_deg = {pair[0]}, latitude_deg = {pair[1]} }}"


def main() -> None:
    """Write every file of the folder."""
    basin = Basin(random.Random(SEED))
    texts = {
        "job.toml": job(basin),
        "outline.geojson": outline(basin),
        "soundings.csv": soundings(basin, random.Random(SEED + 1)),
        "profiles.csv": profile(random.Random(SEED + 2)),
        "bottle.csv": bottle(),
        "weather.csv": weather(random.Random(SEED + 3)),
    }
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
