"""How the numbers about shore, levels and soundings left out come about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from plumeline.cli.show_muck import LEVELS
from plumeline.cli.show_survey import WALL_STEP_M
from plumeline.pairs import said
from plumeline.stages.survey.levels import USUAL_CHANGE_M, reference_m
from plumeline.stages.survey.result import ShoreEffect
from plumeline.stages.survey.weighing import PRIOR_POWER
from plumeline.workings.book import Book
from plumeline.workings.quantities import read_quantities
from plumeline.workings.value import Value, chosen, given, measured, plain_constant, relation, summed

if TYPE_CHECKING:
    from plumeline.workings.survey import SurveyValues

WEIGHED = "of all surfaces weighed; docs/survey.md"


def put_shore(book: Book, values: SurveyValues, title: str, error: Value) -> None:
    """Put down what is taken at the water's edge.

    Args:
        book: of the survey.
        values: of the survey.
        title: of the survey's figures.
        error: standard error of the volume, as a part of it.
    """
    found = values.found
    shore = found.shore
    if shore is None:
        return
    wall = _edge(values, shore)
    step_m = WALL_STEP_M[values.units]
    step = plain_constant("wall whose worth is told", step_m, "m", "a round height")
    gain = summed(
        "volume for each metre of wall", shore.gain_m2, "m2",
        "area less what the surfaces lose where all soundings are a metre less, their weights moved with it",
    )  # fmt: skip
    more_m3 = shore.gain_m2 * step_m
    more = relation("volume that such walls would add", more_m3, "m3", "g * s", {"g": gain, "s": step})
    part = relation(
        "that, of the volume", more_m3 / found.volume_m3, "fraction", "m / V", {"m": more, "V": values.volume}
    )
    power = chosen(
        "power of the banks",
        shore.power_number,
        "",
        f"the mean of the powers tried, each by its weight, {WEIGHED}",
    )
    prior = plain_constant(
        "power held likely beforehand", PRIOR_POWER, "", "judgement: lognormal, factor 1.8"
    )
    shift = relation(
        "what the prior moved, of the volume", shore.prior_shift_m3 / found.volume_m3, "fraction", "p / V",
        {"p": summed("volume less that without the prior", shore.prior_shift_m3, "m3", WEIGHED), "V": values.volume},
    )  # fmt: skip
    walled = summed_length(shore)
    book.at("part", title, "depth at the water's edge", values=[wall, *walled, step, more, part])
    run = []
    if shore.run_number is not None:
        one = plain_constant("fall that a run is told for", 1.0, "", "definition")
        run = [one, values.files.field("run of the banks for that", shore.run_number, "", "pond.bank_slope")]
    book.at("part", title, "banks", values=[power, prior, shift, *run])
    if shore.without_m3 is not None and shore.without_se_m3 is not None:
        book.at("part", title, "without what is said of the shore", values=[*_without(shore), error])
    if shore.walled_m:
        deepest = values.files.field(
            "deepest wall", max(item.depth_m for item in values.files.job.pond.walls), "m", "pond.walls"
        )
        book.at("sentence", "depth is", values=[deepest, *walled])
        book.at("part", title, "how", values=[deepest, *walled])
    elif shore.wall_m:
        book.at("sentence", "depth is", values=[wall])
        book.at("part", title, "how", values=[wall])


def _edge(values: SurveyValues, shore: ShoreEffect) -> Value:
    """Return the depth at the water's edge: as said, or its mean along the shore where stretches are walled."""
    if not shore.walled_m:
        return values.files.field("depth at the water's edge", shore.wall_m, "m", "pond.shore_depth")
    words = "each wall by its length of shore, pond.shore_depth elsewhere"
    length = values.found.perimeter_m
    moment = summed("depth at the edge × length of shore", shore.wall_m * length, "m2", words)
    along = chosen("length of the shore", length, "m", "outline.geojson, with islands")
    return relation("depth at the water's edge, mean", shore.wall_m, "m", "M / L", {"M": moment, "L": along})


def summed_length(shore: ShoreEffect) -> list[Value]:
    """Return the length of shore that is walled, where stretches are."""
    words = "the shorter way along the shore between start and end of each wall of pond.walls, none twice"
    return [chosen("shore that is walled", shore.walled_m, "m", words)] if shore.walled_m else []


def _without(shore: ShoreEffect) -> list[Value]:
    """Return volume and errors with and without what the job says of walls and banks."""
    words = "the surfaces weighed anew as if pond.shore_depth, walls and bank_slope were not there; docs/survey.md"
    assert shore.without_m3 is not None
    assert shore.without_se_m3 is not None
    volume = chosen("volume without that", shore.without_m3, "m3", words)
    error = summed("standard error of the volume without that", shore.without_se_m3, "m3", words)
    part = shore.without_se_m3 / shore.without_m3
    return [volume, relation("that, of the volume", part, "fraction", "e / V", {"e": error, "V": volume})]


def put_levels(book: Book, values: SurveyValues) -> None:
    """Put down what the staff gauge did to the soundings.

    Args:
        book: of any page: its notices stand on all.
        values: of the survey.
    """
    days, soundings = values.found.level_days, values.files.job.pond.soundings
    base_m = reference_m(soundings)
    rises: list[Value] = []
    counts: list[Value] = []
    for row, item in enumerate(days):
        day = item.day.isoformat() if item.day else "no day"
        count = measured("soundings", float(item.count), "", f"soundings.csv: rows of {day}")
        counts.append(count)
        book.at("part", LEVELS, str(row), "1", values=[count])
        if item.rise_m is None or base_m is None:
            continue
        rise = relation(
            "water over that of most", item.rise_m, "m", "l - r",
            {"l": measured("staff gauge", base_m + item.rise_m, "m", f"soundings.csv, level, {day}"),
             "r": chosen("staff gauge of most soundings", base_m, "m", "the reading of the most rows")},
            words="taken off every depth of that day and level",
        )  # fmt: skip
        rises.append(rise)
        book.at("part", LEVELS, str(row), "2", values=[rise])
    total = measured("rows", float(len(soundings)), "", "soundings.csv: its rows")
    moved = float(sum(item.count for item in days if item.rise_m is not None and abs(item.rise_m) > 0.01))
    unknown = float(sum(item.count for item in days if item.rise_m is None))
    known = [item.rise_m for item in days if item.rise_m is not None]
    more = [
        total,
        measured("soundings brought to one level", moved, "", "soundings.csv: rows of other levels"),
        measured(
            "soundings without a level", unknown, "", "soundings.csv: rows of days without a staff gauge"
        ),
    ]
    span_m = max(max(known) - min(known), USUAL_CHANGE_M) if known else USUAL_CHANGE_M
    span = chosen(
        "change of the level to reckon with", span_m, "m",
        f"how far the levels that were read lie apart, {USUAL_CHANGE_M} m at least (common practice, no source)",
    )  # fmt: skip
    if known:
        terms = {"s": span, "k": more[2], "n": total}
        off = relation(
            "mean depth off by", span_m * unknown / max(total.number, 1.0), "m", "s * k / n", terms
        )
    else:
        off = relation("mean depth off by", span_m / 2, "m", "s / 2", {"s": span})
    for code in ("soundings-leveled", "soundings-level-unknown"):
        book.at("notice", code, values=[*more, *rises, span, off])


def put_left_out(book: Book, values: SurveyValues) -> None:
    """Put down the rows left out, and the numbers of their reasons.

    Args:
        book: of the survey.
        values: of the survey.
    """
    for item in values.found.left_out:
        file = f"soundings.csv, row {item.row}"
        cells = [
            measured("row left out", float(item.row), "", file),
            measured("sounding left out", item.depth_m, "m", f"{file}, depth"),
            *_of_words(item.reason, f"{file}: why it was left out", values),
        ]
        book.at("part", "Soundings left out", values=cells)


def put_moved(book: Book, values: SurveyValues) -> None:
    """Put down what the notices on twins and on soundings put back may show.

    Args:
        book: of any page.
        values: of the survey.
    """
    for notice in values.found.notices:
        if notice.code in ("sounding-moved", "soundings-twice", "soundings-one-line", "sonar-cleaned"):
            words = "counted and measured over the rows of soundings.csv and the shore"
            book.at("notice", notice.code, values=_of_words(notice.text, words, values))


def _of_words(text: str, words: str, values: SurveyValues) -> list[Value]:
    """Return the numbers of a sentence, each as what it was taken from."""
    return [
        given(f"number {n}", one.number, one.unit.label, words)
        for n, one in enumerate(read_quantities(said(text, values.units)), start=1)
    ]
