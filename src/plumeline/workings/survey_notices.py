"""What the notices on a pond's outline and depths may show, those of its files and those of the survey."""

from __future__ import annotations

from math import pi, sqrt

from plumeline.pairs import said
from plumeline.sources.priors import SCORE_95
from plumeline.workings.book import Book
from plumeline.workings.line_way import put_way
from plumeline.workings.quantities import read_quantities
from plumeline.workings.survey import SurveyValues, shape_band, shape_error
from plumeline.workings.survey_shore import put_levels, put_moved
from plumeline.workings.value import Value, chosen, given, measured, plain_constant, relation


def survey_notices(book: Book, values: SurveyValues) -> None:
    """Say what the notices on outline and depths may show.

    Args:
        book: of any page, for the notices of a job's files stand on all.
        values: of the survey.
    """
    depths = _depths(values)
    area = _area(values)
    for code in (
        "max-depth-differs",
        "soundings-in-feet",
        "max-depth-in-feet",
        "feet-as-metres",
        "depth-suspicious",
    ):
        book.at("notice", code, values=[*depths, *_across(area), *_steep(depths, values)])
    book.at("notice", "area-differs", values=_areas(values))
    book.at("notice", "shallow-pond", values=[values.mean_depth])
    secchi, offset = values.files.job.pond.secchi_depth_m, values.files.job.pond.level_offset_m
    if secchi is not None:
        disc = values.files.field("Secchi depth", secchi, "m", "pond.secchi_depth")
        book.at("notice", "secchi-deep", values=[disc, *depths])
    if offset:
        told = values.files.field("change of the level", offset, "m", "pond.level_offset")
        less = relation("water under the soundings' level", -offset, "m", "-o", {"o": told})
        for code in ("level-lowered", "level-raised"):
            book.at("notice", code, values=[told, less])
    _odd(book, values)
    put_levels(book, values)
    put_way(book, values.files)
    put_moved(book, values)
    if not values.found.sounding_count:
        _estimated(book, values)
        return
    counts = _counts(values)
    for code in ("few-soundings", "soundings-outside"):
        book.at("notice", code, values=counts)


def _odd(book: Book, values: SurveyValues) -> None:
    """Say what the notices on a sounding far off its neighbours may show: its row, itself, and what they say."""
    rows = {float(item.row): item for item in values.files.job.pond.soundings if item.row}
    for notice in values.found.notices:
        if notice.code not in ("sounding-low", "sounding-wild"):
            continue
        *first, said_last = read_quantities(said(notice.text, values.units)) or (None,)
        item = rows.get(first[0].number) if first and first[0] is not None else None
        if item is None or said_last is None:
            continue
        file = f"soundings.csv, row {item.row}"
        read = measured(f"sounding in row {item.row}", item.depth_m, "m", f"{file}, depth")
        expected = chosen(
            f"depth to expect in row {item.row}", said_last.number, said_last.unit.label,
            "the median of its six nearest soundings, each by the root of its cover from the shore",
        )  # fmt: skip
        book.at("notice", notice.code, values=[measured("row", float(item.row), "", file), read, expected])


def _estimated(book: Book, values: SurveyValues) -> None:
    """Say what the notice on a volume without soundings may show: the ends of its band."""
    error = shape_error(values)
    ends = [
        relation(
            f"{name} end of the estimate", max(values.volume.number + sign * SCORE_95 * error.number, 0.0), "m3",
            f"max(V {'+' if sign > 0 else '-'} 1.6448536 * s, 0)", {"V": values.volume, "s": error},
            source="normal distribution, 5 and 95 %",
        )
        for name, sign in (("low", -1.0), ("high", 1.0))
    ]  # fmt: skip
    book.at("notice", "volume-estimated", values=[*shape_band(values), *ends])


def _depths(values: SurveyValues) -> list[Value]:
    """Return the job's greatest depth, the deepest sounding, and the one over the other."""
    pond, found = values.files.job.pond, list[Value]()
    told = None
    if pond.max_depth_m is not None:
        told = values.files.field("greatest depth in the job", pond.max_depth_m, "m", "pond.max_depth")
        found.append(told)
    read = {
        "deepest sounding of the file": max((item.depth_m for item in pond.soundings), default=None),
        "deepest sounding that was used": None
        if values.found.deepest_sounding_m is None
        else values.found.deepest_sounding_m - pond.level_offset_m,
    }
    for name, depth_m in read.items():
        if depth_m is None:
            continue
        deep = measured(name, depth_m, "m", "soundings.csv, the greatest of its depths")
        found.append(deep)
        if told is not None:
            terms = {"d": deep, "g": told}
            found.append(
                relation(
                    f"{name}, of the greatest depth in the job", depth_m / told.number, "", "d / g", terms
                )
            )
            found.append(
                relation(
                    f"greatest depth in the job, of the {name}", told.number / depth_m, "", "g / d", terms
                )
            )
    return found


def _area(values: SurveyValues) -> Value:
    pond = values.files.job.pond
    if pond.outline or pond.area_m2 is None:
        return values.area
    return values.files.field("area in the job", pond.area_m2, "m2", "pond.area")


def _across(area: Value) -> list[Value]:
    number = 2.0 * sqrt(area.number / pi)
    words = "a round pond of this area"
    return [relation("width of the pond", number, "m", f"2 * sqrt(A / {pi:.12g})", {"A": area}, words=words)]


def _steep(depths: list[Value], values: SurveyValues) -> list[Value]:
    found: list[Value] = [values.area]
    for depth in (*depths, values.max_depth):
        if depth.suffix == "m":
            terms = {"d": depth, "A": values.area}
            number = depth.number / sqrt(values.area.number)
            found.append(relation(f"{depth.name}, of the pond's width", number, "", "d / sqrt(A)", terms))
    return [*found, values.max_depth]


def _areas(values: SurveyValues) -> list[Value]:
    """Return the job's area, the outline's, and by how much the one is more."""
    pond = values.files.job.pond
    if pond.area_m2 is None:
        return [values.area]
    told = values.files.field("area in the job", pond.area_m2, "m2", "pond.area")
    drawn = given(
        "area that the outline encloses",
        values.area.number,
        "m2",
        "outline.geojson; the page's area has the line",
    )
    more = relation(
        "outline's area, over the job's", values.area.number / pond.area_m2 - 1.0, "fraction", "a / g - 1",
        {"a": values.area, "g": told},
    )  # fmt: skip
    return [told, values.area, drawn, more]


def _counts(values: SurveyValues) -> list[Value]:
    rows = len(values.files.job.pond.soundings)
    used = float(values.found.sounding_count)
    found = [
        measured("rows", float(rows), "", "soundings.csv: its rows"),
        measured("soundings used", used, "", "soundings.csv: its rows less those left out"),
        measured(
            "soundings left out", rows - used, "", "rows outside the outline or far above their neighbours"
        ),
    ]
    found += [
        measured("row left out", float(item.row), "", f"soundings.csv, row {item.row}: {item.reason}")
        for item in values.found.left_out
        if item.row
    ]
    return [*found, plain_constant("soundings that narrow a volume well", 20.0, "", "judgement")]
