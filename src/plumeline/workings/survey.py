"""How the numbers of the survey come about."""

from __future__ import annotations

import numpy as np

from plumeline.cli.show_survey import MOST_LEVELS, STEPS_M, levels_m
from plumeline.stages.survey import Hypsograph, Survey, shape_ratio
from plumeline.stages.survey.contours import LEVELS
from plumeline.stages.survey.levels import rises_m
from plumeline.stages.survey.shape import AREA_SE_FRACTION, DEPTH_SE_FRACTION
from plumeline.units import convert, show
from plumeline.units.showing import System
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.survey_cases import band_values, reading_error, standard_error
from plumeline.workings.survey_muck import put_muck
from plumeline.workings.survey_shore import put_left_out, put_shore
from plumeline.workings.survey_soundings import put_next, put_tried
from plumeline.workings.value import Value, chosen, counted, given, measured, relation, summed

BANDS = 12
"""Bands of depth in which the sum over all cells is written out."""
PLANE = "Lambert's azimuthal equal-area plane about the pond (Snyder 1987, USGS Professional Paper 1395)"
SURFACE = "Rasmussen & Williams 2006, Gaussian Processes for Machine Learning; O'Hagan 1991 for its volume"


class SurveyValues:
    """The values of a survey, each made once, for the survey's page and for those that rest on it."""

    def __init__(self, found: Survey, files: Files, units: System) -> None:
        self.found = found
        self.units = units
        self.files = files
        self.corners = _corners(found)
        self.area = _area(found, self.corners)
        self.volume = _volume(found, files)
        self.mean_depth = relation(
            "mean depth", found.mean_depth_m, "m", "V / A", {"V": self.volume, "A": self.area},
            source="definition",
        )  # fmt: skip
        self.max_depth = _max_depth(found)
        self._levels: dict[int, tuple[Value, Value, Value]] = {}

    def _said(self, depth: Value) -> str:
        return show(depth.number, "m", self.units)

    def level(self, index: int) -> tuple[Value, Value, Value]:
        """Return depth, area and water below of one level of the hypsograph."""
        if index not in self._levels:
            self._levels[index] = self._level(index)
        return self._levels[index]

    def _level(self, index: int) -> tuple[Value, Value, Value]:
        shape = self.found.hypsograph
        depth_m, cells = shape.depth_m[index], int((self.found.grid.depth_m > shape.depth_m[index]).sum())
        depth = relation(
            f"level {index} of {LEVELS}", depth_m, "m", f"{index} * z / {LEVELS}", {"z": self.max_depth},
            words=f"the survey keeps area and water at {LEVELS + 1} even levels",
        )  # fmt: skip
        area = summed(
            f"area at level {index}", shape.area_m2[index], "m2",
            f"{cells} cells are deeper; what the water loses by a step, mean of those above and below",
        )  # fmt: skip
        below = summed(
            f"water below level {index}", shape.volume_below_m3[index], "m3",
            f"sum over {cells} cells of area × (depth − level)",
        )  # fmt: skip
        return depth, (self.area if index == 0 else area), (self.volume if index == 0 else below)

    def area_at(self, depth: Value) -> Value:
        """Return the area at a depth, straight between two levels."""
        shape = self.found.hypsograph
        index = _index(shape, depth.number)
        (zu, au, _), (zl, al, _) = self.level(index), self.level(index + 1)
        return relation(
            f"area at {self._said(depth)}", shape.area_at(depth.number), "m2", "Au + (Al - Au) * (z - zu) / (zl - zu)",
            {"Au": au, "Al": al, "z": depth, "zu": zu, "zl": zl}, source="straight line between two levels",
        )  # fmt: skip

    def water_below(self, depth: Value) -> Value:
        """Return the water below a depth; the area is straight between two levels, met at both."""
        shape = self.found.hypsograph
        if depth.number <= 0.0:
            return self.volume
        index = _index(shape, depth.number)
        (zu, au, vu), (zl, al, vl) = self.level(index), self.level(index + 1)
        part = relation(
            "part of the step", (depth.number - zu.number) / (zl.number - zu.number), "",
            "(z - zu) / (zl - zu)", {"z": depth, "zu": zu, "zl": zl},
        )  # fmt: skip
        flat = au.number + al.number <= 0.0
        formula = (
            "Vu - (Vu - Vl) * p"
            if flat
            else "Vu - (Vu - Vl) * (Au * p + (Al - Au) * p^2 / 2) / ((Au + Al) / 2)"
        )
        terms = {"Vu": vu, "Vl": vl, "Au": au, "Al": al, "p": part}
        return relation(
            f"water below {self._said(depth)}", shape.volume_below(depth.number), "m3", formula,
            {name: term for name, term in terms.items() if not (flat and name in ("Au", "Al"))},
            source="area straight between two levels, scaled so that the water at both is met",
        )  # fmt: skip

    def share_below(self, depth: Value) -> Value:
        """Return the part of all water that lies below a depth."""
        below = self.water_below(depth)
        return relation(
            f"part of the water below {self._said(depth)}", below.number / self.found.volume_m3, "fraction", "Vz / V",
            {"Vz": below, "V": self.volume}, source="definition",
        )  # fmt: skip


def _index(shape: Hypsograph, depth_m: float) -> int:
    """Return the level above a depth, as the hypsograph takes it."""
    depth = min(max(depth_m, 0.0), shape.depth_m[-1])
    above = int(np.searchsorted(np.asarray(shape.depth_m), depth, side="right")) - 1
    return min(above, len(shape.depth_m) - 2)


def _corners(found: Survey) -> list[list[tuple[Value, Value]]]:
    """Return the corners of every ring, each once."""
    rings = []
    where = "a circle of the job's area" if found.outline_assumed else "outline.geojson"
    for number, ring in enumerate(found.outline_xy):
        name = "shore" if number == 0 else f"island {number}"
        rings.append(
            [
                (
                    given(f"{name}, corner {i + 1}, east", x_m, "m", f"{where}, in {PLANE}"),
                    given(f"{name}, corner {i + 1}, north", y_m, "m", f"{where}, in {PLANE}"),
                )
                for i, (x_m, y_m) in enumerate(ring[:-1])
            ]
        )
    return rings


def _terms(rings: list[list[tuple[Value, Value]]]) -> dict[str, Value]:
    marks = "xy"
    return {
        f"{marks[axis]}{r + 1}_{i + 1}": corner[axis]
        for r, ring in enumerate(rings)
        for i, corner in enumerate(ring)
        for axis in (0, 1)
    }


def _sides(index: int, count: int) -> list[tuple[str, str, str, str]]:
    """Return the symbols of both ends of every side: x, y, next x, next y."""
    return [
        (f"x{index}_{i + 1}", f"y{index}_{i + 1}", f"x{index}_{(i + 1) % count + 1}", f"y{index}_{(i + 1) % count + 1}")
        for i in range(count)
    ]  # fmt: skip


def _area(found: Survey, rings: list[list[tuple[Value, Value]]]) -> Value:
    parts = [
        "abs(" + " + ".join(f"({a} - {c}) * ({b} + {d}) / 2" for a, b, c, d in _sides(r + 1, len(ring))) + ")"
        for r, ring in enumerate(rings)
    ]
    return relation(
        "area", found.area_m2, "m2", " - ".join(parts), _terms(rings),
        shown_formula="|Σ (xᵢ − xᵢ₊₁) (yᵢ + yᵢ₊₁) / 2| round the shore, less the same round each island",
        source=f"surveyor's formula for a polygon, in {PLANE}", assumptions=found.assumptions[:1],
    )  # fmt: skip


def perimeter(values: SurveyValues) -> Value:
    """Return the length of the shore: the sum of its sides."""
    parts = [
        f"sqrt(({c} - {a})^2 + ({d} - {b})^2)"
        for r, ring in enumerate(values.corners)
        for a, b, c, d in _sides(r + 1, len(ring))
    ]
    return relation(
        "length of the shore", values.found.perimeter_m, "m", " + ".join(parts), _terms(values.corners),
        shown_formula="Σ √((xᵢ₊₁ − xᵢ)² + (yᵢ₊₁ − yᵢ)²) over all sides, islands too",
        source=f"Pythagoras, in {PLANE}",
        assumptions=("straight from corner to corner: a shore with more bays than corners is longer",),
    )  # fmt: skip


def _volume(found: Survey, files: Files) -> Value:
    """Return the volume as the sum over all cells, written in bands of depth."""
    grid = found.grid
    wet = grid.cell_area_m2 > 0
    depth, area = np.nan_to_num(grid.depth_m)[wet], grid.cell_area_m2[wet]
    band = np.minimum((depth / found.max_depth_m * BANDS).astype(int), BANDS - 1)
    terms: dict[str, Value] = {}
    for k in range(BANDS):
        inside = band == k
        if not inside.any():
            continue
        total = float(area[inside].sum())
        words = f"the {int(inside.sum())} cells of the surface in twelfth {k + 1} of the depth"
        terms[f"a{k + 1}"] = summed(f"area of band {k + 1}", total, "m2", words)
        terms[f"d{k + 1}"] = summed(
            f"mean depth of band {k + 1}", float((depth[inside] * area[inside]).sum()) / total, "m", words
        )
    names = [name[1:] for name in terms if name[0] == "a"]
    return relation(
        "volume", found.volume_m3, "m3", " + ".join(f"a{k} * d{k}" for k in names), terms,
        shown_formula="Σ area × depth over the cells of the surface, here summed in bands of depth",
        words=f"{int(wet.sum())} cells of {grid.cell_m:.2f} m; {found.method}",
        source=SURFACE if found.sounding_count else _shape_source(files), assumptions=found.assumptions,
    )  # fmt: skip


def _shape_source(files: Files) -> str:
    shape = files.job.pond.shape
    return f"sources/shapes.csv, {shape.value}: volume is {shape_ratio(shape)[0]:.3f} of area times greatest depth"


def _max_depth(found: Survey) -> Value:
    x_m, y_m = found.deepest_xy
    point = found.plane.to_point(x_m, y_m)
    deep = np.sort(found.grid.depth_m[found.grid.cell_area_m2 > 0])[::-1][:3]
    others = ", ".join(f"{value:.2f} m" for value in deep[1:])
    return chosen(
        "greatest depth", found.max_depth_m, "m",
        f"the deepest cell of the surface, at {point.latitude_deg:.6f}, {point.longitude_deg:.6f}; the next deepest "
        f"are {others}; {found.method}",
        source=SURFACE if found.sounding_count else "job.toml, pond.max_depth",
    )  # fmt: skip


def _soundings(values: SurveyValues) -> tuple[Value, Value, Value]:
    """Return the deepest sounding, how many were used, and how many were left out."""
    found, job = values.found, values.files.job
    gone = {item.row for item in found.left_out}
    rises = np.nan_to_num(rises_m(job.pond.soundings))
    used = [
        (one, float(up))
        for one, up in zip(job.pond.soundings, rises, strict=True)
        if one.row not in gone or not one.row
    ]
    deepest, rise_m = max(used, key=lambda pair: pair[0].depth_m - pair[1])
    offset_m, hung_m = job.pond.level_offset_m, job.pond.transducer_depth_m or 0.0
    read = measured(
        "sounding",
        deepest.depth_m,
        "m",
        f"soundings.csv, row {deepest.row}, depth: the greatest of those used",
    )
    terms = {
        "z": read,
        "o": values.files.field(
            "today's level over that of the soundings", offset_m, "m", "pond.level_offset"
        ),
        "t": values.files.field("depth of the transducer", hung_m, "m", "pond.transducer_depth"),
        "r": summed("water over the level of most soundings", rise_m, "m", "staff gauge of that row or day"),
    }
    deep = (
        relation("deepest sounding", found.deepest_sounding_m or 0.0, "m", "z + o + t - r", terms)
        if offset_m or hung_m or rise_m
        else read
    )
    total = measured("rows", float(len(job.pond.soundings)), "", "soundings.csv: its rows")
    left = float(len(job.pond.soundings) - found.sounding_count)
    out = counted(
        "soundings left out", left, "", " + ".join(["1"] * int(left)) or "0", {},
        words="rows outside the outline, far above all their neighbours, or faults of a sonar; the table names them"
    )  # fmt: skip
    count = counted(
        "soundings used",
        float(found.sounding_count),
        "",
        "n - k",
        {"n": total, "k": out},
        words="soundings.csv",
    )
    return deep, count, out


def survey_book(values: SurveyValues, units: System) -> Book:
    """Return the workings of a survey's page.

    Args:
        values: of the survey.
        units: the system of units.
    """
    book, found = Book(units), values.found
    _basin(book, values)
    _hypsograph(book, values, units)
    half = relation("half the greatest depth", found.max_depth_m / 2, "m", "z / 2", {"z": values.max_depth})
    book.at("sentence", "The pond holds", values=[values.volume, values.share_below(half), half])
    return book


def _basin(book: Book, values: SurveyValues) -> None:
    found, title = values.found, "Basin, at today's water level"
    low, high = band_values(found, values.volume) or shape_band(values)
    shape = values.files.job.pond.shape
    ratio = given("ratio of the shape", shape_ratio(shape)[0], "", f"sources/shapes.csv, {shape.value}")
    book.at("sentence", "volume is", values=[ratio])
    error = relation(
        "standard error of the volume, of the volume", found.volume_se_m3 / found.volume_m3, "fraction", "s / V",
        {"s": standard_error(found) or shape_error(values), "V": values.volume},
    )  # fmt: skip
    rows: dict[str, list[Value]] = {
        "area": [values.area],
        "length of the shore": [perimeter(values)],
        "volume": [values.volume],
        "90 % band of the volume": [low, high, error, ninety()],
        "mean depth": [values.mean_depth],
        "greatest depth": [values.max_depth],
    }
    if found.sounding_count:
        deep, count, out = _soundings(values)
        rows |= {"deepest sounding": [deep], "soundings used": [count, out], "how": [count]}
        one = reading_error(found)
        if one is not None:
            rows["error of one sounding"] = [one]
            book.at("sentence", "a sounding errs by", values=[one])
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    put_tried(book, found)
    following = put_next(book, found, values.volume)
    if found.sounding_count:
        _, count, out = _soundings(values)
        book.at("sentence", "As sounded:", values=[count, out, error, *following])
    put_shore(book, values, title, error)
    put_left_out(book, values)
    put_muck(book, values)


def ninety() -> Value:
    """Return the part of a band that lies inside of it."""
    return chosen(
        "part of the band", 0.9, "fraction",
        "bands of this program run from the 5 % to the 95 % point: one value in ten lies outside",
        source="a rule of this program",
    )  # fmt: skip


def shape_error(values: SurveyValues) -> Value:
    """Return the standard error of a volume without soundings."""
    shape = values.files.job.pond.shape
    ratio, ratio_se = shape_ratio(shape)
    source = f"sources/shapes.csv, {shape.value}"
    return relation(
        "standard error of the volume", values.found.volume_se_m3, "m3",
        f"V * sqrt((e / k)^2 + {AREA_SE_FRACTION}^2 + {DEPTH_SE_FRACTION}^2)",
        {"V": values.volume, "e": given("error of the ratio", ratio_se, "", source),
         "k": given("ratio of the shape", ratio, "", source)},
        source=f"{source}; area and greatest depth as people know them, each to 5 %",
    )  # fmt: skip


def shape_band(values: SurveyValues) -> tuple[Value, Value]:
    """Return both ends of the 90 % band of a volume without soundings."""
    found, error = values.found, shape_error(values)
    terms = {"V": values.volume, "s": error}
    ends = (
        ("low end of the volume", found.volume_p05_m3, "-"),
        ("high end of the volume", found.volume_p95_m3, "+"),
    )
    low, high = (
        relation(
            name,
            number,
            "m3",
            f"max(V {sign} 1.6448536 * s, 0)",
            terms,
            source="normal distribution, 5 and 95 %",
        )
        for name, number, sign in ends
    )
    return low, high


def _hypsograph(book: Book, values: SurveyValues, units: System) -> None:
    found = values.found
    levels = levels_m(found.max_depth_m, units)
    step_m = levels[1] if len(levels) > 1 else STEPS_M[units][0]
    step = chosen(
        "step of the table", step_m, "m",
        f"the smallest even step that gives at most {MOST_LEVELS} levels: one of "
        + ", ".join(
            f"{convert(one, 'm', 'ft'):g} ft" if units == "us" else f"{one:g} m" for one in STEPS_M[units]
        ),
    )  # fmt: skip
    for row, depth_m in enumerate([*levels, found.max_depth_m]):
        depth = values.max_depth
        if row < len(levels):
            depth = relation("level of the table", depth_m, "m", f"{row} * s", {"s": step})
        cells = (depth, values.area_at(depth), values.water_below(depth), values.share_below(depth))
        for column, value in enumerate(cells):
            book.at("part", "Hypsograph", str(row), str(column), values=[value])
