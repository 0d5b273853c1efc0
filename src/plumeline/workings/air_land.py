"""How the numbers of the air line's way on land come about: heights, low points, water in the line, trench."""

from __future__ import annotations

import re
from functools import cached_property
from itertools import pairwise

from plumeline.pairs import said
from plumeline.stages.air.profile import DESIGN_COVER_M, GRAVITY_M_S2, WATER_DENSITY_KG_M3, LowPoint, slopes
from plumeline.stages.air.profile import ProfilePoint as RunPoint
from plumeline.stages.air.route import DEFAULT_HUMIDITY_FRACTION, LEAST_SLOPE_FRACTION, RouteResult
from plumeline.units.showing import System
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, counted, drawn, given, plain_constant, relation

FILE = "route.csv"
FALLEN = (
    "the most water that has fallen out of the air anywhere up to there, by the air's temperature and pressure along "
    "the trunk; straight between the points of the line"
)
ASHRAE = "ASHRAE Handbook of Fundamentals 2021, chapter 1: science/condensate.py"


class LandValues:
    """The values of a route on land, each made once.

    Attributes:
        points: the line at work.
        found: the stage's result for the route.
    """

    def __init__(self, points: PointValues, found: RouteResult) -> None:
        self.points, self.found = points, found
        self.route = points.files.job.route
        piece = max(points.line.trunk, key=lambda one: one.length_m)
        self.outside = given(f"outside diameter of {piece.pipe}", piece.outside_diameter_m, "m",
                             f"sources/pipes.csv, {piece.pipe}")  # fmt: skip
        self.bore_m = piece.bore_m
        self._stations: dict[float, Value] = {}
        self._heights: dict[RunPoint, Value] = {}

    def station(self, station_m: float) -> Value:
        """Return a station."""
        if station_m not in self._stations:
            self._stations[station_m] = given("station", station_m, "m", f"{FILE}, column station")
        return self._stations[station_m]

    def cover(self, station_m: float, cover_m: float | None) -> Value:
        """Return the cover of the stretch that begins at a station."""
        name = "cover of the stretch"
        if cover_m is None:
            return plain_constant(name, DESIGN_COVER_M, "m", f"the route gives none: {PRACTICE}")
        return given(name, cover_m, "m", f"{FILE}, station {station_m:g} m, column cover")

    def height(self, point: RunPoint) -> Value:
        """Return the height of the pipe's middle at a point of its run."""
        if point not in self._heights:
            self._heights[point] = self._height(point)
        return self._heights[point]

    def _height(self, point: RunPoint) -> Value:
        below_m = point.ground_elevation_m - point.pipe_elevation_m
        half_m = 0.5 * self.outside.number
        stretches = [
            (here.station_m, here.cover_m)
            for here, after in pairwise(self.route)
            if point.station_m in (here.station_m, after.station_m)
        ]
        depths = {key: DESIGN_COVER_M if key[1] is None else key[1] for key in stretches}
        place = min(
            stretches, key=lambda key: abs(depths[key] + (half_m if depths[key] else -half_m) - below_m)
        )
        ground = self.ground(point)
        formula = "e - c - D / 2" if depths[place] > 0.0 else "e - c + D / 2"
        terms = {"e": ground, "c": self.cover(*place), "D": self.outside}
        words = "the middle of the pipe under its cover; on the ground where there is none"
        return relation("height of the pipe", point.pipe_elevation_m, "m", formula, terms, words=words)

    def ground(self, point: RunPoint) -> Value:
        """Return the height of the ground at a point of the run."""
        words = f"{FILE}, station {point.station_m:g} m, column elevation"
        return given("ground", point.ground_elevation_m, "m", words)

    @cached_property
    def level(self) -> Value:
        """The height of the pond's water."""
        water_m = self.points.files.job.trench.water_elevation_m
        if water_m is None:
            return self.ground(self.found.run[-1])
        return self.points.files.field("the water's elevation", water_m, "m", "trench.water_elevation")

    def crest(self, crest_m: float) -> list[Value]:
        """Return the highest place of the line over today's water, and where it is."""
        top = max(self.found.run, key=lambda point: point.pipe_elevation_m)
        terms = {"p": self.height(top), "w": self.level}
        name = "highest place of the line over today's water"
        return [relation(name, crest_m, "m", "p - w", terms), self.station(top.station_m)]

    def to_the_riser(self, water_kg_d: float) -> Value:
        """Return the water that comes to the foot of the riser, a day: what runs on to the pond."""
        return relation(
            "water at the foot of the riser in a day",
            water_kg_d / 1000.0,
            "m3",
            "max(t, 0)",
            {"t": self.to_the_pond},
        )

    @cached_property
    def length(self) -> Value:
        """The length from the first station to the last."""
        first, last = self.found.run[0].station_m, self.found.run[-1].station_m
        terms = {"a": self.station(first), "b": self.station(last)}
        return relation("length on land", self.found.length_m, "m", "b - a", terms)

    @cached_property
    def fall(self) -> list[Value]:
        """The fall or climb to the water, and the slope."""
        terms = {"a": self.height(self.found.run[0]), "b": self.height(self.found.run[-1])}
        formula = "a - b" if self.found.fall_m >= 0.0 else "b - a"
        fall = relation("from end to end", abs(self.found.fall_m), "m", formula, terms)
        slope = relation("slope from end to end", abs(self.found.slope_fraction), "fraction", "f / L",
                         {"f": fall, "L": self.length})  # fmt: skip
        return [fall, slope]

    def _steps(self, name: str, stretches_m: list[tuple[float, float]]) -> Value:
        terms: dict[str, Value] = {}
        for k, (start, end) in enumerate(stretches_m, start=1):
            terms |= {f"a{k}": self.station(start), f"b{k}": self.station(end)}
        formula = " + ".join(f"(b{k} - a{k})" for k in range(1, len(stretches_m) + 1)) or "0"
        number = sum(end - start for start, end in stretches_m)
        return relation(name, number, "m", formula, terms)

    @cached_property
    def climbs(self) -> Value:
        """The length of the stretches that climb towards the water."""
        return self._steps("climbs towards the water", list(self.found.back_slope_m))

    @cached_property
    def flat(self) -> list[Value]:
        """The length of the stretches that hardly fall, and the least slope."""
        least = plain_constant(
            "slope under which a film of water stays", LEAST_SLOPE_FRACTION, "fraction", PRACTICE
        )
        found = [(start, end) for start, end, slope in slopes(self.found.run) if slope < LEAST_SLOPE_FRACTION]
        return [least, self._steps("falls by less", found)] if found else [least]

    @cached_property
    def water(self) -> Value:
        """The water that falls out on the way, a day."""
        return self._water("water that falls out, a day", self.found.condensate_kg_d)

    def _water(self, name: str, mass_kg: float) -> Value:
        return drawn(name, mass_kg, "L", FALLEN, source=ASHRAE)

    @cached_property
    def gathered(self) -> list[Value]:
        """The water that gathers in each low point, a day."""
        return [
            self._water(f"water in the low point at {k}, a day", item.condensate_kg_d)
            for k, item in enumerate(self.found.low_points, start=1)
        ]

    @cached_property
    def to_the_pond(self) -> Value:
        """The water that runs on to the pond, a day."""
        terms = {"t": self.water, **{f"w{k}": one for k, one in enumerate(self.gathered, start=1)}}
        formula = " - ".join(terms)
        return relation(
            "water that runs on to the pond, a day", self.found.to_the_pond_kg_d, "L", formula, terms
        )

    @cached_property
    def end(self) -> Value:
        """The air's temperature at the line's end."""
        words = "where the last piece of the trunk ends: see the table of the trunk"
        return drawn("air at the line's end", self.found.end_temperature_degc, "degc", words)

    def rise(self, item: LowPoint) -> Value:
        """Return how far a low point lies under the crest that follows."""
        low, after = self._at(item.station_m, item), self._at(item.to_m, item, last=True)
        return relation("rise after the low point", item.rise_after_m, "m", "c - p",
                        {"c": self.height(after), "p": self.height(low)})  # fmt: skip

    def dip(self, item: LowPoint) -> Value:
        """Return how far a low point lies under the lower of its crests."""
        if item.at_compressor:
            return self.rise(item)
        low, before = self._at(item.station_m, item), self._at(item.from_m, item, last=True)
        return relation("dip", item.dip_m, "m", "min(r, c - p)",
                        {"r": self.rise(item), "c": self.height(before), "p": self.height(low)})  # fmt: skip

    def _at(self, station_m: float, item: LowPoint, *, last: bool = False) -> RunPoint:
        """Return a point of the run at a station: the low one itself, or the highest of those there."""
        there = [point for point in self.found.run if point.station_m == station_m]
        if last:
            return max(there, key=lambda point: point.pipe_elevation_m)
        return min(there, key=lambda point: abs(point.pipe_elevation_m - item.pipe_elevation_m))

    def seal(self, item: LowPoint) -> Value | None:
        """Return the water that shuts the bore."""
        if item.seal_kg is None:
            return None
        words = "half of the bore's area over the length on both sides until the pipe has risen by one bore"
        return drawn("water that shuts the bore", item.seal_kg, "L", words)

    def days(self, item: LowPoint, gathered: Value) -> list[Value]:
        """Return how long that takes, in hours and in days."""
        seal = self.seal(item)
        if seal is None or item.days_to_seal_d is None:
            return []
        terms = {"s": seal, "w": gathered}
        return [
            relation("time until it is shut", item.days_to_seal_d * 24.0, "h", "24 * s / w", terms),
            relation("time until it is shut", item.days_to_seal_d, "d", "s / w", terms),
            relation("hours until it is shut", item.days_to_seal_d * 24.0, "", "24 * s / w", terms),
            relation("days until it is shut", item.days_to_seal_d, "", "s / w", terms),
        ]

    @cached_property
    def plugged(self) -> list[Value]:
        """The gauge with every dip full, and the most that full dips add."""
        full = [item for item in self.found.low_points if item.plug_pressure_pa > 0.0]
        terms = {f"h{k}": self.rise(item) for k, item in enumerate(full, start=1)}
        head = WATER_DENSITY_KG_M3 * GRAVITY_M_S2
        heights = " + ".join(terms) or "0"
        more = relation(
            "added by full dips, at most", self.found.plug_pressure_pa, "pa", f"{head:g} * ({heights})",
            terms, source="hydrostatics: 1000 kg/m³ times 9.80665 m/s²",
        )  # fmt: skip
        if self.found.plugged_gauge_pa is None:
            return [more]
        words = "the air line solved anew with its low points full of water, valves as set"
        return [
            drawn("gauge with every dip full", self.found.plugged_gauge_pa, "pa", words, gauge=True),
            more,
        ]

    @cached_property
    def trench(self) -> dict[str, list[Value]]:
        """The trench's length, depth and soil."""
        plan, width = self.found.trench, self.points.files.job.trench.width_m
        wide = given("width of the trench", width, "m", "job.toml, trench.width, or its default")
        dug = [
            (here, after) for here, after in pairwise(self.route)
            if (DESIGN_COVER_M if here.cover_m is None else here.cover_m) > 0.0
        ]  # fmt: skip
        length = self._steps(
            "length of the trench", [(here.station_m, after.station_m) for here, after in dug]
        )
        soils: dict[str, Value] = {}
        for soil, volume_m3 in plan.volume_by_soil_m3:
            terms: dict[str, Value] = {"w": wide, "D": self.outside}
            parts = []
            of = [pair for pair in dug if (pair[0].soil or "soil not named") == soil]
            for k, (here, after) in enumerate(of, start=1):
                terms |= {
                    f"a{k}": self.station(here.station_m), f"b{k}": self.station(after.station_m),
                    f"c{k}": self.cover(here.station_m, here.cover_m),
                }  # fmt: skip
                parts.append(f"(b{k} - a{k}) * w * (c{k} + D)")
            soils[soil] = relation(f"soil to move, {soil}", volume_m3, "m3", " + ".join(parts) or "0", terms)
        every = {f"v{k}": one for k, one in enumerate(soils.values(), start=1)}
        volume = relation("soil to move", plan.volume_m3, "m3", " + ".join(every) or "0", every)
        if len(soils) == 1:
            volume = next(iter(soils.values()))
        depth = relation("mean depth of the trench", plan.mean_depth_m, "m", "v / (L * w)",
                         {"v": volume, "L": length, "w": wide})  # fmt: skip
        return {
            "length": [length],
            "mean depth": [depth],
            "soil to move": [volume],
            "by soil": list(soils.values()),
        }


def land_book(book: Book, land: LandValues, units: System) -> None:
    """Say what the parts, notices and sentences of a route may show."""
    found = land.found
    rows: dict[str, list[Value]] = {
        "length": [land.length], "fall to the water": land.fall, "climb to the water": land.fall,
        "climbs towards the water": [land.climbs], "water that falls out": [land.water],
        "of it runs on to the pond": [land.to_the_pond], "air at the line's end": [land.end],
        "gauge with every dip full": land.plugged,
    }  # fmt: skip
    for name, cell in rows.items():
        book.at("part", "Route on land", name, values=cell)
    _low_points(book, land, units)
    near = [
        plain_constant("dug by hand beside a marked line", inches * 0.0254, "m", PRACTICE) for inches in (24.0,)
    ] + [plain_constant("dug by hand beside a marked line", 0.6, "m", PRACTICE)]  # fmt: skip
    for name, cell in land.trench.items():
        book.at("part", "Trench", name, values=cell)
    for crossing in found.trench.crossings:
        book.at("part", "Trench", f"crosses {crossing.what}", values=[land.station(crossing.from_m), *near])
    pool = _pool(land, near)
    for notice in found.notices:
        book.at("notice", notice.code, values=pool)
    for text in found.assumptions:
        start = re.split(r"\d", said(text, units), maxsplit=1)[0]
        book.at("sentence", start, values=pool)
    book.at("sentence", "The air line on land:", values=pool)


def _low_points(book: Book, land: LandValues, units: System) -> None:
    title = "Low points (heights…"
    for row, item in enumerate(land.found.low_points):
        gathered, seal = land.gathered[row], land.seal(item)
        a_day = (gathered.number / 3.785, "gal/d") if units == "us" else (gathered.number, "")
        low = land.height(land._at(item.station_m, item))
        cells: list[list[Value]] = [
            [land.station(item.station_m)], [low], [land.dip(item)], [land.rise(item)],
            [drawn("water that gathers there, a day", *a_day, FALLEN, source=ASHRAE)],
            [] if seal is None else [seal], land.days(item, gathered),
        ]  # fmt: skip
        for column, cell in enumerate(cells):
            book.at("part", title, str(row), str(column), values=cell)


def _pool(land: LandValues, near: list[Value]) -> list[Value]:
    """Return everything that a notice or a sentence of the route may show."""
    job = land.points.files.job
    humid = plain_constant(
        "humidity of the air at the intake", DEFAULT_HUMIDITY_FRACTION, "fraction", PRACTICE
    )
    if job.air.intake_humidity_fraction is not None:
        humid = given("humidity of the air at the intake", job.air.intake_humidity_fraction, "fraction",
                      "job.toml, air.intake_humidity")  # fmt: skip
    lows = [1] * len(land.found.low_points)
    count = counted("low points", float(len(lows)), "", " + ".join(map(str, lows)) or "0", {})
    found = [
        count,
        land.length,
        *land.fall,
        land.climbs,
        *land.flat,
        land.water,
        land.to_the_pond,
        land.end,
        humid,
        *near,
    ]
    found += land.plugged
    found.append(plain_constant("cover where none is given", DESIGN_COVER_M, "m", PRACTICE))
    for row, item in enumerate(land.found.low_points):
        one = land.gathered[row]
        seal = land.seal(item)
        found += [land.station(item.station_m), land.dip(item), land.rise(item), one, *land.days(item, one)]
        found += [] if seal is None else [seal]
        if item.plug_pressure_pa > 0.0:
            head = WATER_DENSITY_KG_M3 * GRAVITY_M_S2
            found.append(relation("added by this dip when full", item.plug_pressure_pa, "pa", f"{head:g} * h",
                                  {"h": land.rise(item)}, source="hydrostatics"))  # fmt: skip
    found += [land.station(point.station_m) for point in land.route]
    found += [land.cover(point.station_m, point.cover_m) for point in land.route]
    if job.trench.frost_depth_m is not None:
        found.append(
            given("depth of the frost", job.trench.frost_depth_m, "m", "job.toml, trench.frost_depth")
        )
    for cell in land.trench.values():
        found += cell
    return found
